"""Flakes cut from an older sheet: their recipes as text and files, what they hold, what is refused."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.colour.means import area_mean, full_blend
from blendlab.colour.pigment import leaf_palette_of, light_depth_mm, palette_of
from blendlab.colour.uncertainty import of_area_mean, of_full_blend
from blendlab.io.text_files import Beside, read_text
from blendlab.recipe.flake import LetDown
from blendlab.recipe.measurements import Chip
from blendlab.recipe.offcut import MAX_DEPTH, Offcut
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet, from_toml, to_toml

WHITE, BLUE = Flake("white", "#f1eee4", 45), Flake("blue", "#1d4f8f", 30)
SHEET = Sheet(120.0, 120.0, 6.0)
OLD = Recipe("Old tile", SHEET, (WHITE, BLUE), Folding(folds=2))
OLD_TOML = to_toml(OLD)
NEW_TOML = """
name = "New tile"
sheet = {{ length_mm = 150.0, width_mm = 150.0, thickness_mm = 6.0 }}
flake = [
    {{ name = "green", srgb = "#2f6f4f", grams = 80.0 }},
    {{ name = "chips", grams = 50.0, size_mm = [20.0, 20.0, 5.0], from = {} }},
]
"""


def piece(old=OLD, folds=2, name="chips", grams=50.0, **rest):
    offcut = Offcut(old, folds)
    return Flake(name, offcut.srgb, grams, cut_from=offcut, **rest)


def cut(old=OLD):
    return Recipe("New tile", SHEET, (Flake("green", "#2f6f4f", 80), piece(old)))


def deep(levels):
    recipe = OLD
    for _ in range(levels):
        recipe = cut(recipe)
    return recipe


def write(folder, name, text):
    (folder / name).write_text(text, "utf-8")
    return folder / name


def read(path):
    return from_toml(read_text(path), Beside(path))


def refusal(attempt):
    with pytest.raises(InputError) as refused:
        attempt()
    return str(refused.value)


# As text


def test_a_recipe_is_read_beside_the_one_that_names_it(tmp_path):
    (tmp_path / "older").mkdir()
    write(tmp_path / "older", "old.toml", OLD_TOML)
    path = write(tmp_path, "new.toml", NEW_TOML.format('{ recipe = "older/old.toml", folds = 2 }'))
    made = read(path)
    assert made.flakes[1].cut_from == Offcut(OLD, 2)
    assert from_toml(to_toml(made)) == made  # with the older recipe in it, wherever it is read


def test_paths_of_a_nested_recipe_count_from_its_own_folder(tmp_path):
    (tmp_path / "a" / "b").mkdir(parents=True)
    write(tmp_path / "a" / "b", "oldest.toml", OLD_TOML)
    write(tmp_path / "a", "old.toml", NEW_TOML.format('{ recipe = "b/oldest.toml", folds = 1 }'))
    made = read(write(tmp_path, "new.toml", NEW_TOML.format('{ recipe = "a/old.toml", folds = 3 }')))
    assert made.depth == 2
    assert made.flakes[1].cut_from.recipe.flakes[1].cut_from == Offcut(OLD, 1)


def test_the_older_recipe_may_be_written_in_place_of_its_name():
    inline = (
        '{ folds = 1, recipe = { name = "Old", flake = [{ name = "white", srgb = "#f1eee4", grams = 45 }], '
        "sheet = { length_mm = 120, width_mm = 120, thickness_mm = 6 } } }"
    )
    made = from_toml(NEW_TOML.format(inline))
    assert made.flakes[1].cut_from.recipe == Recipe("Old", SHEET, (replace(WHITE, grams=45),))
    assert made.flakes[1].srgb == "#f1eee4"


def test_a_colour_that_is_given_labels_the_flake():
    labelled = NEW_TOML.replace('"chips", grams', '"chips", srgb = "#123456", grams')
    inline = '{ folds = 1, recipe = { name = "Old", flake = [{ name = "a", srgb = "#f1eee4", grams = 45 }], '
    made = from_toml(
        labelled.format(inline + "sheet = { length_mm = 99, width_mm = 99, thickness_mm = 6 } } }")
    )
    assert made.flakes[1].srgb == "#123456"
    assert area_mean(made) == area_mean(
        replace(made, flakes=(made.flakes[0], replace(made.flakes[1], srgb="#ffffff")))
    )


@given(st.integers(0, MAX_DEPTH), st.integers(0, 5), st.floats(0.5, 500))
@settings(max_examples=12)
def test_any_depth_writes_and_reads_back_the_same(levels, folds, grams):
    made = deep(levels)
    if levels:
        offcut = Offcut(made.flakes[1].cut_from.recipe, folds)
        made = made.with_flakes((made.flakes[0], replace(made.flakes[1], cut_from=offcut, grams=grams)))
    assert from_toml(to_toml(made)) == made
    assert hash(from_toml(to_toml(made))) == hash(made)  # which keys the kept pictures


# What it comes down to


def test_shares_of_leaves_are_products_of_shares():
    made = cut()  # 80 g of green and 50 g that hold 45:30
    assert [leaf.name for leaf in made.leaves.flakes] == ["green", "white", "blue"]
    assert made.leaf_shares == pytest.approx([80 / 130, 50 / 130 * 0.6, 50 / 130 * 0.4])


def test_the_same_flake_is_one_leaf_wherever_it_is():
    made = Recipe("New", SHEET, (replace(WHITE, grams=50), piece()))
    assert [leaf.name for leaf in made.leaves.flakes] == ["white", "blue"]
    assert made.leaf_shares == pytest.approx([0.5 + 0.5 * 0.6, 0.5 * 0.4])


def test_another_flake_of_the_same_name_gets_a_name_of_its_own():
    made = Recipe("New", SHEET, (Flake("white", "#ffffff", 50), piece(), piece(name="more", folds=1)))
    assert [leaf.name for leaf in made.leaves.flakes] == ["white", "white in chips", "blue"]


def test_a_let_down_brings_its_partner_into_the_leaf():
    let_down = LetDown("white", 10.0, srgb="#7f93c8")
    old = Recipe("Old", SHEET, (WHITE, replace(BLUE, let_down=let_down)))
    strong = leaf_palette_of(old)
    new = leaf_palette_of(Recipe("New", SHEET, (Flake("white", "#ffffff", 50), piece(old))))
    row = new.names.index("blue")
    assert new.k_per_mm[row] == pytest.approx(strong.k_per_mm[1])


@pytest.mark.parametrize("mean", [area_mean, full_blend])
def test_means_are_those_of_the_same_flakes_laid_loose(mean):
    loose = Recipe(
        "Loose", SHEET, (Flake("green", "#2f6f4f", 80), replace(WHITE, grams=30), replace(BLUE, grams=20))
    )
    assert mean(cut()).lab == pytest.approx(mean(loose).lab)


def test_strength_and_reach_of_light_are_those_of_the_same_flakes():
    alone, old = Recipe("New", SHEET, (piece(),)), OLD
    assert palette_of(alone).reflectance[0] == pytest.approx(old.shares @ palette_of(old).reflectance)
    k, s = old.shares @ palette_of(old).k_per_mm, old.shares @ palette_of(old).s_per_mm
    assert palette_of(alone).k_per_mm[0] == pytest.approx(k)
    assert palette_of(alone).s_per_mm[0] == pytest.approx(s)
    assert light_depth_mm(palette_of(alone), [1.0]) == pytest.approx(
        light_depth_mm(palette_of(old), old.shares)
    )


@pytest.mark.parametrize("of_mean", [of_area_mean, of_full_blend])
def test_the_uncertainty_is_near_that_of_the_same_flakes_laid_loose(of_mean):
    loose = Recipe(
        "Loose", SHEET, (Flake("green", "#2f6f4f", 80), replace(WHITE, grams=30), replace(BLUE, grams=20))
    )
    assert of_mean(cut()).band90_delta_e_ab == pytest.approx(of_mean(loose).band90_delta_e_ab, rel=0.05)


def test_weighings_of_the_sheet_and_of_its_pieces_add_up_as_squares():
    of_white = cut().leaves.weighed_g[1]  # 45 g once, then 50 g
    assert of_white == pytest.approx(1 / np.hypot(1 / 45, 1 / 50))


# What is refused


def test_four_sheets_deep_is_read_and_five_are_refused():
    assert deep(MAX_DEPTH).depth == MAX_DEPTH == 4
    assert refusal(lambda: deep(5)) == (
        "offcuts of offcuts must be at most 4 sheets deep, got more; give that sheet's own flakes as if they "
        "were new, or cut an older sheet"
    )


def test_a_file_five_deep_is_refused_before_the_sixth_is_read(tmp_path):
    for n in range(6):
        write(tmp_path, f"{n}.toml", NEW_TOML.format(f'{{ recipe = "{n + 1}.toml", folds = 1 }}'))
    assert "offcuts of offcuts must be at most 4 sheets deep" in refusal(lambda: read(tmp_path / "0.toml"))


@pytest.mark.parametrize("ring", [["new.toml"], ["old.toml", "new.toml"], ["old.toml", "old.toml"]])
def test_a_sheet_cut_from_itself_is_refused(tmp_path, ring):
    for name, of in zip(["new.toml", *ring], ring, strict=False):
        write(tmp_path, name, NEW_TOML.format(f'{{ recipe = "./{of}", folds = 1 }}'))
    said = refusal(lambda: read(tmp_path / "new.toml"))
    assert said.endswith(
        f"a sheet must not be cut from itself, got './{ring[-1]}'; name the recipe of an older sheet"
    )


def test_a_missing_recipe_is_refused(tmp_path):
    path = write(tmp_path, "new.toml", NEW_TOML.format('{ recipe = "gone.toml", folds = 1 }'))
    said = refusal(lambda: read(path))
    assert said.startswith("the file must be there to be read (no such file or directory), got '")
    assert said.endswith("gone.toml'; check the name and the folder")


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (
            '{ recipe = "old.toml", folds = 2 }',
            "a recipe read by itself must hold those of its offcuts, got 'old.toml'; write that recipe there "
            "in place of its file's name, as a table",
        ),
        ('"old.toml"', "from in [[flake]] 2 must be a table, got 'old.toml'; write { recipe ="),
        ('{ recipe = "old.toml" }', "from in [[flake]] 2"),
        (
            "{ recipe = 5, folds = 1 }",
            "a recipe must be a table, got 5; give its name, its sheet and its flakes",
        ),
    ],
)
def test_a_table_that_is_not_one_is_refused(given, says):
    assert refusal(lambda: from_toml(NEW_TOML.format(given))).startswith(says)


@pytest.mark.parametrize("folds", [-1, 17, 2.5, "two", None])
def test_folds_out_of_range_are_refused(folds):
    said = refusal(lambda: Offcut(OLD, folds))
    assert said.startswith(
        "folds of the sheet that offcuts are cut from must be a whole number from 0 to 16, got"
    )


def test_a_fault_in_the_older_recipe_names_its_file(tmp_path):
    write(tmp_path, "old.toml", OLD_TOML.replace("folds = 2", "folds = 77"))
    path = write(tmp_path, "new.toml", NEW_TOML.format('{ recipe = "old.toml", folds = 1 }'))
    assert refusal(lambda: read(path)).startswith(
        "'old.toml': folds must be a whole number from 0 to 16, got 77;"
    )


@pytest.mark.parametrize(
    "size_mm", [(61.0, 20.0, 5.0), (20.0, 61.0, 5.0), (20.0, 20.0, 6.1)], ids=["long", "wide", "thick"]
)
def test_a_piece_larger_than_its_sheet_is_refused(size_mm):
    said = refusal(lambda: piece(OLD.with_sheet(width_mm=60.0, length_mm=60.0), size_mm=size_mm))
    assert said.startswith(
        "size_mm of flake 'chips' must be within the 60 × 60 × 6 mm sheet that it is cut from,"
    )
    assert said.endswith("mm; say in size_mm how large it is cut")


@pytest.mark.parametrize(
    "beside",
    [{"hide_mm": 1.0}, {"kind": "opaque"}, {"stock": "cap"}, {"chip": Chip(1.0, "#101010", "#202020")}],
)
def test_measurements_of_one_colour_are_refused_beside_it(beside):
    (key,) = beside
    said = refusal(lambda: piece(**beside))
    assert said.startswith(f"from of flake 'chips' must stand without {key}, got")


def test_a_let_down_in_an_offcut_is_refused():
    dark = replace(BLUE, let_down=LetDown("chips", 10.0, srgb="#7f93c8"))
    assert refusal(lambda: Recipe("New", SHEET, (piece(), dark))) == (
        "the let-down of flake 'blue' must be in a flake of one colour, got 'chips'; name a flake that is "
        "not cut from a sheet"
    )


def test_a_crowd_of_flakes_within_flakes_is_refused():
    eleven = Recipe("Wide", SHEET, tuple(piece(name=f"chips {n}") for n in range(11)))
    assert eleven.together == 11 + 11 * 2
    with pytest.raises(InputError, match="the number of flakes with those of offcuts must be a whole number"):
        Recipe("Wider", SHEET, tuple(piece(eleven, name=f"chips {n}") for n in range(5)))


def test_an_offcut_of_no_recipe_is_refused():
    assert refusal(lambda: Offcut("old.toml", 2)) == (
        "an offcut must be cut from a recipe, got 'old.toml'; give the older sheet's recipe"
    )
    assert refusal(lambda: Flake("chips", "#808080", 5.0, cut_from="old.toml")).startswith(
        "from of flake 'chips' must be a table, got 'old.toml'; give the recipe"
    )
