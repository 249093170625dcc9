import dataclasses
import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet, from_toml, to_toml

TILE = """
name = "Harbour tile"
[sheet]
length_mm = 150
width_mm = 120.5
thickness_mm = 8.0
[[flake]]
name = "chalk white"
srgb = "#F2F0E8"
grams = 150
[[flake]]
name = "crate blue"
srgb = "#14409a"
grams = 50.0
hide_mm = 0.6
size_mm = [9, 6.5, 1.2]
[folding]
folds = 3
"""
WHITE = Flake("white", "#f2f0e8", 100)

names = st.text(st.characters(exclude_categories=["C", "Z"]) | st.sampled_from(' "\\#='), max_size=60)
names = names.filter(lambda name: name.strip() == name != "")
flakes = st.builds(
    Flake,
    name=names,
    srgb=st.integers(0, 0xFFFFFF).map("#{:06x}".format),
    grams=st.floats(0, exclude_min=True, allow_infinity=False),
    hide_mm=st.none() | st.floats(0.01, 200),
    size_mm=st.tuples(*[st.floats(0.2, 100)] * 3),
)
sheets = st.builds(Sheet, st.floats(20, 1000), st.floats(20, 1000), st.floats(1, 100))
foldings = st.builds(
    Folding,
    st.just("half"),  # other moves do not fit every slab
    st.integers(0, 16),
    st.floats(0, 1),
    st.floats(0, 1),
    st.integers(0, 2**32 - 1),
)
recipes = st.builds(
    Recipe,
    names,
    sheets,
    st.lists(flakes, min_size=1, max_size=12, unique_by=lambda f: f.name).map(tuple),
    foldings,
)


def refused(text: str) -> str:
    with pytest.raises(InputError) as caught:
        from_toml(text)
    message = str(caught.value)
    assert message.isprintable()
    assert ", got " in message
    assert "; " in message
    return message


def test_a_file_is_read_as_written_with_the_defaults_it_leaves_out() -> None:
    assert from_toml(TILE) == Recipe(
        name="Harbour tile",
        sheet=Sheet(150.0, 120.5, 8.0),
        flakes=(
            Flake("chalk white", "#f2f0e8", 150.0),
            Flake("crate blue", "#14409a", 50.0, hide_mm=0.6, size_mm=(9.0, 6.5, 1.2)),
        ),
        folding=Folding("half", 3, 0.5, 0.3, 7),
    )


@given(recipes)
def test_what_is_written_reads_back_the_same(recipe: Recipe) -> None:
    text = to_toml(recipe)
    assert from_toml(text) == recipe
    assert to_toml(from_toml(text)) == text
    assert hash(from_toml(to_toml(recipe))) == hash(recipe)  # a recipe serves as a cache's key


def test_windows_line_ends_read_the_same() -> None:
    assert from_toml(TILE.replace("\n", "\r\n")) == from_toml(TILE)


@given(recipes)
def test_shares_are_those_of_the_masses_and_sum_to_one(recipe: Recipe) -> None:
    shares = recipe.shares
    assert shares.dtype == np.float64
    assert shares.shape == (len(recipe.flakes),)
    assert math.isclose(shares.sum(), 1, rel_tol=1e-12)
    assert np.all(shares >= 0)
    for (a, share_a), (b, share_b) in itertools.pairwise(zip(recipe.flakes, shares, strict=True)):
        assert (a.grams >= b.grams) == (share_a >= share_b) or math.isclose(share_a, share_b)


def test_shares_of_a_plain_charge() -> None:
    np.testing.assert_allclose(from_toml(TILE).shares, [0.75, 0.25], rtol=1e-15)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("[sheet]", "[sheet", "well-formed TOML, got Expected ']'"),
        ("folds = 3", "folds = 3\nfolds = 4", "Cannot overwrite a value (at "),
        ("grams = 150", "grams = " + "9" * 5000, "too long to read"),
        ("grams = 150", "grams = " + "[" * 5000, "too long to read"),
        ("folds = 3", "fold = 3", "[folding] takes only known keys, got 'fold'; use move, folds, drag"),
        ("grams = 150", "gram = 150", "[[flake]] 1 takes only known keys, got 'gram'"),
        ("[folding]", "[folds]", "a recipe takes only known keys, got 'folds'"),
        ("grams = 50.0\n", "", "[[flake]] 2 needs name, srgb, grams, got no grams; add grams"),
        ("width_mm = 120.5\n", "", "got no width_mm; add width_mm"),
        ('name = "Harbour tile"', "", "got no name; add name"),
        ("grams = 150", 'grams = "150"', "grams of flake 'chalk white' must be a number above 0, got '150'"),
        ("grams = 150", "grams = nan", "got nan"),
        ("grams = 150", "grams = inf", "got inf"),
        ("grams = 150", "grams = -1", "got -1"),
        ("grams = 150", "grams = 0", "got 0"),
        ("grams = 150", "grams = true", "got true"),
        ("length_mm = 150", "length_mm = 19.9", "length_mm of the sheet must be a number from 20 to 1000"),
        ("width_mm = 120.5", "width_mm = 1001", "width_mm of the sheet must be a number from 20 to 1000"),
        ("thickness_mm = 8.0", "thickness_mm = 0.9", "thickness_mm of the sheet must be a number from 1"),
        ("folds = 3", "folds = 17", "folds must be a whole number from 0 to 16, got 17"),
        ("folds = 3", "folds = 3.0", "folds must be a whole number from 0 to 16, got 3.0"),
        ("folds = 3", "drag = 1.1", "drag must be a number from 0 to 1"),
        ("folds = 3", "unevenness = -0.1", "unevenness must be a number from 0 to 1"),
        ("folds = 3", "seed = 4294967296", "seed must be a whole number from 0 to 4294967295"),
        ("folds = 3", 'move = "origami"', "move must be one of those known, got 'origami'; choose half"),
        ("#14409a", "#14409", "srgb of flake 'crate blue' must be written #rrggbb"),
        ("hide_mm = 0.6", "hide_mm = 0", "hide_mm of flake 'crate blue' must be a number from 0.01 to 200"),
        ("[9, 6.5, 1.2]", "[9, 6.5]", "size_mm of flake 'crate blue' must be three numbers"),
        ("[9, 6.5, 1.2]", "[9, 6.5, 0.1]", "each side in size_mm of flake 'crate blue'"),
        ('"crate blue"', '"chalk white "', "each flake needs a name of its own, got 'chalk white'"),
        ('"crate blue"', '""', "flake name must not be empty"),
        ('"crate blue"', r'"crate\nblue"', "flake name must be one line"),
        ('"Harbour tile"', '" "', "recipe name must not be empty"),
    ],
)
def test_what_breaks_a_rule_is_refused_in_words(old: str, new: str, says: str) -> None:
    assert old in TILE
    assert says in refused(TILE.replace(old, new, 1))


def test_a_value_where_a_table_belongs_is_refused() -> None:
    text = "folding = 3\n" + TILE[: TILE.index("[folding]")]
    assert "[folding] must be a table, got 3; head it with [folding]" in refused(text)


def test_one_table_where_a_list_of_flakes_belongs_is_refused() -> None:
    text = TILE[: TILE.index("[[flake]]")] + '[flake]\nname = "a"\nsrgb = "#000000"\ngrams = 1\n'
    assert "head each flake with [[flake]]" in refused(text)


@pytest.mark.parametrize("count", [0, 13])
def test_a_recipe_has_one_to_twelve_flakes(count: int) -> None:
    charge = tuple(dataclasses.replace(WHITE, name=f"white {n}") for n in range(count))
    with pytest.raises(InputError, match=rf"must be a whole number from 1 to 12, got {count};"):
        Recipe("tile", Sheet(), charge)


@given(st.text(max_size=200))
def test_no_text_breaks_the_reader(text: str) -> None:
    refused(text)


VALUES = st.none() | st.booleans() | st.floats() | st.text(max_size=5) | st.lists(st.floats(), max_size=4)
PARTS = {"sheet": Sheet(), "flakes": WHITE, "folding": Folding()}


@given(st.sampled_from(sorted(PARTS)), st.data())
def test_a_changed_copy_is_refused_or_still_good_for_a_file(part: str, data: st.DataObject) -> None:
    key = data.draw(st.sampled_from([field.name for field in dataclasses.fields(PARTS[part])]))
    try:
        changed = dataclasses.replace(PARTS[part], **{key: data.draw(VALUES)})
    except InputError:
        return
    recipe = Recipe("tile", Sheet(), (WHITE,))
    recipe = dataclasses.replace(recipe, **{part: (changed,) if part == "flakes" else changed})
    assert from_toml(to_toml(recipe)) == recipe


@pytest.mark.parametrize("key", ["a." * 400_000 + "a", "[" + "a . " * 200_000 + "a]", '"a".' * 200_000 + "a"])
def test_a_key_of_very_many_parts_is_refused_before_it_is_followed(key: str) -> None:
    # Python's own reader takes time as the square of the parts: hours for these.
    with pytest.raises(InputError, match="a recipe must be well-formed TOML, got a key of very many parts; "):
        from_toml(f"{key} = 1\n")


def test_a_source_may_hold_as_many_points_as_fit() -> None:
    flake = Flake("white", "#f2f0e8", 1, source="1." * 100)
    recipe = Recipe("a.b.c." * 10, Sheet(), (flake,))
    assert from_toml(to_toml(recipe)) == recipe


def test_copies_on_another_sheet_and_folded_in_another_way() -> None:
    tile = from_toml(TILE)
    assert tile.with_folding(folds=9) == dataclasses.replace(tile, folding=Folding(folds=9))
    assert tile.with_sheet(width_mm=150) == dataclasses.replace(tile, sheet=Sheet(150, 150, 8))
    with pytest.raises(InputError, match="folds"):
        tile.with_folding(folds=17)
