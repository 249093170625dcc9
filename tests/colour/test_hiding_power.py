"""The printed-line test, and the estimate used in its place."""

import numpy as np
import pytest

from blendlab.colour import film, hiding_power, saunderson, spectra
from blendlab.colour.pigment import hide_mm, palette
from blendlab.recipe.measurements import Chip
from blendlab.recipe.recipe import Flake

TYPICAL = hiding_power.typical()
GREY = tuple((float(nm), 0.5) for nm in range(400, 701, 20))


def test_typical_values_range_from_black_to_natural():
    assert all(0 < stock.low < stock.usual < stock.high for stock in TYPICAL)
    usual = {stock.name: stock.usual for stock in TYPICAL}
    assert min(usual, key=usual.get).startswith("black")
    assert max(usual, key=usual.get).startswith("natural")


@pytest.mark.parametrize("stock", [each for each in TYPICAL if each.srgb], ids=lambda each: each.name)
def test_the_estimate_by_lightness_agrees_with_the_typical_values(stock):
    (found,) = hide_mm(palette([Flake(stock.name, stock.srgb, 1)]))
    assert stock.low < found < stock.high
    assert found == pytest.approx(stock.usual, rel=0.2)


def test_contrast_rises_with_thickness_to_full_hiding():
    # Contrast ratio of luminance over black to over white, 98 % is full hiding: ISO 6504-3 (from memory)
    found = palette([Flake("blue", "#14409a", 1, hide_mm=0.6)])
    x = np.array([0.1, 0.3, 0.6, 1.2])[:, None]
    k, s, k2 = found.k_per_mm[0], found.s_per_mm[0], found.inner_reflection
    black, paper = (
        spectra.luminance(saunderson.seen_from_inside(film.over(rg, k, s, x), k2)) for rg in (0.0, 0.8)
    )
    ratio = black / paper
    assert np.all(np.diff(ratio) > 0)
    assert ratio[2] == pytest.approx(0.98, abs=1e-7)


@pytest.mark.parametrize(
    ("known", "said"),
    [
        ({}, "colour as given; strength estimated from the lightness"),
        ({"hide_mm": 1.0}, "colour as given; strength by the printed-line test"),
        ({"spectrum": GREY}, "colour by a measured spectrum; strength estimated from the lightness"),
        ({"chip": Chip(1.0, "#202020", "#606060")}, "colour and strength by two readings of a pressed chip"),
    ],
)
def test_each_flake_says_how_it_is_known(known, said):
    assert hiding_power.known_by(Flake("flake", "#808080", 1, **known)) == said
