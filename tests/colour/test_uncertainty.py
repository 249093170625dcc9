"""Uncertainty of mean colours: laws, and another Monte Carlo with its own draws (ISO/IEC Guide 98-3)."""

from dataclasses import replace

import numpy as np
import pytest

from blendlab.colour import film, pigment, saunderson, spectra
from blendlab.colour.spaces import lab_from_xyz1, linear_from_xyz1, xyz1_from_lab
from blendlab.colour.uncertainty import INPUTS, Declared, causes, of_area_mean, of_full_blend
from blendlab.recipe.flake import LetDown
from blendlab.recipe.measurements import Chip
from blendlab.recipe.recipe import Flake, Recipe, Sheet

WHITE = Flake("white", "#d8d4c8", 140, kind="opaque")
YELLOW = Flake("yellow", "#c8a848", 45)
BLUE = Flake("blue", "#405c90", 15, hide_mm=0.6)
RECIPE = Recipe("Tile", Sheet(), (WHITE, YELLOW, BLUE))
NOTHING = Declared(0.0, 0.0, 0.0, 0.0, 0.0)
FLAT = tuple((float(nm), 0.4) for nm in range(400, 701, 20))


def colour_and_weighing(recipe, declared, trials=6000):
    """Lab of both means in many trials with their own errors; strengths stay as they are."""
    rng = np.random.default_rng(11)
    base = pigment.palette_of(recipe)
    count, k2 = len(recipe.flakes), base.inner_reflection
    lab = lab_from_xyz1(spectra.xyz1_from_reflectance(base.reflectance))
    lab = lab + rng.normal(0, declared.colour_delta_e / np.sqrt(3), (trials, count, 3))
    seen = spectra.reflectance_from_linear(linear_from_xyz1(xyz1_from_lab(lab)))
    s = np.broadcast_to(base.s_per_mm, seen.shape)
    k = film.k_over_s(saunderson.inside_from_seen(seen, k2)) * s
    grams = np.array([flake.grams for flake in recipe.flakes])
    grams = grams + rng.normal(0, declared.weighing_g, (trials, count))
    shares = (grams / grams.sum(axis=1, keepdims=True))[..., None]
    full = saunderson.seen_from_inside(film.thick((shares * k).sum(axis=1), (shares * s).sum(axis=1)), k2)
    area = np.sum(shares * spectra.xyz1_from_reflectance(seen), axis=1)
    return lab_from_xyz1(area), lab_from_xyz1(spectra.xyz1_from_reflectance(full))


def test_colours_and_weighing_agree_with_another_monte_carlo():
    declared = Declared(strength=0.0)
    for found, sample in zip(
        (of_area_mean(RECIPE, declared), of_full_blend(RECIPE, declared)),
        colour_and_weighing(RECIPE, declared),
        strict=True,
    ):
        away = np.linalg.norm(sample - sample.mean(axis=0), axis=-1)
        assert found.lab == pytest.approx(sample.std(axis=0), rel=0.12)
        assert found.delta_e == pytest.approx(np.sqrt((away**2).mean()), rel=0.08)
        assert found.band90_delta_e_ab == pytest.approx(np.quantile(away, 0.9), rel=0.08)


def test_a_factor_on_one_strength_agrees_with_its_quantiles():
    """Where only one strength of a pair is unsure, the band is the blend at the edges of its factor."""
    recipe = Recipe("Tile", Sheet(), (replace(WHITE, hide_mm=1.0), Flake("coal", "#303030", 5)))
    (cause,) = (each for each in causes(recipe) if (each.flake, each.what) == ("coal", "strength"))
    found = pigment.palette_of(recipe)
    shares = recipe.shares * np.array([1.0, 1.0])
    labs = [
        lab_from_xyz1(spectra.xyz1_from_reflectance(pigment.blend(found, shares * np.array([1.0, factor]))))
        for factor in (1 / 5, 1.0, 5)
    ]
    lighter, darker = (abs(float(lab[0] - labs[1][0])) for lab in (labs[0], labs[2]))
    assert min(lighter, darker) * 0.7 < cause.delta_e < max(lighter, darker) * 1.3


def test_one_flake_is_as_uncertain_as_its_colour():
    alone = Recipe("Tile", Sheet(), (Flake("grey", "#808080", 100),))
    for found in (of_area_mean(alone), of_full_blend(alone)):
        assert found.delta_e == pytest.approx(2.0, rel=0.06)
        # A normal error alike in three directions stays within 2.5 standard deviations nine times in ten.
        assert found.band90_delta_e_ab == pytest.approx(2.5 * 2 / np.sqrt(3), rel=0.08)


def test_a_measured_spectrum_is_more_certain_than_a_colour():
    grey = Flake("grey", "#aaaaaa", 100)
    by_colour, by_spectrum = (
        of_area_mean(Recipe("Tile", Sheet(), (flake,))).delta_e
        for flake in (grey, replace(grey, spectrum=FLAT))
    )
    assert by_spectrum == pytest.approx(by_colour / 2, rel=0.02)


def test_exact_inputs_leave_no_uncertainty():
    found = of_full_blend(RECIPE, NOTHING)
    assert found.delta_e == pytest.approx(0, abs=1e-9)
    assert found.band90_delta_e_ab == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("part", ["colour_delta_e", "weighing_g", "strength"])
def test_a_small_uncertainty_is_proportional_to_what_is_declared(part):
    once, twice = (of_full_blend(RECIPE, replace(NOTHING, **{part: size})) for size in (0.005, 0.01))
    assert once.delta_e > 0
    assert twice.delta_e == pytest.approx(2 * once.delta_e, rel=0.01)


def test_strength_does_not_enter_the_area_mean():
    assert of_area_mean(RECIPE, replace(NOTHING, strength=1.0)).delta_e == pytest.approx(0, abs=1e-9)


def test_causes_come_largest_first_and_name_every_input():
    found = causes(RECIPE)
    sizes = [cause.delta_e for cause in found]
    assert sizes == sorted(sizes, reverse=True)
    assert {(cause.flake, cause.what) for cause in found} == {
        (flake.name, what) for flake in RECIPE.flakes for what in INPUTS
    }


def test_small_causes_add_up_in_squares():
    declared = Declared(0.1, 0.1, 0.1, 0.02)
    found = np.sqrt(np.sum([cause.delta_e**2 for cause in causes(RECIPE, declared)]))
    assert found == pytest.approx(of_full_blend(RECIPE, declared).delta_e, rel=0.1)


def strength_of(flake):
    (found,) = (
        cause.delta_e
        for cause in causes(replace(RECIPE, flakes=(WHITE, YELLOW, flake)))
        if (cause.flake, cause.what) == ("blue", "strength")
    )
    return found


def test_the_better_a_strength_is_known_the_less_uncertain_it_is():
    guessed = replace(BLUE, hide_mm=None)
    chip = replace(guessed, chip=Chip(0.15, "#2c3f63", "#404f6e"))
    let_down = replace(guessed, let_down=LetDown("white", 10, "#9aa6b4"))
    assert strength_of(chip) < strength_of(BLUE) < strength_of(guessed)
    assert strength_of(let_down) < 0.7 * strength_of(guessed)


def test_a_pale_flake_of_no_class_may_be_white_or_natural():
    """Natural stock scatters a tenth as much as white: the band reaches to where that would lead."""
    pale, coal = Flake("bottle", "#e8e4d8", 95), Flake("coal", "#1a1a1a", 5, hide_mm=0.1)
    recipes = [
        Recipe("Tile", Sheet(), (replace(pale, kind=kind), coal)) for kind in (None, "opaque", "natural")
    ]
    unsaid, opaque, natural = (pigment.palette_of(recipe) for recipe in recipes)
    assert unsaid.s_per_mm[0] == pytest.approx(opaque.s_per_mm[0])
    assert opaque.s_per_mm[0] == pytest.approx(10.6 * natural.s_per_mm[0], rel=0.05)
    labs = [
        lab_from_xyz1(spectra.xyz1_from_reflectance(pigment.blend(found, recipes[0].shares)))
        for found in (unsaid, natural)
    ]
    bands = [of_full_blend(recipe).band90_delta_e_ab for recipe in recipes]
    assert np.linalg.norm(labs[0] - labs[1]) < bands[0]
    assert bands[1] < bands[0]


def test_a_dark_flake_is_more_uncertain_than_a_lighter_one():
    dark, lighter = (
        causes(Recipe("Tile", Sheet(), (replace(WHITE, hide_mm=1.0), Flake("other", srgb, 4))))
        for srgb in ("#1c1c1c", "#6a6a6a")
    )
    strengths = [
        next(cause.delta_e for cause in found if (cause.flake, cause.what) == ("other", "strength"))
        for found in (dark, lighter)
    ]
    assert strengths[0] > 2 * strengths[1]


def test_the_order_of_flakes_is_irrelevant():
    let_down = replace(BLUE, hide_mm=None, let_down=LetDown("white", 10, "#9aa6b4"))
    straight = replace(RECIPE, flakes=(WHITE, YELLOW, let_down))
    turned = replace(RECIPE, flakes=(let_down, WHITE, YELLOW))
    for of in (of_area_mean, of_full_blend):
        assert of(turned).band90_delta_e_ab == pytest.approx(of(straight).band90_delta_e_ab, rel=1e-9)


def test_a_let_down_moves_with_its_partner():
    """Both strengths scale alike, so a blend of the two does not mind how strong the partner is."""
    blue = replace(BLUE, hide_mm=None, let_down=LetDown("white", 10, "#9aa6b4"))
    found = causes(Recipe("Tile", Sheet(), (WHITE, blue)))
    of_white = next(cause.delta_e for cause in found if (cause.flake, cause.what) == ("white", "strength"))
    alone = causes(Recipe("Tile", Sheet(), (WHITE, BLUE)))
    of_free_white = next(c.delta_e for c in alone if (c.flake, c.what) == ("white", "strength"))
    assert of_white < 0.05 * of_free_white


def test_weighing_a_trace_is_the_largest_uncertainty_of_a_white_sheet():
    flakes = (Flake("white", "#f2f0e8", 200, hide_mm=1.1), Flake("black", "#1a1a1a", 1))
    trace = Recipe("Tile", Sheet(), flakes)
    first = causes(trace, Declared(strength=0.1))[0]
    assert (first.flake, first.what) == ("black", "weighing")


def test_masses_near_the_largest_number_give_no_warning():
    huge = replace(RECIPE, flakes=tuple(replace(flake, grams=1e306 * flake.grams) for flake in RECIPE.flakes))
    weighed = Declared(weighing_g=0.0)
    for of in (of_area_mean, of_full_blend):
        np.testing.assert_allclose(of(huge, weighed).delta_e, of(RECIPE, weighed).delta_e, rtol=1e-9)


def test_repeats_to_the_last_bit():
    assert of_full_blend(RECIPE) == of_full_blend(RECIPE)


def test_a_colour_at_the_edge_of_srgb_may_be_more_vivid_than_its_hex():
    """Chrome yellow of the measured mixtures reads #d68c00; its b* is 28 beyond that."""
    inside, edge, black = (
        of_area_mean(Recipe("Tile", Sheet(), (Flake("cap", srgb, 1e6),))).lab
        for srgb in ("#d68c10", "#d68c00", "#000000")
    )
    assert edge[2] > 3 * inside[2]
    assert edge[0] == pytest.approx(inside[0], rel=0.1)
    assert black[2] == pytest.approx(inside[2], rel=0.6)
