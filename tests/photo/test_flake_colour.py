import numpy as np
import numpy.typing as npt
import pytest

from blendlab.checks import InputError
from blendlab.colour.difference import delta_e00
from blendlab.colour.spaces import Colour, linear_from_srgb1, srgb1_from_hex, srgb1_from_linear
from blendlab.photo.flake_colour import flake_colour
from blendlab.photo.light import PAPER_Y

FLAKE = "#bb2a22"
BOX = (10.0, 10.0, 60.0, 60.0)


def flakes_on_paper(white: tuple[float, float, float]) -> npt.NDArray[np.uint8]:
    """A red flake on paper in a given light, with a little noise."""
    linear = np.full((240, 320, 3), PAPER_Y)
    linear[100:140, 150:200] = linear_from_srgb1(srgb1_from_hex(FLAKE))
    noisy = linear * white + np.random.default_rng(1).normal(0, 0.004, linear.shape)
    return np.rint(255 * srgb1_from_linear(np.clip(noisy, 0, 1))).astype(np.uint8)


@pytest.mark.parametrize("box", [BOX, None])
@pytest.mark.parametrize("white", [(1.0, 1.0, 1.0), (0.8, 0.62, 0.45), (0.35, 0.4, 0.5)])
def test_a_flake_is_read_with_its_own_colour(
    white: tuple[float, float, float], box: tuple[float, float, float, float] | None
) -> None:
    picked = flake_colour(flakes_on_paper(white), (175, 120), box)
    assert (
        delta_e00(picked.colour.lab, Colour.from_hex(FLAKE).lab) < 4
    )  # red in warm light keeps some of the cast


def test_daylight_changes_nothing() -> None:
    picked = flake_colour(flakes_on_paper((1.0, 1.0, 1.0)), (175, 120), BOX)
    assert delta_e00(picked.colour.lab, Colour.from_hex(FLAKE).lab) < 1


def test_a_white_set_on_dark_ground_is_refused() -> None:
    """It made a flake of L* 165, which no surface has."""
    photo = flakes_on_paper((1.0, 1.0, 1.0))
    photo[:90, :90] = np.random.default_rng(3).integers(88, 92, (90, 90, 3))  # a grey bench
    with pytest.raises(
        InputError, match=r"as bright as the brightest part, got a patch \d+ % as bright; set the"
    ):
        flake_colour(photo, (175, 120), BOX)
    photo[:90, :90] = 170  # paper in shade, but the flake picked is the paper in full light
    with pytest.raises(InputError, match=r"not be brighter than a perfect white, L\* 100, got L\* 1\d\d"):
        flake_colour(photo, (250, 200), BOX)


def test_a_point_outside_and_no_paper_are_refused() -> None:
    photo = flakes_on_paper((1.0, 1.0, 1.0))
    with pytest.raises(InputError, match="x of the flake must be a number from 0 to 319"):
        flake_colour(photo, (400, 20), BOX)
    with pytest.raises(InputError, match="the white patch must be white"):
        flake_colour(photo, (20, 20), (155.0, 105.0, 30.0, 30.0))
    noise = np.random.default_rng(2).integers(0, 256, (200, 200, 3), dtype=np.uint8)
    with pytest.raises(InputError, match="must lie on white paper"):
        flake_colour(noise, (20, 20), None)
