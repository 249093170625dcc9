"""What to measure next, in words."""

from dataclasses import replace

import pytest

from blendlab.colour.advice import for_recipe
from blendlab.colour.strength import must_choose
from blendlab.recipe.flake import LetDown
from blendlab.recipe.recipe import Flake, Recipe, Sheet

WHITE = Flake("white", "#f2f0e8", 150, hide_mm=1.1)
BLUE = Flake("blue", "#14409a", 40, hide_mm=0.6)


def said(*flakes):
    return for_recipe(Recipe("Tile", Sheet(), flakes))


def test_measured_flakes_need_no_advice():
    assert said(WHITE, BLUE) == ()
    assert said(WHITE, replace(BLUE, hide_mm=None, let_down=LetDown("white", 10, "#7f93c8"))) == ()


def test_pale_neutral_stock_says_that_it_must_choose():
    bottle = Flake("bottle", "#e8e4d8", 150)
    (sentence,) = said(bottle, BLUE)
    assert sentence.startswith("bottle may be white or natural")
    for known in ({"kind": "natural"}, {"kind": "opaque"}, {"hide_mm": 14.0}):
        assert said(replace(bottle, **known), BLUE) == ()
        assert not must_choose(replace(bottle, **known))


@pytest.mark.parametrize(
    ("srgb", "choose"), [("#e8e4d8", True), ("#f2f0e8", True), ("#f0d020", False), ("#909090", False)]
)
def test_only_pale_and_neutral_flakes_must_choose(srgb, choose):
    assert must_choose(Flake("flake", srgb, 1)) == choose


def test_a_dark_flake_asks_for_a_measurement_where_it_matters():
    coal = Flake("coal", "#1a1a1a", 10)
    (sentence,) = said(WHITE, coal)
    assert sentence.startswith("coal is too dark for its colour to reveal its strength")
    assert said(coal) == ()  # alone, its strength moves nothing


@pytest.mark.parametrize(
    ("percent", "srgb", "words"),
    [
        (0.1, "#f1efe7", "too weak, hardly different from white: "),
        (90.0, "#16419a", "too strong, hardly different from blue: "),
    ],
)
def test_a_poor_let_down_is_answered_with_a_better_percentage(percent, srgb, words):
    sentence = said(WHITE, replace(BLUE, hide_mm=None, let_down=LetDown("white", percent, srgb)))[0]
    assert words in sentence
    assert sentence.endswith(f"% would tell more than {percent:g} %.")
    better = float(sentence.partition(words)[2].split()[0])
    assert 2 <= better <= 50


def test_a_partner_of_the_same_colour_cannot_tell():
    twin = Flake("twin", "#16429c", 50, hide_mm=0.6)
    sentence = said(twin, replace(BLUE, hide_mm=None, let_down=LetDown("twin", 50, "#15419b")))[0]
    assert sentence.endswith("make it in a flake of another colour.")


def test_an_inconsistent_let_down_says_how_far_off_it_is():
    sentence = said(WHITE, replace(BLUE, hide_mm=None, let_down=LetDown("white", 10, "#c02020")))[0]
    assert sentence.startswith("No K and S explain the let-down of blue in white: the nearest mixture is 3")
    assert "ΔE00 away" in sentence
