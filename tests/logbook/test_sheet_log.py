import sqlite3
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from blendlab.checks import InputError
from blendlab.logbook import database, drafts, photos, sheet_log, stock
from blendlab.logbook.database import FILE, default_home
from blendlab.recipe.flake_list import Stocked

JPEG, OTHER_JPEG, PNG = b"\xff\xd8\xff one", b"\xff\xd8\xff two", b"\x89PNG\r\n\x1a\n picture"


def as_it_is(content):
    """Stands for the cleaning of pictures, which is tested where it is done."""
    return content


def photo_files(home):
    return {file.name for file in (home / photos.FOLDER).glob("*")}


def test_a_sheet_comes_back_as_it_was_logged(tmp_path, sheet):
    kept = sheet_log.record(tmp_path, sheet, photo=JPEG, picture=PNG, clean=as_it_is)
    found = sheet_log.get(tmp_path, kept.uid)
    assert found == kept
    assert replace(found, uid="", photo=None, picture=None) == sheet
    assert photos.read(tmp_path, found.photo) == JPEG
    assert photos.read(tmp_path, found.picture) == PNG
    assert found.photo.endswith(".jpg")
    assert found.picture.endswith(".png")


def test_pictures_pass_through_the_cleaning(tmp_path, sheet):
    kept = sheet_log.record(tmp_path, sheet, photo=b"with a place", clean=lambda raw: JPEG)
    assert photos.read(tmp_path, kept.photo) == JPEG
    with pytest.raises(InputError, match="the photo must be a JPEG, PNG or WebP file"):
        sheet_log.record(tmp_path, sheet, photo=b"no photo")
    with pytest.raises(InputError, match="a picture must be PNG or JPEG"):
        sheet_log.record(tmp_path, sheet, photo=b"GIF89a", clean=as_it_is)
    assert len(sheet_log.search(tmp_path)) == 1


def test_an_empty_log_is_read_without_being_made(tmp_path):
    home = tmp_path / "not yet"
    assert sheet_log.search(home) == ()
    assert stock.stock(home) == ()
    assert drafts.load(home, "folds") is None
    assert not home.exists()


def test_search_finds_words_and_ratings(tmp_path, sheet):
    older = sheet_log.record(
        tmp_path, replace(sheet, pressed_on=date(2025, 5, 1), rating=None, notes="ÄRGER")
    )
    newer = sheet_log.record(tmp_path, sheet)
    assert sheet_log.search(tmp_path) == (newer, older)
    assert sheet_log.search(tmp_path, "HARBOUR blue") == (newer, older)
    assert sheet_log.search(tmp_path, "ärger") == (older,)
    assert (
        sheet_log.search(tmp_path, "length_mm") == ()
    )  # words of the file format are not words of the maker
    assert sheet_log.search(tmp_path, "%") == ()
    assert sheet_log.search(tmp_path, rating_at_least=4) == (newer,)


def test_amending_changes_one_sheet_and_drops_its_old_photo(tmp_path, sheet):
    first = sheet_log.record(tmp_path, sheet, photo=JPEG, clean=as_it_is)
    other = sheet_log.record(tmp_path, sheet, photo=JPEG, clean=as_it_is)
    amended = sheet_log.amend(
        tmp_path, replace(first, notes="better", rating=5), photo=OTHER_JPEG, clean=as_it_is
    )
    assert sheet_log.get(tmp_path, first.uid) == amended
    assert sheet_log.get(tmp_path, other.uid) == other
    assert photo_files(tmp_path) == {first.photo, amended.photo}
    sheet_log.undo(tmp_path, other.uid)
    assert photo_files(tmp_path) == {amended.photo}
    with pytest.raises(InputError, match="the sheet must be in the log"):
        sheet_log.amend(tmp_path, other)


def test_pressing_takes_from_the_stock_and_undo_puts_back(tmp_path, sheet, flakes):
    stock.put(tmp_path, flakes)
    used = {flake.name: flake.grams for flake in sheet.recipe.flakes}
    kept = sheet_log.record(tmp_path, sheet, take=used)
    grams = {flake.name: flake.grams for flake in stock.stock(tmp_path)}
    assert grams["white"] == pytest.approx(1000.125 - 150.25)
    assert grams["bottle-crate blue"] == pytest.approx(400 - 50.1)
    assert sheet_log.undo(tmp_path, kept.uid).sheet == kept
    assert stock.stock(tmp_path) == flakes
    assert sheet_log.search(tmp_path) == ()
    with pytest.raises(InputError, match="the sheet must be in the log"):
        sheet_log.undo(tmp_path, kept.uid)
    assert stock.stock(tmp_path) == flakes


def test_negative_stock_is_refused_and_nothing_is_logged(tmp_path, sheet, flakes):
    stock.put(tmp_path, flakes)
    with pytest.raises(InputError, match=r"must cover what is taken, got 400 g for 400.1 g; weigh again"):
        sheet_log.record(tmp_path, sheet, take={"white": 100.0, "bottle-crate blue": 400.1})
    assert stock.stock(tmp_path) == flakes
    assert sheet_log.search(tmp_path) == ()
    with pytest.raises(InputError, match="the flake must be in the stock"):
        sheet_log.record(tmp_path, sheet, take={"unheard of": 1.0})
    with pytest.raises(InputError, match="must cover"):
        stock.add(tmp_path, "white", -2000)


def test_stock_changes(tmp_path, flakes):
    stock.put(tmp_path, flakes)
    stock.add(tmp_path, "white", 20.5)
    stock.put(tmp_path, [Stocked("bottle-crate blue", "#203050", grams=7)])
    stock.remove(tmp_path, "=SUM(A1:A9)")
    white, blue = stock.stock(tmp_path)
    assert white.grams == pytest.approx(1020.625)
    assert (blue.srgb, blue.grams, blue.hide_mm) == ("#203050", 7, None)
    with pytest.raises(InputError, match="must be in the stock"):
        stock.remove(tmp_path, "gone")


def test_a_flake_taken_off_the_list_does_not_block_an_undo(tmp_path, sheet, flakes):
    stock.put(tmp_path, flakes)
    kept = sheet_log.record(tmp_path, sheet, take={"white": 100.0, "bottle-crate blue": 10.0})
    stock.remove(tmp_path, "white")
    sheet_log.undo(tmp_path, kept.uid)
    assert {flake.name: flake.grams for flake in stock.stock(tmp_path)}["bottle-crate blue"] == 400


def test_drafts_are_kept_and_forgotten(tmp_path):
    drafts.save(tmp_path, "flakes", "name = 'a'")
    drafts.save(tmp_path, "flakes", "name = 'b'")
    assert drafts.load(tmp_path, "flakes") == "name = 'b'"
    drafts.clear(tmp_path, "flakes")
    assert drafts.load(tmp_path, "flakes") is None
    with pytest.raises(InputError, match="at most 200,000 characters"):
        drafts.save(tmp_path, "flakes", "x" * 200_001)


@pytest.mark.parametrize(
    "text",
    ["", "[1]", "{", '{"a": Infinity}', '{"a": NaN}', '{"a": 1e400}', f'{{"a": {"9" * 400}}}', "[" * 100_000],
)
def test_drafts_that_hold_no_usable_values_are_refused(text):
    with pytest.raises(InputError, match="a draft must hold named values"):
        drafts.values(text)
    assert drafts.values('{"a": 1, "b": [2.5, "c"]}') == {"a": 1, "b": [2.5, "c"]}


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"rating": 6}, "rating must be a whole number from 1 to 5"),
        ({"weight_g": -1.0}, "measured weight_g must be a number from 0"),
        ({"notes": "x" * 10_001}, "notes must be at most 10,000 characters"),
        ({"programme": ("two\nlines",)}, "a programme's line must be one line"),
    ],
)
def test_impossible_sheets_are_refused_in_words(sheet, wrong, words):
    with pytest.raises(InputError, match=words):
        replace(sheet, **wrong)


def test_a_prediction_that_json_cannot_hold_is_refused(tmp_path, sheet):
    with pytest.raises(
        InputError, match="a number in a prediction must be a number from -1e\\+12 to 1e\\+12, got nan"
    ):
        sheet_log.record(tmp_path, replace(sheet, prediction={"mean": float("nan")}))


def test_where_the_log_lives(tmp_path):
    assert default_home({"BLENDLAB_HOME": str(tmp_path)}) == tmp_path
    assert "blendlab" in str(default_home({}))


def test_a_user_without_a_home_keeps_the_log_in_the_present_folder(monkeypatch):
    def no_home(*_, **__):
        raise RuntimeError("could not determine the home directory")

    monkeypatch.setattr(database.platformdirs, "user_data_path", no_home)
    assert default_home({}) == Path("blendlab-log")


def test_foreign_keys_hold(tmp_path, sheet, flakes):
    stock.put(tmp_path, flakes)
    sheet_log.record(tmp_path, sheet, take={"white": 1.0})
    with sqlite3.connect(tmp_path / FILE) as log:
        assert log.execute("PRAGMA foreign_key_check").fetchall() == []
        log.execute("PRAGMA foreign_keys = ON")
        with pytest.raises(sqlite3.IntegrityError):
            log.execute("INSERT INTO movements VALUES ('a', 'white', -5, 'no such sheet')")
    log.close()
