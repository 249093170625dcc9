"""S-CIELAB as Zhang and Wandell (1997) define it: flat fields, gratings, distance."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.colour.spaces import lab_from_xyz1, xyz1_from_lab
from blendlab.look.contrast import contrast, seen_lab
from blendlab.tables import read_toml

EYE = read_toml("eye/eye.toml")
CHANNELS = ("light_dark", "red_green", "blue_yellow")
OPPONENTS = np.array([EYE["opponents"][channel] for channel in CHANNELS])
GREY = xyz1_from_lab([60.0, 0.0, 0.0])
VIEWING_MM = 600.0

labs = st.tuples(st.floats(5, 95), st.floats(-40, 40), st.floats(-40, 40))


def fourier(channel, cycles_per_degree):
    """What a channel's kernels leave of a grating: the sum of w exp(-2 (pi sigma f)**2), analytically."""
    kernel = EYE["blur"][CHANNELS[channel]]
    half_width_deg, weight = np.array(kernel["half_width_deg"]), np.array(kernel["weight"])
    sigma = half_width_deg / np.sqrt(2 * np.log(2))
    return (weight / weight.sum()) @ np.exp(-2 * (np.pi * sigma * cycles_per_degree) ** 2)


def grating(channel, half_waves, px=400):
    """Grey with a faint cosine in one opponent channel; half waves fit, so that its reflection goes on."""
    wave = np.cos(np.pi * half_waves * (np.arange(px) + 0.5) / px)
    faint = 1e-3 * np.linalg.inv(OPPONENTS)[:, channel]
    return wave, np.tile(GREY + wave[:, None] * faint, (3, 1, 1))


@pytest.mark.parametrize("channel", range(3), ids=CHANNELS)
@pytest.mark.parametrize("cycles_per_degree", [0.5, 2.0, 5.0, 10.0])
def test_a_grating_fades_as_the_kernels_fourier_transform_says(channel, cycles_per_degree):
    px, mm_per_px = 400, 0.1
    degrees = px * mm_per_px / (VIEWING_MM * np.tan(np.radians(1)))
    half_waves = round(2 * cycles_per_degree * degrees)
    wave, xyz1 = grating(channel, half_waves, px)
    seen = xyz1_from_lab(seen_lab(xyz1, mm_per_px, VIEWING_MM)) @ OPPONENTS.T
    left = (seen[1] - GREY @ OPPONENTS.T) / 1e-3
    amplitude = 2 * wave @ left / px
    # Kernels are cut at three sigma, which moves some thousandths.
    assert amplitude[channel] == pytest.approx(fourier(channel, half_waves / 2 / degrees), abs=0.006)
    assert np.delete(amplitude, channel) == pytest.approx(0, abs=1e-9)


@given(labs, st.floats(0.02, 2), st.floats(100, 3000))
def test_a_flat_field_keeps_its_colour(lab, mm_per_px, viewing_mm):
    flat = np.tile(xyz1_from_lab(lab), (9, 12, 1))
    seen = seen_lab(flat, mm_per_px, viewing_mm)
    assert seen == pytest.approx(np.broadcast_to(lab, seen.shape), abs=1e-6)
    assert contrast(seen) == pytest.approx(0, abs=1e-6)


def test_each_channels_weights_sum_to_one():
    """Zhang & Wandell normalise each channel's kernels; as printed they do so but for rounding."""
    for kernels in EYE["blur"].values():
        assert sum(kernels["weight"]) == pytest.approx(1, abs=1.5e-3)


def checks(side, light=80.0, dark=30.0):
    squares = np.indices((160, 160)) // side
    lightness = np.where(squares.sum(axis=0) % 2, light, dark)
    return xyz1_from_lab(np.stack([lightness, 0 * lightness, 0 * lightness], axis=-1))


def test_contrast_is_the_spread_about_the_mean():
    lab = np.zeros((10, 20, 3))
    lab[:, :10] = 30.0, 12.0, -5.0
    lab[:, 10:] = 60.0, -8.0, 15.0
    assert contrast(lab) == pytest.approx(np.linalg.norm([30, -20, 20]) / 2)


def test_close_to_the_eye_a_picture_keeps_its_contrast_and_far_off_loses_it():
    picture = checks(8)  # checks 4 mm wide
    seen = [contrast(seen_lab(picture, 0.5, viewing_mm)) for viewing_mm in (100, 500, 2000, 10_000)]
    plain = contrast(lab_from_xyz1(picture))
    assert plain < seen[0] < 1.4 * plain  # the surround's negative weight sharpens what is coarse
    assert seen[0] > seen[1] > seen[2] > seen[3]
    assert seen[3] < 0.3


@pytest.mark.parametrize("factor", [2.0, 5.0])
def test_only_the_angle_counts(factor):
    picture = checks(8)
    near = seen_lab(picture, 0.2, 500)
    assert seen_lab(picture, 0.2 * factor, 500 * factor) == pytest.approx(near, abs=1e-9)


def test_what_is_below_an_arc_minute_is_not_seen():
    """20/20 vision resolves one arc minute (common practice): .145 mm at half a metre."""
    seen = [contrast(seen_lab(checks(2), mm / 2, 500)) for mm in (0.0727, 2.33)]  # half and 16 arc minutes
    assert seen[0] < 0.1
    assert seen[1] > 10
