"""S-CIELAB: a second implementation by direct convolution, gratings, flat fields, yellow and black."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.signal import convolve2d

from blendlab.colour.spaces import lab_from_xyz1, xyz1_from_lab
from blendlab.look.contrast import contrast, seen_lab

# S-CIELAB, Zhang & Wandell 1997, as the authors distribute it: matrix for the 2 degree observer, and for each
# channel full widths at half maximum in degrees and weights. Typed again, so that no table is trusted.
OPPONENTS = np.array(
    [
        [0.2787336, 0.7218031, -0.1065520],
        [-0.4487736, 0.2898056, 0.0771569],
        [0.0859513, -0.5899859, 0.5011089],
    ]
)
KERNELS = (
    ((0.05, 1.00327), (0.225, 0.114416), (7.0, -0.117686)),
    ((0.0685, 0.616725), (0.826, 0.383275)),
    ((0.092, 0.567885), (0.6451, 0.432115)),
)
CHANNELS = ("light-dark", "red-green", "blue-yellow")
GREY = xyz1_from_lab([60.0, 0.0, 0.0])
VIEWING_MM = 600.0
MM_PER_DEGREE = VIEWING_MM * np.tan(np.radians(1))

labs = st.tuples(st.floats(5, 95), st.floats(-40, 40), st.floats(-40, 40))


def gaussian_2d(width_deg, px_per_degree):
    """One Gaussian on a square support of 1 degree, summing to 1: exp(-4 ln 2 r²/w²) is a half at r = w/2."""
    half = int(np.ceil(px_per_degree / 2)) - 1
    y, x = np.mgrid[-half : half + 1, -half : half + 1] / px_per_degree
    bell = np.exp(-4 * np.log(2) * (x**2 + y**2) / width_deg**2)
    return bell / bell.sum()


def directly(xyz1, px_per_degree):
    """S-CIELAB by plain two-dimensional convolution."""
    opponents = xyz1 @ OPPONENTS.T
    for channel, kernels in enumerate(KERNELS):
        total = sum(weight for _, weight in kernels)
        kernel = sum(weight / total * gaussian_2d(width, px_per_degree) for width, weight in kernels)
        opponents[..., channel] = convolve2d(opponents[..., channel], kernel, "same", "symm")
    return lab_from_xyz1(np.maximum(opponents @ np.linalg.inv(OPPONENTS).T, 0))


def sheet(side_px=16, px=96, seed=2):
    """Squares of invented colours, yellow and black among them, with a little grain."""
    rng = np.random.default_rng(seed)
    colours = xyz1_from_lab([[85, 5, 85], [5, 0, 0], [35, 10, -45], [92, -1, 5]])
    cells = rng.integers(0, len(colours), (-(-px // side_px), -(-px // side_px)))
    rows = np.arange(px) // side_px
    return colours[cells[rows[:, None], rows[None, :]]] * rng.uniform(0.9, 1.0, (px, px, 1))


@pytest.mark.parametrize("px_per_degree", [7.0, 20.5, 41.0])
def test_agrees_with_a_second_implementation_by_direct_convolution(px_per_degree):
    picture = sheet()
    seen = seen_lab(picture, MM_PER_DEGREE / px_per_degree, VIEWING_MM)
    assert seen == pytest.approx(directly(picture, px_per_degree), abs=1e-8)


def fourier(channel, cycles_per_degree, px_per_degree):
    """What the kernels of a channel leave of a grating: their cosine transform over the support."""
    at = (np.arange(px_per_degree * 2 + 1) - px_per_degree) / px_per_degree
    at = at[np.abs(at) < 0.5]
    left = 0.0
    for width_deg, weight in KERNELS[channel]:
        bell = np.exp(-4 * np.log(2) * at**2 / width_deg**2)
        left += weight * (bell / bell.sum()) @ np.cos(2 * np.pi * cycles_per_degree * at)
    return left / sum(weight for _, weight in KERNELS[channel])


def grating(channel, half_waves, px):
    """Grey with a faint cosine in one opponent channel; half waves fit, so its reflection continues it."""
    wave = np.cos(np.pi * half_waves * (np.arange(px) + 0.5) / px)
    faint = 1e-3 * np.linalg.inv(OPPONENTS)[:, channel]
    return wave, np.tile(GREY + wave[:, None] * faint, (3, 1, 1))


@pytest.mark.parametrize("channel", range(3), ids=CHANNELS)
@pytest.mark.parametrize("cycles_per_degree", [0.5, 1.0, 2.0, 5.0, 10.0, 20.0])
def test_a_grating_fades_as_the_transform_of_the_kernels_says(channel, cycles_per_degree):
    px_per_degree, degrees = 101, 4
    px, half_waves = px_per_degree * degrees, round(2 * cycles_per_degree * degrees)
    wave, xyz1 = grating(channel, half_waves, px)
    seen = xyz1_from_lab(seen_lab(xyz1, MM_PER_DEGREE / px_per_degree, VIEWING_MM)) @ OPPONENTS.T
    left = (seen[1] - GREY @ OPPONENTS.T) / 1e-3
    amplitude = 2 * wave @ left / px
    assert amplitude[channel] == pytest.approx(fourier(channel, cycles_per_degree, px_per_degree), abs=1e-4)
    assert np.delete(amplitude, channel) == pytest.approx(0, abs=1e-9)


def test_the_narrowest_gaussian_has_the_width_of_the_papers_formula():
    """exp(-r²/σ²) with σ = 0.0283 degrees (Zhang & Wandell 1997) has a full width of 0.047, not of 0.1."""
    assert 2 * 0.0283 * np.sqrt(np.log(2)) == pytest.approx(KERNELS[0][0][0], rel=0.06)


@given(labs, st.floats(0.02, 2), st.floats(100, 3000))
def test_a_flat_field_keeps_its_colour(lab, mm_per_px, viewing_mm):
    flat = np.tile(np.maximum(xyz1_from_lab(lab), 0), (9, 12, 1))
    seen = seen_lab(flat, mm_per_px, viewing_mm)
    assert seen == pytest.approx(np.broadcast_to(lab_from_xyz1(flat[0, 0]), seen.shape), abs=1e-6)
    assert contrast(seen) == pytest.approx(0, abs=1e-6)


def checks(side, light=80.0, dark=30.0):
    squares = np.indices((160, 160)) // side
    lightness = np.where(squares.sum(axis=0) % 2, light, dark)
    return xyz1_from_lab(np.stack([lightness, 0 * lightness, 0 * lightness], axis=-1))


def test_contrast_is_the_spread_about_the_mean():
    lab = np.zeros((10, 20, 3))
    lab[:, :10] = 30.0, 12.0, -5.0
    lab[:, 10:] = 60.0, -8.0, 15.0
    assert contrast(lab) == pytest.approx(np.linalg.norm([30, -20, 20]) / 2)


@pytest.mark.parametrize("px_per_degree", [7, 14, 56])
@pytest.mark.parametrize("side_deg", [0.3, 1.0, 3.0])
def test_yellow_and_black_never_get_darker_than_black_nor_much_more_contrast(px_per_degree, side_deg):
    side = max(int(side_deg * px_per_degree), 1)
    rows, columns = np.indices((6 * side, 6 * side)) // side
    yellow, black = xyz1_from_lab([85.0, 5.0, 85.0]), xyz1_from_lab([4.0, 0.0, 0.0])
    picture = np.where(((rows + columns) % 2)[..., None], yellow, black)
    seen = seen_lab(picture, MM_PER_DEGREE / px_per_degree, VIEWING_MM)
    assert seen[..., 0].min() >= 0
    # The negative surround of the light-dark kernel is weak: its positive weights sum to 1.118.
    assert contrast(seen) < 1.12 * contrast(lab_from_xyz1(picture))


def test_close_to_the_eye_a_picture_keeps_its_contrast_and_far_off_loses_it():
    picture = checks(8)  # checks 4 mm wide
    seen = [contrast(seen_lab(picture, 0.5, viewing_mm)) for viewing_mm in (100, 500, 2000, 10_000)]
    plain = contrast(lab_from_xyz1(picture))
    # The surround adds at most 11.8 % to light; CIELAB makes a fifth of it where the darker tone is deep.
    assert plain < max(seen) < 1.2 * plain
    assert seen[1] > seen[2] > seen[3]
    assert seen[3] < 2


@pytest.mark.parametrize("factor", [2.0, 5.0])
def test_only_the_angle_counts(factor):
    picture = checks(8)
    near = seen_lab(picture, 0.2, 500)
    assert seen_lab(picture, 0.2 * factor, 500 * factor) == pytest.approx(near, abs=1e-9)


def test_squares_of_half_an_arc_minute_are_hardly_seen_and_of_sixteen_clearly():
    """20/20 vision resolves one arc minute (common practice): 0.145 mm at half a metre."""
    seen = [contrast(seen_lab(checks(2), mm / 2, 500)) for mm in (0.0727, 2.33)]
    assert seen[0] < 0.1 * contrast(lab_from_xyz1(checks(2)))
    assert seen[1] > 10
