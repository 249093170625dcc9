"""The printed-line test, and the estimate used in its place."""

import numpy as np
import pytest

from blendlab.colour import film, hiding_power, saunderson, spectra
from blendlab.colour.pigment import hide_mm, palette
from blendlab.colour.strength import known_by
from blendlab.recipe.flake import LetDown
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
        ({"kind": "natural"}, "colour as given; strength estimated from its class, natural"),
        ({"kind": "opaque"}, "colour as given; strength estimated from the lightness"),
        ({"let_down": LetDown("chalk", 5, "#c0c0c0")}, "colour as given; strength by a let-down in chalk"),
        ({"chip": Chip(1.0, "#202020", "#606060")}, "colour and strength by two readings of a pressed chip"),
    ],
)
def test_each_flake_says_how_it_is_known(known, said):
    assert known_by(Flake("flake", "#808080", 1, **known)) == said


def test_natural_and_tinted_stock_hide_where_the_table_says():
    """Natural stock scatters some 1.3 per mm, a tenth of white of the same colour."""
    kinds = ("opaque", "tinted", "natural")
    found = palette([Flake(kind, "#e8e4d8", 1, kind=kind) for kind in kinds])
    usual = {stock.kind: stock.usual for stock in TYPICAL if stock.kind}
    assert hide_mm(found)[1:] == pytest.approx([usual["tinted"], usual["natural"]], rel=1e-6)
    s = found.s_per_mm[:, 15]  # at 550 nm
    assert s[2] == pytest.approx(1.27, abs=0.01)
    assert s[0] == pytest.approx(10.6 * s[2], rel=0.05)


def test_scattering_falls_by_a_third_from_450_to_650_nm():
    found = palette([Flake("white", "#f2f0e8", 1)]).s_per_mm[0]
    at = np.interp([450, 650], spectra.WAVELENGTH_NM, found)
    assert at[1] / at[0] == pytest.approx(2 / 3, abs=0.01)
