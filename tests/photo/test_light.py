import warnings

import numpy as np
import pytest

from blendlab.checks import InputError
from blendlab.colour.difference import delta_e00
from blendlab.colour.spaces import lab_from_xyz1, srgb1_from_linear
from blendlab.photo.light import PAPER_Y, adapt, corrected, read_light
from blendlab.photo.rectify import develop, straighten

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

ROWS, COLUMNS = 300, 400
CORNERS = np.array([[100.0, 60.0], [300.0, 60.0], [300.0, 240.0], [100.0, 240.0]])
PAPER = (320.0, 100.0, 60.0, 80.0)


def shot(
    sheet: tuple[float, float, float], white: tuple[float, float, float], fall: float = 0.0
) -> np.ndarray[tuple[int, int, int], np.dtype[np.uint8]]:
    """A plain sheet and a strip of paper on a dark, rough table; light falls off with the square."""
    rng = np.random.default_rng(1)
    linear = np.full((ROWS, COLUMNS, 3), 0.03) * rng.uniform(0.3, 2.5, (ROWS, COLUMNS, 1))
    linear[60:240, 100:300] = sheet
    linear[90:210, 310:390] = PAPER_Y
    y, x = np.indices((ROWS, COLUMNS))
    square = ((y - 149.5) ** 2 + (x - 199.5) ** 2) / (ROWS**2 + COLUMNS**2) * 4
    linear = linear * white * np.exp(fall * square)[..., None]
    return np.rint(255 * srgb1_from_linear(np.clip(linear, 0, 1))).astype(np.uint8)


@pytest.mark.parametrize("given", [True, False])
@pytest.mark.parametrize("white", [(1.0, 1.0, 1.0), (0.9, 0.7, 0.45), (0.3, 0.34, 0.42)])
def test_paper_corrects_cast_and_exposure(white: tuple[float, float, float], given: bool) -> None:
    sheet = (0.30, 0.30, 0.30)
    photo = develop(shot(sheet, white))
    light = read_light(photo, CORNERS, PAPER if given else None)
    face = corrected(straighten(photo, CORNERS, (200.0, 180.0), 2.0), light, photo)
    seen = lab_from_xyz1(face[20:-20, 20:-20].mean(axis=(0, 1)))
    assert light.paper == ("given" if given else "found")
    assert delta_e00(seen, lab_from_xyz1(np.array([0.95046, 1.0, 1.08906]) * 0.30)) < 1.5


def test_lens_falloff_is_corrected() -> None:
    photo = develop(shot((0.3, 0.3, 0.3), (0.8, 0.8, 0.8), fall=-0.3))
    light = read_light(photo, CORNERS, None)
    face = corrected(straighten(photo, CORNERS, (200.0, 180.0), 2.0), light, photo)
    corner, middle = face[2:8, 2:8, 1].mean(), face[40:50, 45:55, 1].mean()
    assert 0.95 < corner / middle < 1.05  # 0.86 as photographed


def test_without_paper_it_says_so() -> None:
    picture = shot((0.3, 0.1, 0.1), (0.8, 0.8, 0.8))
    picture[:, 305:] = picture[:, :95]
    assert read_light(develop(picture), CORNERS, None).paper == "none"


@pytest.mark.parametrize(
    ("box", "says"),
    [
        ((120.0, 80.0, 60.0, 60.0), "must be white"),
        ((280.0, 100.0, 60.0, 60.0), "must be even"),
        ((395.0, 100.0, 60.0, 60.0), "must be a box in the photo"),
        ((320.0, 100.0, 1.0, 1.0), "must be a box in the photo"),
        ((-4.0, 100.0, 60.0, 60.0), "x of the white patch must be a number from 0"),
        ((float("nan"), 100.0, 60.0, 60.0), "x of the white patch must be a number from 0"),
    ],
)
def test_a_patch_that_is_not_white_is_refused(box: tuple[float, float, float, float], says: str) -> None:
    with pytest.raises(InputError) as refusal:
        read_light(develop(shot((0.5, 0.05, 0.04), (0.9, 0.9, 0.9))), CORNERS, box)
    assert says in str(refusal.value)


def test_a_grey_patch_and_a_burnt_one_are_refused() -> None:
    bright = shot((0.9, 0.9, 0.9), (0.9, 0.9, 0.9))
    bright[100:180, 320:380] = 120
    with pytest.raises(InputError, match="as bright as anything in the sheet"):
        read_light(develop(bright), CORNERS, PAPER)
    bright[100:180, 320:380] = 255
    with pytest.raises(InputError, match="must not be burnt out"):
        read_light(develop(bright), CORNERS, PAPER)


@pytest.mark.parametrize(
    ("lamp", "mean", "worst"), [("A", 2.7, 5.7), ("FL2", 4.0, 10.2), ("D50", 1.4, 3.0), ("LED-B3", 2.3, 6.1)]
)
def test_a_measured_chart_is_recovered_from_its_white_patch_alone(
    lamp: str, mean: float, worst: float
) -> None:
    # Source: the 24 "BabelColor Average" reflectances that ship with colour-science, integrated by that
    # library under another illuminant, 400 pixels a patch with noise of 1 % of white; the truth is the same
    # chart under D65. The bounds state the error that the white patch alone leaves: lamps differ in more
    # than three numbers.
    chart = list(colour.SDS_COLOURCHECKERS["BabelColor Average"].values())
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]

    def under(name: str) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
        light = colour.SDS_ILLUMINANTS[name]
        return np.array([colour.sd_to_XYZ(patch, observer, light) for patch in chart]) / 100

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        truth, seen = under("D65"), under(lamp)
    pixels = seen[:, None] + np.random.default_rng(2).normal(0, 0.01, (24, 400, 3))
    seen = pixels.mean(axis=1)
    white = seen[18] / truth[18, 1]  # patch 19, white
    left = delta_e00(lab_from_xyz1(adapt(seen, white)), lab_from_xyz1(truth))
    plain = delta_e00(lab_from_xyz1(seen), lab_from_xyz1(truth))
    print(f"{lamp}: mean {left.mean():.2f}, worst {left.max():.2f}, uncorrected {plain.mean():.1f}")
    assert left.mean() < mean
    assert left.max() < worst
    assert left.mean() < plain.mean()
