"""The invented flakes and recipes that ship with the program."""

from pathlib import Path

import numpy as np
import pytest

from blendlab.colour.means import area_mean, full_blend
from blendlab.colour.pigment import palette
from blendlab.colour.spaces import Colour
from blendlab.io.text_files import Beside, read_text
from blendlab.recipe.flake_list import from_csv, to_csv
from blendlab.recipe.offcut import Offcut
from blendlab.recipe.recipe import from_toml, to_toml
from blendlab.workshop.order import Order, Plastic
from blendlab.workshop.sheet_size import finished_mm, tile_g

SWATCHES = Path(__file__).resolve().parent.parent / "swatches"
SHED = from_csv((SWATCHES / "flakes.csv").read_text("utf-8"))
RECIPES = [SWATCHES / f"{name}.toml" for name in ("bollard", "oat-field", "wet-cobbles")]
LAID = [SWATCHES / f"{name}.toml" for name in ("tide-line", "ember-frame", "awning")]


def test_the_flake_list_is_in_the_form_the_program_writes():
    assert to_csv(SHED) == (SWATCHES / "flakes.csv").read_text("utf-8")


def test_the_flakes_span_a_sheds_colours():
    assert 18 <= len(SHED) <= 25
    lab = np.array([Colour.from_hex(flake.srgb).lab for flake in SHED])
    vivid = lab[np.hypot(lab[:, 1], lab[:, 2]) > 20]
    hue = np.sort(np.degrees(np.arctan2(vivid[:, 2], vivid[:, 1])) % 360)
    assert np.diff(hue, append=hue[0] + 360).max() < 90  # all round the hue circle
    assert lab[:, 0].min() < 15
    assert lab[:, 0].max() > 92
    assert {flake.hide_mm is None for flake in SHED} == {True, False}
    palette([flake.charged(1) for flake in SHED])


@pytest.mark.parametrize("path", [*RECIPES, *LAID], ids=lambda path: path.stem)
def test_each_recipe_reads_and_uses_the_sheds_flakes(path):
    recipe = from_toml(path.read_text("utf-8"))
    shed = {flake.name: flake for flake in SHED}
    for flake in recipe.flakes:
        assert (flake.srgb, flake.hide_mm) == (shed[flake.name].srgb, shed[flake.name].hide_mm)
        assert flake.grams <= shed[flake.name].grams


def test_the_recipes_differ_in_character():
    found = {path.stem: from_toml(path.read_text("utf-8")) for path in RECIPES}
    bold, soft, dark = found["bollard"], found["oat-field"], found["wet-cobbles"]
    spread = {
        recipe.name: np.std([Colour.from_hex(flake.srgb).lab[0] for flake in recipe.flakes])
        for recipe in (bold, soft, dark)
    }
    assert len(bold.flakes) == 2
    assert spread[bold.name] > 30
    assert area_mean(soft).lab[0] > 75
    assert np.hypot(*area_mean(soft).lab[1:]) < 20
    assert len(dark.flakes) >= 6
    assert full_blend(dark).lab[0] < 35


def test_the_cut_recipe_presses_pieces_of_the_demo_sheet_anew():
    path = SWATCHES / "second-tide.toml"
    recipe = from_toml(read_text(path), Beside(path))
    old = from_toml(read_text(SWATCHES / "harbour.toml"))
    coal, pieces = recipe.flakes
    assert (coal.srgb, coal.hide_mm) == next((f.srgb, f.hide_mm) for f in SHED if f.name == coal.name)
    assert pieces.cut_from == Offcut(old, 3)
    assert pieces.grams < sum(flake.grams for flake in old.flakes)
    assert [leaf.name for leaf in recipe.leaves.flakes] == ["coal", *(flake.name for flake in old.flakes)]
    assert from_toml(to_toml(recipe)) == recipe


@pytest.mark.parametrize("path", sorted(SWATCHES.glob("*.toml")), ids=lambda path: path.stem)
def test_each_recipe_weighs_what_its_sheet_needs(path):
    recipe, plastic = from_toml(read_text(path), Beside(path)), Plastic.published(180.0)
    sheet = Order(*finished_mm(recipe, 0.0, plastic), trim_mm=0.0)
    weighs = sum(flake.grams for flake in recipe.flakes)
    assert weighs == pytest.approx(tile_g(sheet, plastic).usual, rel=0.01)


def test_the_laid_recipes_lay_their_charge_in_different_places():
    found = [from_toml(path.read_text("utf-8")) for path in LAID]
    places = [{lay.place for lay in recipe.lays} for recipe in found]
    assert places == [{"layer"}, {"border", "throughout", "scatter"}, {"stripes"}]
    assert [to_toml(recipe) for recipe in found] == [to_toml(from_toml(to_toml(recipe))) for recipe in found]
