"""A logged sheet cut up: a flake on the list that remembers its sheet, in the log and out of it."""

import io
from dataclasses import replace
from datetime import date

import pytest

from blendlab.checks import InputError
from blendlab.logbook import cut_up, export, mixes, restore, sheet_log, stock
from blendlab.logbook.sheet_log import LoggedSheet
from blendlab.recipe.flake_list import Stocked, charge, from_csv, to_csv
from blendlab.recipe.offcut import Offcut
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

FLAKES = (Flake("chalk", "#f2f0e8", 60), Flake("blue", "#1d4f8f", 25))
STRIP = Recipe("Strip", Sheet(80, 60, 5), FLAKES, Folding(folds=3))
SHEET = LoggedSheet(date(2026, 3, 14), STRIP)
OLD_STRIP = Offcut(STRIP, 3)


def pieces(grams=40.0, side=15.0, name="pieces of Strip", sheet=SHEET):
    return cut_up.pieces_of(sheet, name, grams, side)


def test_pieces_remember_the_sheet_its_folds_and_their_size(tmp_path):
    cut_up.put(tmp_path, pieces())
    (found,) = stock.stock(tmp_path)
    assert found == pieces()
    assert found.cut_from == OLD_STRIP
    assert (found.grams, found.size_mm) == (40.0, (15.0, 15.0, 5.0))
    assert found.source == "Strip, pressed on 2026-03-14"


def test_the_same_pieces_add_up_and_another_flake_of_that_name_is_kept(tmp_path):
    for grams in (40.0, 2.5):
        cut_up.put(tmp_path, pieces(grams))
    assert stock.stock(tmp_path)[0].grams == 42.5
    with pytest.raises(InputError, match="offcuts need a name of their own, got 'pieces of Strip'; another"):
        cut_up.put(tmp_path, pieces(side=30.0))
    assert stock.stock(tmp_path)[0].grams == 42.5


@pytest.mark.parametrize(
    ("sheet", "grams"),
    [
        (SHEET, 85.0),  # what went in
        (replace(SHEET, prediction={"cold_g": 80.5}), 80.5),
        (replace(SHEET, prediction={"cold_g": 80.5}, weight_g=79.0), 79.0),
        (replace(SHEET, prediction={"cold_g": "eighty"}), 85.0),
    ],
    ids=["grams", "predicted", "weighed", "unreadable"],
)
def test_what_may_be_left_is_the_weight_that_is_known_best(sheet, grams):
    assert cut_up.left_g(sheet) == grams


def test_pressing_pieces_takes_their_grams(tmp_path):
    cut_up.put(tmp_path, pieces())
    stock.put(tmp_path, [Stocked("white", "#ffffff", grams=100)])
    new = Recipe(
        "New", Sheet(80, 60, 5), charge(stock.stock(tmp_path), {"white": 30.0, "pieces of Strip": 25.0})
    )
    assert new.flakes[1].cut_from == OLD_STRIP
    logged = sheet_log.record(tmp_path, LoggedSheet(date(2026, 4, 1), new), take={"pieces of Strip": 25.0})
    assert stock.stock(tmp_path)[0].grams == 15.0
    assert sheet_log.get(tmp_path, logged.uid).recipe == new  # the older recipe with it
    assert cut_up.pieces_of(logged, "older still", 5.0, 10.0).cut_from.depth == 2
    sheet_log.undo(tmp_path, logged.uid)
    assert stock.stock(tmp_path)[0].grams == 40.0


def test_an_export_and_its_import_bring_pieces_mixes_and_sheets_along(tmp_path):
    here, there = tmp_path / "here", tmp_path / "there"
    cut_up.put(here, pieces())
    new = Recipe("New", Sheet(80, 60, 5), charge(stock.stock(here), {"pieces of Strip": 25.0}))
    sheet_log.record(here, LoggedSheet(date(2026, 4, 1), new), take={"pieces of Strip": 25.0})
    mixes.keep(here, new)
    file = io.BytesIO()
    export.export_to(here, file)
    restore.import_from(there, file)
    assert stock.stock(there) == stock.stock(here)
    assert [sheet.recipe for sheet in sheet_log.search(there)] == [new]
    assert mixes.every(there)[0] == mixes.every(here)[0] == (new,)


def test_a_list_with_pieces_reads_back_the_same():
    listed = (pieces(), Stocked("shards", "#14409a", grams=5.5, size_mm=(30.0, 12.5, 3.0)))
    assert from_csv(to_csv(listed)) == listed


@pytest.mark.parametrize(
    ("columns", "cells", "says"),
    [
        ("size_mm", "20 x 20", "line 2: size_mm of flake 'chips' must be three numbers, got"),
        (
            "size_mm",
            "20 x wide x 6",
            "line 2: each side in size_mm must be a number, got ' wide '; write length",
        ),
        ("from", "folds = 3", "line 2: "),
        (
            "from",
            '"folds = 3\nrecipe = ""old.toml"""',
            "line 3: a recipe read by itself must hold those of its",
        ),
    ],
)
def test_a_list_with_faulty_pieces_is_refused_by_its_line(columns, cells, says):
    with pytest.raises(InputError) as refused:
        from_csv(f"name,srgb,{columns}\nchips,#808080,{cells}\n")
    assert str(refused.value).startswith(says)


def test_what_is_cut_up_must_weigh_something():
    with pytest.raises(
        InputError, match="grams that are cut up must be a number above 0, got 0; weigh what is left"
    ):
        pieces(0)
