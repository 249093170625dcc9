"""The strength of a flake from a pressed chip read over black and over white."""

import numpy as np
import pytest

from blendlab.checks import InputError
from blendlab.colour import film, pigment, saunderson, spectra
from blendlab.colour.difference import delta_e00
from blendlab.colour.pigment import palette
from blendlab.colour.spaces import Colour
from blendlab.recipe.measurements import Chip
from blendlab.recipe.recipe import Flake

KNOWN = [
    ("#f2f0e8", 1.1, 0.4),
    ("#14409a", 0.6, 0.15),
    ("#c8202a", 1.4, 0.4),
    ("#e8e4d8", 14.0, 3.0),
    ("#6a6a6a", 0.5, 0.1),
]


def press(known, thickness_mm):
    """Readings that a chip of a known flake would give, in eight bits."""
    k, s = known.k_per_mm[0], known.s_per_mm[0]
    seen = (
        saunderson.seen_from_inside(film.over(rg, k, s, thickness_mm), known.inner_reflection)
        for rg in (0.0, 0.8)
    )
    return Chip(thickness_mm, *(Colour.from_xyz1(spectra.xyz1_from_reflectance(each)).srgb for each in seen))


@pytest.mark.parametrize(("srgb", "hide_mm", "thickness_mm"), KNOWN)
def test_a_chip_gives_colour_and_hiding_thickness(srgb, hide_mm, thickness_mm):
    known = palette([Flake("known", srgb, 1, hide_mm=hide_mm)])
    found = palette([Flake("chip", "#000000", 1, chip=press(known, thickness_mm))])
    # Loose: the readings are rounded to eight bits and a colour stands for a spectrum.
    assert pigment.hide_mm(found) == pytest.approx([hide_mm], rel=0.2)
    thick = Colour.from_xyz1(spectra.xyz1_from_reflectance(found.reflectance[0]))
    assert delta_e00(thick.lab, Colour.from_hex(srgb).lab) < 4


@pytest.mark.parametrize(("srgb", "hide_mm", "thickness_mm"), KNOWN)
def test_a_chip_reproduces_its_readings(srgb, hide_mm, thickness_mm):
    read = press(palette([Flake("known", srgb, 1, hide_mm=hide_mm)]), thickness_mm)
    again = press(palette([Flake("chip", "#000000", 1, chip=read)]), thickness_mm)
    for side in ("over_black", "over_white"):
        there, back = Colour.from_hex(getattr(read, side)), Colour.from_hex(getattr(again, side))
        assert delta_e00(there.lab, back.lab) < 1.5


def test_a_chip_blends_like_its_flake():
    white, blue = Flake("white", "#f2f0e8", 1), Flake("blue", "#14409a", 1, hide_mm=0.6)
    chip = Flake("blue", "#000000", 1, chip=press(palette([blue]), 0.15))
    given, read = (
        Colour.from_xyz1(spectra.xyz1_from_reflectance(pigment.blend(palette([white, each]), [0.8, 0.2])))
        for each in (blue, chip)
    )
    assert delta_e00(given.lab, read.lab) < 3


@pytest.mark.parametrize("over_white", ["#404041", "#414141"])
def test_a_chip_that_hides_its_backing_is_refused(over_white):
    with pytest.raises(InputError, match="the chip of flake 'grey' must let its backing show"):
        palette([Flake("grey", "#404040", 1, chip=Chip(1.0, "#404040", over_white))])


def test_strengths_are_positive_and_finite():
    rng = np.random.default_rng(3)
    for _ in range(200):
        dark = rng.integers(0, 200, 3)
        light = np.minimum(dark + rng.integers(20, 56, 3), 255)
        sides = (f"#{r:02x}{g:02x}{b:02x}" for r, g, b in (dark, light))
        found = palette([Flake("any", "#000000", 1, chip=Chip(0.5, *sides))])
        for strength in (found.k_per_mm, found.s_per_mm):
            assert np.all(np.isfinite(strength))
            assert np.all(strength > 0)
