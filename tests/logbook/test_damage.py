"""Damage by other programs, newer versions and accidents: nothing is lost and everything else still works."""

import io
import json
import os
import sqlite3
import zipfile
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from blendlab.checks import InputError
from blendlab.logbook import database, drafts, photos, sheet_log, stock, zip_archive
from blendlab.logbook.export import export_to
from blendlab.logbook.restore import import_from
from blendlab.recipe.flake_list import Stocked

JPEG, OTHER_JPEG, PNG = b"\xff\xd8\xff one", b"\xff\xd8\xff two", b"\x89PNG\r\n\x1a\n picture"


def recorded(home, sheet, photo=JPEG, **given):
    return sheet_log.record(home, sheet, photo=photo, picture=PNG, clean=bytes, **given)


def exported(home):
    file = io.BytesIO()
    return export_to(home, file), file


def change(home, statement, *values):
    """Change the log without the program."""
    with closing(sqlite3.connect(home / database.FILE)) as log:
        log.execute(statement, values)
        log.commit()


def rows(home, table):
    with database.reading(home) as log:
        return log.execute(f"SELECT * FROM {table} ORDER BY rowid").fetchall()


# --- files of the maker's own in the photo folder


def test_only_files_named_by_the_program_are_removed(tmp_path, sheet):
    kept = recorded(tmp_path, sheet)
    folder = tmp_path / photos.FOLDER
    own = ["holiday.jpg", "IMG_0001.JPG", "notes.txt", ".hidden", f"{'a' * 64}.gif", f"copy {'a' * 64}.jpg"]
    for name in own:
        (folder / name).write_bytes(b"mine")
    (folder / "more").mkdir()
    crumbs = [f"{'a' * 64}.jpg", f".blendlab-{'0' * 16}.part"]
    for name in crumbs:
        (folder / name).write_bytes(b"left by a crash")
    sheet_log.amend(tmp_path, replace(kept, notes="again"), photo=OTHER_JPEG, clean=bytes)
    sheet_log.undo(tmp_path, kept.uid)
    assert sorted(file.name for file in folder.iterdir()) == sorted([*own, "more"])


@pytest.mark.parametrize("photo", [None, OTHER_JPEG])
def test_the_change_stands_where_tidying_fails(tmp_path, sheet, photo):
    """A folder with such a name cannot be removed; the change before it is kept nevertheless."""
    kept = recorded(tmp_path, sheet)
    (tmp_path / photos.FOLDER / f"{'a' * 64}.jpg").mkdir()
    amended = sheet_log.amend(tmp_path, replace(kept, notes="new"), photo=photo, clean=bytes)
    assert sheet_log.get(tmp_path, kept.uid) == amended
    assert sheet_log.undo(tmp_path, kept.uid).sheet == amended
    assert sheet_log.search(tmp_path) == ()


def test_the_change_stands_where_tidying_cannot_open_the_log(tmp_path, sheet, monkeypatch):
    kept = recorded(tmp_path, sheet)

    def locked(home):
        raise InputError("the log must be writable, got database is locked")

    monkeypatch.setattr(photos, "writing", locked)
    assert sheet_log.undo(tmp_path, kept.uid).sheet == kept
    assert sheet_log.search(tmp_path) == ()


# --- pictures that are missing or damaged


def test_a_changed_photo_is_named_and_the_rest_is_exported(tmp_path, sheet):
    home, new = tmp_path / "home", tmp_path / "new"
    kept = recorded(home, sheet)
    other = recorded(home, sheet, photo=OTHER_JPEG)
    (home / photos.FOLDER / kept.photo).write_bytes(JPEG + b" edited")
    done, file = exported(home)
    assert done.left_out == ("the photo of 'Harbour tile', 2026-03-14, was changed by another program",)
    assert import_from(new, file).sheets == 2
    assert sheet_log.search(new) == sheet_log.search(home)
    assert photos.read(new, other.photo) == OTHER_JPEG
    with pytest.raises(InputError, match="in the folder photos, got one that is missing; bring in an export"):
        photos.read(new, kept.photo)
    again, _ = exported(new)
    assert again.left_out == ("the photo of 'Harbour tile', 2026-03-14, is missing",)


def test_a_missing_picture_does_not_block_exports(tmp_path, sheet):
    kept = recorded(tmp_path, sheet)
    (tmp_path / photos.FOLDER / kept.photo).unlink()
    (tmp_path / photos.FOLDER / kept.picture).unlink()
    done, file = exported(tmp_path)
    assert done.left_out == (
        "the photo of 'Harbour tile', 2026-03-14, is missing",
        "the predicted picture of 'Harbour tile', 2026-03-14, is missing",
    )
    with zipfile.ZipFile(file) as found:
        assert not [name for name in found.namelist() if name.startswith("photos/")]


def test_an_import_puts_back_missing_and_damaged_pictures_of_known_sheets(tmp_path, sheet):
    kept = recorded(tmp_path, sheet)
    _, file = exported(tmp_path)
    (tmp_path / photos.FOLDER / kept.photo).unlink()
    (tmp_path / photos.FOLDER / kept.picture).write_bytes(PNG[:-3])
    done = import_from(tmp_path, file)
    assert (done.sheets, done.known, done.pictures) == (0, 1, 2)
    assert photos.read(tmp_path, kept.photo) == JPEG
    assert photos.read(tmp_path, kept.picture) == PNG
    assert import_from(tmp_path, file).pictures == 0


@pytest.mark.parametrize("link", [False, True])
def test_a_picture_does_not_replace_a_folder_or_a_link(tmp_path, sheet, link):
    kept = recorded(tmp_path, sheet)
    _, file = exported(tmp_path)
    place = tmp_path / photos.FOLDER / kept.photo
    place.unlink()
    if link:
        place.symlink_to(tmp_path / "elsewhere.jpg")
    else:
        place.mkdir()
    with pytest.raises(InputError, match="got a folder or a link in the place of one; move it out of"):
        import_from(tmp_path, file)
    assert place.is_symlink() == link
    assert not (tmp_path / "elsewhere.jpg").exists()


def test_an_import_brings_no_picture_that_no_sheet_names(tmp_path, sheet):
    kept = recorded(tmp_path, sheet)
    _, file = exported(tmp_path)
    sheet_log.amend(tmp_path, kept, photo=OTHER_JPEG, clean=bytes)
    assert import_from(tmp_path, file).pictures == 0
    assert not (tmp_path / photos.FOLDER / kept.photo).exists()


def test_a_photo_logged_again_replaces_its_damaged_file(tmp_path, sheet):
    kept = recorded(tmp_path, sheet)
    (tmp_path / photos.FOLDER / kept.photo).write_bytes(b"")
    assert photos.load(tmp_path, kept.photo)[1] == "was changed by another program"
    sheet_log.amend(tmp_path, kept, photo=JPEG, clean=bytes)
    assert photos.load(tmp_path, kept.photo) == (JPEG, "")


# --- rows that cannot be read

DEEP = "[" * 100_000
UNREADABLE = {
    "newer key in the recipe": ("recipe", 'glitter = 3\nname = "Tile"\n'),
    "no recipe at all": ("recipe", ""),
    "no day": ("pressed_on", "soon"),
    "prediction of another kind": ("prediction", "[]"),
    "prediction that is not JSON": ("prediction", "{"),
    "infinite prediction": ("prediction", '{"cold_g": Infinity}'),
    "number of 400 digits": ("prediction", '{"cold_g": ' + "9" * 400 + "}"),
    "number of 5,000 digits": ("prediction", '{"cold_g": ' + "9" * 5000 + "}"),
    "deep nest": ("prediction", '{"a": ' + DEEP),
    "nest that can be parsed": ("prediction", '{"a": ' + "[" * 90 + "]" * 90 + "}"),
    "infinite weight": ("weight_g", float("inf")),
    "text that is not UTF-8": ("notes", b"caf\xe9"),
    "a picture of another name": ("photo", "../../etc/passwd"),
}


@pytest.mark.parametrize("damage", UNREADABLE)
def test_one_unreadable_sheet_locks_nothing_and_is_exported_as_is(tmp_path, sheet, flakes, damage):
    home, new = tmp_path / "home", tmp_path / "new"
    stock.put(home, flakes)
    kept = recorded(home, sheet, take={"white": 100.0})
    bad = recorded(home, sheet, photo=OTHER_JPEG, take={"white": 50.0})
    column, value = UNREADABLE[damage]
    value_as = "CAST(? AS TEXT)" if isinstance(value, bytes) else "?"
    change(home, f"UPDATE sheets SET {column} = {value_as} WHERE uid = ?", value, bad.uid)
    assert sheet_log.search(home) == (kept,)
    (unread,) = sheet_log.unreadable(home)
    assert unread.what.startswith("the sheet of ")
    assert unread.reason
    with pytest.raises(InputError, match="must be readable by this blendlab, got "):
        sheet_log.undo(home, bad.uid)
    assert sheet_log.record(home, sheet) in sheet_log.search(home)
    done, file = exported(home)
    assert [part.what for part in done.unreadable] == [unread.what]
    brought = import_from(new, file)
    assert (brought.sheets, len(brought.unreadable)) == (3, 1)
    assert sorted(rows(new, "sheets"), key=str) == sorted(rows(home, "sheets"), key=str)
    assert stock.stock(new) == stock.stock(home)
    assert {file.name for file in (new / photos.FOLDER).iterdir()} >= {kept.photo, kept.picture}
    again, _ = exported(new)
    assert again.unreadable == done.unreadable
    assert import_from(home, file).known == 3


def test_an_unreadable_sheet_is_named_by_its_day_and_recipe(tmp_path, sheet):
    bad = recorded(tmp_path, sheet)
    change(tmp_path, "UPDATE sheets SET recipe = 'glitter = 1' || char(10) || recipe WHERE uid = ?", bad.uid)
    (unread,) = sheet_log.unreadable(tmp_path)
    assert unread.what == "the sheet of 2026-03-14, 'Harbour tile'"
    assert unread.reason.startswith("a recipe takes only known keys, got 'glitter'")


def test_a_version_that_can_read_a_sheet_does_so_after_an_import(tmp_path, sheet):
    """The text that an older version could not read comes in as a sheet where it can be read."""
    home, new = tmp_path / "home", tmp_path / "new"
    bad = recorded(home, sheet)
    change(home, "UPDATE sheets SET prediction = '{\"a\": Infinity}'")
    _, file = exported(home)
    out = io.BytesIO()
    with zipfile.ZipFile(file) as found:
        files = {name: found.read(name) for name in found.namelist() if name != "manifest.toml"}
    files["log.json"] = files["log.json"].replace(b"Infinity", b"1.0")
    zip_archive.write(out, files.items())
    assert import_from(new, out).unreadable == ()
    assert sheet_log.get(new, bad.uid) == replace(bad, prediction={"a": 1.0})


def test_one_unreadable_flake_locks_nothing_and_is_exported_as_is(tmp_path, flakes):
    home, new = tmp_path / "home", tmp_path / "new"
    stock.put(home, flakes)
    change(
        home,
        "UPDATE stock SET flake = 'name,srgb,glitter' || char(10) || 'white,#f2f0e8,3' WHERE name = 'white'",
    )
    assert stock.stock(home) == flakes[1:]
    (unread,) = stock.unreadable(home)
    assert unread.what == "flake 'white'"
    assert "glitter" in unread.reason
    done, file = exported(home)
    assert done.unreadable == (unread,)
    import_from(new, file)
    assert rows(new, "stock") != []
    assert sorted(rows(new, "stock")) == sorted(rows(home, "stock"))
    assert rows(new, "movements") == rows(home, "movements")
    stock.put(new, flakes)  # entered again, it can be read
    assert set(stock.stock(new)) == set(flakes)


@pytest.mark.parametrize("text", ['{"plate_c": Infinity}', DEEP, "9" * 400, "caf\udce9"])
def test_any_draft_goes_out_and_comes_back(tmp_path, text):
    home, new = tmp_path / "home", tmp_path / "new"
    drafts.save(home, "press", "{}")
    raw = text.encode("utf-8", "surrogateescape")
    change(home, "UPDATE drafts SET text = CAST(? AS TEXT)", raw)
    assert drafts.load(home, "press") == text
    _, file = exported(home)
    import_from(new, file)
    assert drafts.load(new, "press") == text


# --- the stock after undo, import, removal


def grams(home):
    return {flake.name: flake.grams for flake in stock.stock(home)}


def test_a_sheet_brought_back_takes_its_grams_again(tmp_path, sheet, flakes):
    stock.put(tmp_path, flakes)
    kept = recorded(tmp_path, sheet, take={"white": 50.0})
    _, file = exported(tmp_path)
    sheet_log.undo(tmp_path, kept.uid)
    assert grams(tmp_path)["white"] == 1000.125
    import_from(tmp_path, file)
    assert grams(tmp_path)["white"] == 950.125
    import_from(tmp_path, file)
    assert grams(tmp_path)["white"] == 950.125


def test_a_flake_removed_and_entered_again_gets_back_what_an_undo_returns(tmp_path, sheet, flakes):
    stock.put(tmp_path, flakes)
    kept = recorded(tmp_path, sheet, take={"white": 50.0})
    stock.remove(tmp_path, "white")
    stock.put(tmp_path, [Stocked("white", "#ffffff", grams=950.125)])
    assert sheet_log.undo(tmp_path, kept.uid).back_g == {"white": 50.0}
    assert grams(tmp_path)["white"] == 1000.125


def test_an_undo_says_which_flakes_are_off_the_list(tmp_path, sheet, flakes):
    stock.put(tmp_path, flakes)
    kept = recorded(tmp_path, sheet, take={"white": 50.0, "bottle-crate blue": 10.0})
    stock.remove(tmp_path, "white")
    done = sheet_log.undo(tmp_path, kept.uid)
    assert done.off_list == ("white",)
    assert grams(tmp_path) == {"bottle-crate blue": 400, "=SUM(A1:A9)": 0.001}


def test_more_pressed_than_weighed_in_is_reported_and_settled_by_weighing(tmp_path, sheet, flakes):
    stock.put(tmp_path, flakes)
    kept = recorded(tmp_path, sheet, take={"white": 600.0})
    _, file = exported(tmp_path)
    sheet_log.undo(tmp_path, kept.uid)
    recorded(tmp_path, sheet, take={"white": 1000.0})
    assert import_from(tmp_path, file).overdrawn == ("white",)
    assert stock.overdrawn(tmp_path) == {"white": 599.875}
    assert grams(tmp_path)["white"] == 0
    stock.add(tmp_path, "white", 700)
    assert stock.overdrawn(tmp_path) == {}
    assert grams(tmp_path)["white"] == 100.125
    stock.put(tmp_path, [Stocked("white", "#ffffff", grams=30)])
    assert grams(tmp_path)["white"] == 30


def test_an_undo_beyond_what_a_list_holds_is_refused_whole(tmp_path, sheet, flakes):
    stock.put(tmp_path, flakes)
    kept = recorded(tmp_path, sheet, take={"white": 50.0})
    stock.put(tmp_path, [Stocked("white", "#ffffff", grams=1e7)])
    with pytest.raises(InputError, match=r"'white' must stay below 10,000,000 g, got 10,000,050 g; correct"):
        sheet_log.undo(tmp_path, kept.uid)
    assert sheet_log.search(tmp_path) == (kept,)
    assert grams(tmp_path)["white"] == 1e7


# --- the log's file


@pytest.mark.parametrize(
    ("statements", "words"),
    [
        (["PRAGMA user_version = 0"], "tables without the version of their schema"),
        (["PRAGMA user_version = 3"], "table movements already exists"),
        (["DROP TABLE movements"], "no such table: movements"),
    ],
)
def test_tables_changed_by_hand_are_reported(tmp_path, sheet, statements, words):
    stock.put(tmp_path, [Stocked("white", "#ffffff", grams=30)])
    recorded(tmp_path, sheet)
    for statement in statements:
        change(tmp_path, statement)
    with pytest.raises(InputError) as refusal:
        sheet_log.record(tmp_path, sheet, take={"white": 1.0})
    assert str(refusal.value).startswith("the log must be as blendlab wrote it, got ")
    assert words in str(refusal.value)
    assert "move it away and bring in an export" in str(refusal.value)


def test_a_newer_log_with_other_tables_is_not_called_damaged(tmp_path, sheet):
    recorded(tmp_path, sheet)
    change(tmp_path, "PRAGMA user_version = 99")
    change(tmp_path, "ALTER TABLE movements RENAME TO ledger")
    assert len(sheet_log.search(tmp_path)) == 1
    with pytest.raises(
        InputError, match=r"a schema that this blendlab knows, up to \d+, got 99; update blendlab"
    ):
        stock.stock(tmp_path)


def test_a_home_folder_is_found_by_its_tilde(monkeypatch, tmp_path):
    monkeypatch.setenv("HOME", str(tmp_path))
    assert database.default_home({"BLENDLAB_HOME": "~/x"}) == tmp_path / "x"
    assert database.default_home({"BLENDLAB_HOME": "~no-such-user/x"}) == Path("~no-such-user/x")


def test_a_clock_set_back_an_hour_loses_nothing(tmp_path, sheet, flakes):
    """All files seem to come from the future, as after a clock has been set back."""
    stock.put(tmp_path, flakes)
    kept = recorded(tmp_path, sheet, take={"white": 50.0})
    for file in tmp_path.rglob("*"):
        ahead = file.stat().st_mtime + 3600
        os.utime(file, (ahead, ahead))
    later = recorded(tmp_path, sheet, photo=OTHER_JPEG, take={"white": 25.0})
    assert sheet_log.search(tmp_path) == (later, kept)
    amended = sheet_log.amend(tmp_path, replace(kept, notes="new"))
    _, file = exported(tmp_path)
    import_from(tmp_path / "new", file)
    assert sheet_log.search(tmp_path / "new") == (later, amended)
    assert grams(tmp_path)["white"] == 925.125
    assert json.loads(zipfile.ZipFile(file).read("log.json"))["lost"] == []
