"""The three mean colours of a recipe."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.colour.difference import delta_e00
from blendlab.colour.means import area_mean, cielab_mean, full_blend
from blendlab.colour.spaces import Colour
from blendlab.recipe.recipe import Flake, Recipe, Sheet

hexes = st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}")


def recipe(**grams_by_hex):
    return Recipe("Tile", Sheet(), tuple(Flake(hex6, f"#{hex6}", g) for hex6, g in grams_by_hex.items()))


TWO = recipe(**{"f0d020": 150, "14409a": 50})


@pytest.mark.parametrize("mean", [area_mean, full_blend, cielab_mean])
@given(srgb=hexes)
def test_one_flake_is_its_own_mean(mean, srgb):
    alone = mean(recipe(**{srgb[1:]: 20}))
    assert delta_e00(alone.lab, Colour.from_hex(srgb).lab) < 0.05


def test_area_mean_is_the_mean_of_light():
    yellow, blue = Colour.from_hex("#f0d020").xyz1, Colour.from_hex("#14409a").xyz1
    expected = 0.75 * np.array(yellow) + 0.25 * np.array(blue)
    assert area_mean(TWO).xyz1 == pytest.approx(expected, abs=1e-3)


def test_cielab_mean_is_the_mean_of_lab():
    yellow, blue = Colour.from_hex("#f0d020").lab, Colour.from_hex("#14409a").lab
    expected = 0.75 * np.array(yellow) + 0.25 * np.array(blue)
    assert cielab_mean(TWO).lab == pytest.approx(expected, abs=0.05)


def test_full_blend_is_darker_and_greener_than_the_area_mean():
    area, full = area_mean(TWO), full_blend(TWO)
    assert full.lab[0] < area.lab[0] - 5
    assert full.lab[1] < area.lab[1] - 10
