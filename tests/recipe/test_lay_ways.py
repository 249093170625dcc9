"""The usual ways to lay: every gram laid whatever the flakes, and what each puts where."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blendlab.folding.overflow import overflow
from blendlab.recipe.lay import Lay
from blendlab.recipe.lay_edits import grams_of
from blendlab.recipe.lay_ways import WAYS, laid_so
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

SHEET = Sheet(120.0, 90.0, 6.0)
NAMES = ("white", "blue", "gold", "rust", "leaf", "coal", "sky")


def mix(*grams):
    return tuple(Flake(name, "#808080", g) for name, g in zip(NAMES, grams, strict=False))


def recipe(way, flakes, lays=()):
    found = laid_so(way, lays, flakes, SHEET.thickness_mm)
    return Recipe("Tile", SHEET, flakes, Folding(folds=4), lays=found)


@settings(max_examples=60)
@given(st.sampled_from(sorted(WAYS)), st.lists(st.floats(0.1, 500), min_size=1, max_size=7))
def test_every_way_lays_every_gram_of_any_flakes(way, grams):
    flakes = mix(*grams)
    found = recipe(way, flakes).lays  # a recipe refuses lays that do not add up
    if len(grams) == 1 or way == "stirred":
        assert found == ()
        return
    assert grams_of(found, flakes).sum(axis=0).tolist() == pytest.approx(grams)
    places = {"chequer": "quarters", "side to side": "gradient", "layers": "layer", "chips on top": "scatter"}
    assert places.get(way, way) in {lay.place for lay in found}
    assert laid_so(way, found, flakes, SHEET.thickness_mm) == found  # a second tap changes nothing


@given(st.sampled_from(sorted(WAYS)), st.integers(1, 4))
def test_chips_strewn_later_stay_whichever_way_the_rest_lies(way, press):
    flakes = mix(100, 60, 40)
    strewn = Lay(("gold",), "scatter", grams=(("gold", 15.0),), before_press=press)
    lays = (strewn, Lay(("white", "blue", "gold")))
    found = recipe(way, flakes, lays).lays
    assert [lay.before_press for lay in found if lay.is_late] == [press]
    (late,) = (n for n, lay in enumerate(found) if lay.is_late)
    assert grams_of(found, flakes)[late].tolist() == pytest.approx([0, 0, 15])
    assert grams_of(found, flakes).sum(axis=0).tolist() == pytest.approx([100, 60, 40])
    assert recipe("stirred", flakes, found).lays[0] == Lay(("white", "blue", "gold"), grams=(("gold", 25.0),))


def test_the_commonest_flake_is_the_ground():
    flakes = mix(30, 100, 60)
    assert [lay.flakes for lay in recipe("layers", flakes).lays] == [("blue",), ("gold",), ("white",)]
    heaps = [(lay.flakes, lay.place, lay.count) for lay in recipe("heaps", flakes).lays]
    ground = (("blue",), "throughout", None)
    assert heaps == [ground, (("gold",), "heaps", 4), (("white",), "heaps", 1)]
    assert recipe("border", flakes).lays[0] == Lay(("gold",), "border")


def test_quarters_of_three_flakes_give_two_to_the_commonest():
    lays = recipe("quarters", mix(100, 55, 45)).lays
    assert [lay.flakes for lay in lays] == [("white",), ("blue",), ("gold",), ("white",)]
    assert lays[0].grams == (("white", 50.0),)
    four = recipe("quarters", mix(10, 10, 10, 10, 1)).lays
    assert [lay.flakes for lay in four] == [("white", "leaf"), ("blue",), ("gold",), ("rust",)]


def test_a_chequer_is_of_two_lays_of_like_mass():
    first, second = recipe("chequer", mix(100, 60, 40)).lays
    assert (first.flakes, second.flakes, first.count) == (("white",), ("blue", "gold"), 4)
    assert overflow(recipe("chequer", mix(100, 60, 40))) == {}


@pytest.mark.parametrize("grams", [(100, 60, 40), (100, 100), (10, 9, 8, 7)])
def test_chips_on_top_lie_side_by_side(grams):
    assert overflow(recipe("chips on top", mix(*grams))) == {}
