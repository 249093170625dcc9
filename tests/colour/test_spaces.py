"""Conversions against the sRGB standard, CIELAB against values that colour-science documents."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.colour.spaces import (
    RGB_TO_XYZ,
    WHITE_XYZ1,
    Colour,
    lab_from_xyz1,
    linear_from_srgb1,
    linear_from_xyz1,
    srgb1_from_hex,
    srgb1_from_linear,
    xyz1_from_hex,
    xyz1_from_lab,
    xyz1_from_linear,
)

hexes = st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}")


def test_srgb_curve_has_the_values_of_the_standard():
    # IEC 61966-2-1:1999, 5.2 and 5.3
    assert float(linear_from_srgb1(0.5)) == pytest.approx(0.21404114, abs=5e-9)
    assert float(srgb1_from_linear(0.18)) == pytest.approx(0.46135612, abs=1e-8)  # cut, not rounded


def test_matrix_agrees_with_the_standard_to_its_four_decimals():
    # IEC 61966-2-1:1999, equation 7
    printed = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    assert pytest.approx(np.array(printed), abs=5e-5) == RGB_TO_XYZ


def test_white_has_the_chromaticity_of_the_standard():
    # D65, x = 0.3127, y = 0.3290
    assert WHITE_XYZ1[:2] / WHITE_XYZ1.sum() == pytest.approx([0.3127, 0.3290], abs=1e-12)
    assert pytest.approx([0.950456, 1.0, 1.089058], abs=5e-7) == WHITE_XYZ1
    assert xyz1_from_hex("#ffffff") == pytest.approx(WHITE_XYZ1, abs=1e-12)


def test_lab_of_a_documented_colour():
    # colour-science documentation, XYZ_to_Lab, D65 (0.3127, 0.3290)
    lab = lab_from_xyz1([0.20654008, 0.12197225, 0.05136952])
    assert lab == pytest.approx([41.52787529, 52.63858304, 26.92317922], abs=5e-9)


def test_lab_below_the_cube_root_is_a_straight_line():
    # CIE 15:2018: L* = 903.3 Y for Y up to 0.008856
    dark = 0.004
    assert lab_from_xyz1(dark * WHITE_XYZ1) == pytest.approx([24389 / 27 * dark, 0, 0], abs=1e-9)


@given(hexes)
def test_every_screen_colour_returns_through_xyz_and_lab(srgb):
    assert Colour.from_hex(srgb).srgb == srgb
    assert Colour.from_lab(Colour.from_hex(srgb).lab).srgb == srgb


@given(st.lists(st.floats(0, 1), min_size=3, max_size=3))
def test_conversions_are_inverse_to_each_other(values):
    linear = np.array(values)
    assert linear_from_srgb1(srgb1_from_linear(linear)) == pytest.approx(linear, abs=2e-7)
    assert linear_from_xyz1(xyz1_from_linear(linear)) == pytest.approx(linear, abs=1e-12)
    xyz1 = xyz1_from_linear(linear)
    assert xyz1_from_lab(lab_from_xyz1(xyz1)) == pytest.approx(xyz1, abs=1e-12)


def test_any_leading_shape_is_kept():
    block = np.linspace(0, 1, 24).reshape(2, 4, 3)
    lab = lab_from_xyz1(xyz1_from_linear(block))
    assert lab.shape == (2, 4, 3)
    assert lab[1, 2] == pytest.approx(lab_from_xyz1(xyz1_from_linear(block[1, 2])))


def test_a_colour_beyond_the_screen_is_clipped_only_in_its_hex():
    vivid = Colour.from_lab((50, -90, 0))
    assert vivid.srgb.startswith("#00")
    assert vivid.lab == pytest.approx((50, -90, 0), abs=1e-9)


def test_a_reported_colour_has_the_documented_form():
    assert Colour.from_hex("#ffffff").as_json() == {"lab": [100.0, 0.0, 0.0], "srgb": "#ffffff"}


def test_hex_digits_are_read_in_order():
    assert srgb1_from_hex("#0080ff").tolist() == [0.0, 128 / 255, 1.0]
