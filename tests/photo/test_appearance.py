"""What a picture is to the eye, and how far two are apart."""

import numpy as np
import pytest
from scipy.stats import wasserstein_distance
from skimage.feature import structure_tensor

from blendlab.colour.spaces import xyz1_from_hex, xyz1_from_lab
from blendlab.photo.appearance import MAX_SIDE_PX, appearance, averaged, difference, earth_movers_distance


def stripes(across: int, light: float = 70, dark: float = 30, rows: int = 96) -> np.ndarray:
    """Vertical stripes of grey, each `across` pixels wide."""
    lightness = np.where(np.arange(128) // across % 2, light, dark)
    lab = np.stack([lightness, 0 * lightness, 0 * lightness], axis=-1)
    return np.tile(xyz1_from_lab(lab), (rows, 1, 1)).astype(np.float32)


def greys(lightness: np.ndarray) -> np.ndarray:
    lab = np.stack([lightness, 0 * lightness, 0 * lightness], axis=-1)
    return xyz1_from_lab(lab).astype(np.float32)


def test_stripes_measure_as_drawn() -> None:
    seen = appearance(stripes(16), mm_per_px=2.0)
    assert seen.contrast == pytest.approx(20, rel=0.06)
    assert seen.feature_mm == pytest.approx(32 / 4, rel=0.15)  # a quarter of a stripe's width
    assert seen.direction == pytest.approx(1, abs=0.01)
    turned = appearance(stripes(16).swapaxes(0, 1), mm_per_px=2.0)
    assert turned.direction == pytest.approx(seen.direction, abs=0.02)
    assert appearance(stripes(2), 0.2).contrast < 0.5 * seen.contrast  # too fine for the eye


def test_direction_is_that_of_a_structure_tensor_of_scikit_image() -> None:
    lightness = np.random.default_rng(1).normal(50, 8, (90, 128)).cumsum(axis=1)
    lightness = 50 + 20 * (lightness - lightness.mean()) / lightness.std()
    seen = appearance(greys(lightness), mm_per_px=200.0)  # pixels far larger than the eye's blur
    rr, rc, cc = (each.mean() for each in structure_tensor(lightness, sigma=0.01, order="rc"))
    # Its derivatives are Sobel's, which smooth sideways a little.
    assert seen.direction == pytest.approx(np.hypot(rr - cc, 2 * rc) / (rr + cc), abs=0.12)


def test_the_earth_movers_distance_of_greys_is_scipys() -> None:
    rng = np.random.default_rng(2)
    one, other = (rng.choice(np.array(levels), (64, 64)) for levels in ([20, 40, 90], [30, 55, 60, 80]))
    # No eye blurs pixels of a metre.
    found = earth_movers_distance(appearance(greys(one), 1000.0), appearance(greys(other), 1000.0))
    assert found == pytest.approx(wasserstein_distance(one.ravel(), other.ravel()), abs=0.15)


def test_a_picture_is_like_itself_and_less_like_a_paler_one() -> None:
    one, paler = appearance(stripes(8), 2.0), appearance(stripes(8, 60, 40), 2.0)
    assert difference(one, one).total == pytest.approx(0, abs=1e-6)
    off = difference(one, paler)
    assert off.palette == pytest.approx(10, abs=1)
    assert off.contrast == pytest.approx(0.5, abs=0.03)
    assert off.feature == pytest.approx(1, abs=0.1)
    assert off.total > 3


def test_one_colour_has_no_features() -> None:
    seen = appearance(np.full((40, 50, 3), xyz1_from_hex("#8090a0"), np.float32), 1.0)
    assert seen.is_plain
    assert (seen.feature_mm, seen.direction) == (0, 0)
    assert seen.mean.srgb == "#8090a0"
    assert difference(seen, seen).total == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(("rows", "columns"), [(16, 16), (300, 1000), (129, 128), (2000, 17)])
def test_averaging_keeps_the_mean_and_the_proportions(rows: int, columns: int) -> None:
    light = np.random.default_rng(3).random((rows, columns, 3)).astype(np.float32)
    small = averaged(light)
    assert max(small.shape[:2]) == min(max(rows, columns), MAX_SIDE_PX)
    assert small.shape[1] - columns / rows * small.shape[0] == pytest.approx(
        0, abs=0.5 * columns / rows + 0.5
    )
    assert small.mean(axis=(0, 1)) == pytest.approx(light.mean(axis=(0, 1)), abs=0.01)
