"""Lays of a recipe: read and written alike, refused in one sentence, kept when flakes or sizes change."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.recipe.lay import PLACES, Lay
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet, from_toml, to_toml

FLAKES = tuple(Flake(name, "#808080", g) for name, g in [("white", 100), ("blue", 60), ("gold", 40)])
LAID = """
name = "Harbour tile"
[sheet]
length_mm = 200
width_mm = 150
thickness_mm = 6
[[flake]]
name = "white"
srgb = "#f1eee4"
grams = 120
[[flake]]
name = "blue"
srgb = "#1d4f8f"
grams = 60
[[lay]]
flakes = ["white"]
place = "layer"
grams = { white = 80 }
[[lay]]
flakes = ["white", "blue"]
place = "heaps"
where_mm = [[40, 30], [-60, -20]]
width_mm = 50
[folding]
folds = 3
"""


def recipe(*lays, folds=4):
    return Recipe("Tile", Sheet(200, 150, 6), FLAKES, Folding(folds=folds), lays=lays)


options = st.sampled_from(sorted(PLACES)).flatmap(
    lambda place: st.fixed_dictionaries(
        {"place": st.just(place)},
        optional={
            key: {
                "count": st.integers(2, 12),
                "angle_deg": st.floats(-180, 180),
                "width_mm": st.floats(1, 1000),
                "before_press": st.integers(0, 4),
                "seed": st.integers(0, 2**32 - 1),
            }[key]
            for key in (*PLACES[place].options, "seed")
            if key != "where_mm"
        },
    )
)


@given(
    st.permutations(["white", "blue", "gold"]), st.integers(1, 3), st.lists(options, min_size=3, max_size=3)
)
def test_lays_are_read_as_written(names, count, choices):
    groups = [names[n::count] for n in range(count)]
    laid = [Lay(tuple(group), **chosen) for group, chosen in zip(groups, choices, strict=False)]
    if all(lay.is_late for lay in laid):
        laid[0] = replace(laid[0], before_press=0)
    asked = recipe(*laid)
    assert from_toml(to_toml(asked)) == asked
    assert hash(from_toml(to_toml(asked))) == hash(asked)
    assert asked.lay_shares.sum(axis=0) == pytest.approx(asked.shares)


def test_a_flake_may_be_in_several_lays():
    asked = from_toml(LAID)
    assert asked.lays[0] == Lay(("white",), "layer", grams=(("white", 80.0),))
    assert asked.lays[1].count == 2
    assert asked.lay_shares * 180 == pytest.approx(np.array([[80, 0], [40, 60]]))
    assert from_toml(to_toml(asked)) == asked


def test_a_recipe_without_lays_writes_none_and_is_one_lay_stirred():
    assert "lay" not in to_toml(recipe())
    assert np.array_equal(recipe().lay_shares, [recipe().shares])
    assert [lay.place for lay in recipe().as_laid] == ["throughout"]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("{ white = 80 }", "{ white = 120 }", "all lays must add up to its 120 g, got 120 g before the last"),
        ("{ white = 80 }", "{ white = 130 }", "all lays must add up to its 120 g, got 130 g before the last"),
        ('"blue"]', "]", "all flakes must be laid, got 'blue'; name it in a lay"),
        ('["white", "blue"]', '["blue"]', "all lays must add up to its 120 g, got 80 g; correct"),
        ("grams = { white = 80 }\n", "", "got flake 'white' in 2 lays without grams; add grams to them"),
        ("{ white = 80 }", "{ blue = 60 }", "grams of a lay are of its own flakes, got 'blue'"),
        ("{ white = 80 }", "{ white = 0 }", "grams of 'white' in a lay must be a number above 0, got 0"),
        ("{ white = 80 }", "80", "grams of a lay must be a table, got 80"),
        ('["white", "blue"]', '["white", "red"]', "a lay takes flakes of its recipe, got 'red'"),
        ('["white", "blue"]', '"white"', "flakes of a lay must be a list of names, got 'white'"),
        ('["white", "blue"]', '["white", "white"]', "a lay names each flake once, got white, white"),
        ("[40, 30]", "[110, 30]", "within the 200 x 150 mm slab, got 110, 30 mm from its middle; move it in"),
        ("[40, 30]", "[40]", "where_mm must be a list of 1 to 12 pairs"),
        ('"layer"', '"pile"', "place of a lay must be one of those known, got 'pile'; choose throughout"),
        ('"layer"', '"layer"\ncount = 3', "a lay with place 'layer' takes no numbers, got 'count'"),
        ("width_mm = 50", "width = 50", "[[lay]] 2 takes only known keys, got 'width'"),
        ("width_mm = 50", "width_mm = 0", "width_mm of a lay must be a number from 1 to 1000, got 0"),
        ('"layer"', '"layer"\nseed = -1', "seed of a lay must be a whole number from 0 to 4294967295"),
        ('"layer"', '"scatter"\nbefore_press = 17', "must be a whole number from 0 to 16, got 17"),
        ('"layer"', '"stripes"\ncount = 41', "count of a lay must be a whole number from 1 to 40, got 41"),
        ('place = "layer"\n', "", "[[lay]] 1 needs flakes, place, got no place"),
    ],
)
def test_what_breaks_a_rule_is_refused_in_words(old, new, says):
    assert old in LAID
    with pytest.raises(InputError) as caught:
        from_toml(LAID.replace(old, new, 1))
    message = str(caught.value)
    assert says in message
    assert message.isprintable()
    assert ", got " in message
    assert "; " in message


def test_chips_go_before_a_press_that_the_moves_have():
    strewn = Lay(("gold",), "scatter", before_press=3)
    assert recipe(strewn, Lay(("white", "blue")), folds=0).lays[0] == strewn  # as it looks before its folds
    with pytest.raises(
        InputError, match="a press of the recipe, 0 to 2, got 3; strew the chips before an ear"
    ):
        Recipe(
            "Tile", Sheet(), FLAKES, Folding(moves=("half", "half")), lays=(strewn, Lay(("white", "blue")))
        )


def test_chips_alone_make_no_slab():
    with pytest.raises(InputError, match="chips need a slab to be strewn on"):
        recipe(Lay(("white", "blue", "gold"), "scatter", before_press=1))


def test_other_flakes_keep_their_lays():
    laid = recipe(
        Lay(("white", "blue"), "layer", grams=(("white", 25.0),)),
        Lay(("gold",), "border", width_mm=20),
        Lay(("white",), "layer"),
    )
    changed = laid.with_flakes([replace(FLAKES[0], grams=200.0), FLAKES[1], Flake("rust", "#b4532a", 10)])
    assert changed.lays[0].grams == (("white", 50.0),)
    assert [lay.flakes for lay in changed.lays] == [("white", "blue"), ("white",), ("rust",)]
    assert changed.lays[2].place == "throughout"


def test_another_size_is_laid_to_look_the_same():
    heaps = Lay(("gold",), "heaps", width_mm=40, where_mm=((90, 60), (0, 0)))
    resized = recipe(heaps, Lay(("white", "blue"))).with_sheet(length_mm=100, width_mm=75)
    assert resized.lays[0].where_mm == ((45, 30), (0, 0))
    assert resized.lays[0].width_mm == pytest.approx(20)
