"""Translucent sheets on white, on black, on their own colour and against a window."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.colour import saunderson
from blendlab.colour.backing import BACKINGS, look_on
from blendlab.colour.pigment import Palette, palette
from blendlab.recipe.recipe import Flake

NATURAL = palette([Flake("natural", "#e8e4d8", 1, hide_mm=14)])
WHITE = palette([Flake("white", "#f2f0e8", 1, hide_mm=1.1)])


def luminance(flakes, thickness_mm, backing):
    return look_on(flakes, [1.0], thickness_mm, backing).xyz1[1]


def test_natural_stock_shows_its_backing_and_white_does_not():
    for thickness in (2.0, 6.0):
        assert luminance(NATURAL, thickness, "white") > luminance(NATURAL, thickness, "black") * 1.05
        assert luminance(NATURAL, thickness, "window") > 5 * luminance(WHITE, thickness, "window")
    assert luminance(WHITE, 6.0, "white") == pytest.approx(luminance(WHITE, 6.0, "black"), rel=1e-3)


def test_on_its_own_colour_a_sheet_looks_thick():
    for thickness in (0.1, 6.0):
        shown = look_on(NATURAL, [1.0], thickness, "own").lab
        assert shown == pytest.approx(look_on(NATURAL, [1.0], 1e6, "own").lab, abs=1e-6)


@given(st.floats(0.05, 30), st.floats(1.05, 10), st.sampled_from(["white", "black"]))
def test_a_thicker_sheet_shows_less_of_its_backing(thickness, more, backing):
    far, near = (
        abs(luminance(NATURAL, x, backing) - luminance(NATURAL, 1e4, backing))
        for x in (thickness, thickness * more)
    )
    assert near <= far + 1e-9
    assert luminance(NATURAL, thickness * more, "window") < luminance(NATURAL, thickness, "window")


@given(
    st.integers(0, 0xFFFFFF),
    st.floats(0.01, 200),
    st.floats(0.01, 100),
    st.sampled_from(BACKINGS),
    st.floats(1, 2),
)
def test_no_sheet_returns_more_light_than_it_receives(value, hide, thickness, backing, n):
    flakes = palette([Flake("any", f"#{value:06x}", 1, hide_mm=hide)], n)
    assert 0 <= luminance(flakes, thickness, backing) <= 1 + 1e-9


def test_a_clear_pane_transmits_as_theory_says():
    # A plate that neither absorbs nor scatters lets (1 − r)/(1 + r) through, r of each face (Stokes 1862):
    # exact for faces that turn back alike from both sides, as for diffuse light in thin air (n = 1).
    nothing = np.full((1, 32), 1e-12)
    bare = Palette(("air",), np.ones((1, 32)), nothing, nothing, refractive_index=1.0)
    assert luminance(bare, 1.0, "window") == pytest.approx(1.0, abs=1e-9)
    n = 1.54
    pane = Palette(("pane",), np.ones((1, 32)), nothing, nothing, refractive_index=n)
    k2, r = saunderson.inner_reflection(n), saunderson.outer_reflection(n)
    assert luminance(pane, 1.0, "window") == pytest.approx((1 - r) * (1 - k2) / (1 - k2**2), abs=1e-9)
