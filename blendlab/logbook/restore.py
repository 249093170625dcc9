"""Importing an exported log: into an empty log it restores everything, into any other it adds what is new.

An import is read and checked from end to end before anything is written, and then written in one transaction.
What the log already has stays as it is: sheets, movements of the stock, drafts, flakes on the list. Missing
or damaged pictures are put back, also those of sheets that the log already had. Movements have names of their
own, so an export imported twice, or after an undo, counts every gram once. A kept mix whose name the log has
for another one gets a number behind it.
"""

import json
import re
import sqlite3
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any, BinaryIO

from .. import checks
from ..recipe import flake_list
from ..recipe.flake_list import MG, Stocked
from ..recipe.recipe import from_toml
from . import mixes, photos, stock, zip_archive
from .database import writing
from .export import MOVEMENT, PLAIN, Contents, pictures_of
from .logged_sheet import COLUMNS, LoggedSheet, describe, from_row
from .row_reader import Row, Unreadable, read_each
from .sheet_log import enter
from .zip_archive import Archive

_UID = "[0-9a-f]{32}"
_NAMES = re.compile(rf"log\.json|(sheets|stock)\.csv|recipes/{_UID}\.toml|photos/{photos.NAME.pattern}")
_MEASURES = ("length_mm", "width_mm", "thickness_mm", "weight_g")
_MAX_NAME = 1000  # characters: far more than a flake's may have, in case a newer version allows more
_MAX_CHANGE_MG = 10**13  # of one movement; all that fit into a log.json still add up exactly


@dataclass(frozen=True)
class Imported:
    """What an import did.

    Attributes
    ----------
    sheets, flakes, pictures : int
        How many were added (pictures: put back).
    known : int
        Sheets that the log already had; they stay as they are.
    unreadable : tuple of Unreadable
        Sheets among those added that this version cannot read.
    overdrawn : tuple of str
        Flakes of which more was pressed than weighed in.
    """

    sheets: int
    flakes: int
    pictures: int
    known: int
    unreadable: tuple[Unreadable, ...]
    overdrawn: tuple[str, ...]


def import_from(home: Path, file: BinaryIO) -> Imported:
    """Add the contents of a ZIP to the log, or nothing at all.

    InputError where it is not such a ZIP, is damaged or too large, or the log cannot be written; then nothing
    has changed.

    Parameters
    ----------
    file : binary file
        A ZIP that `export.export_to` wrote.
    """
    with zip_archive.opened(file, _NAMES) as found:
        contents = _read(found)
        with writing(home) as log:
            return _add(home, log, contents, found)


def _read(found: Archive) -> Contents:
    """Read and check everything."""
    listed = found.text("stock.csv")  # the headings alone where there are no flakes
    flakes = flake_list.from_csv(listed, complete=False) if listed.count("\n") > 1 else ()
    try:
        whole = json.loads(found.text("log.json"))
        sheets = tuple(_sheet(found, row) for row in whole["sheets"])
        newly, rest = read_each(map(_raw, whole.get("unreadable_sheets", ())), from_row, describe)
        contents = Contents(
            sheets=(*sheets, *newly),
            flakes=flakes,
            movements=_movements(whole, flakes, found.version),
            drafts=tuple((_text(page), _text(text)) for page, text in whole["drafts"]),
            sheet_rows=tuple(unread.row for unread in rest),
            flake_rows=tuple(
                (_text(name), _text(flake)) for name, flake in whole.get("unreadable_flakes", ())
            ),
            mixes=tuple((_text(name), _text(recipe)) for name, recipe in whole.get("mixes", ())),
            lost=tuple(_text(name) for name in whole.get("lost", ())),
        )
        _check(contents)
    except checks.InputError:
        raise
    except (*zip_archive.DAMAGE, TypeError, LookupError, AttributeError) as error:
        zip_archive.refuse(f"a log.json that cannot be read ({error})")
    for name in pictures_of(contents) - set(contents.lost):
        if photos.name_of(found.bytes(f"photos/{name}")) != name:
            zip_archive.refuse("a picture that was altered")
    return contents


def _sheet(found: Archive, row: dict[str, Any]) -> LoggedSheet:
    """Build a sheet from its part of log.json and its recipe."""
    return LoggedSheet(
        pressed_on=date.fromisoformat(row["pressed_on"]),
        recipe=from_toml(found.text(f"recipes/{row['uid']}.toml")),
        programme=tuple(row["programme"]),
        **{name: row[name] for name in PLAIN},
    )


def _raw(row: dict[str, Any]) -> Row:
    """Check a row that the exporting version could not read, as strictly as the log's table does."""
    if not re.fullmatch(_UID, row["uid"]) or row["rating"] not in (None, 1, 2, 3, 4, 5):
        zip_archive.refuse("a log.json that does not fit the log's table")
    for name in COLUMNS:
        value = row[name]
        if name in _MEASURES:
            row[name] = None if value is None else float(value)
        elif name != "rating" and not (value is None and name in ("photo", "picture")):
            _text(value)
    return tuple(row[name] for name in COLUMNS)


def _text(value: object) -> str:
    """Return text that the log can hold; bytes that are not UTF-8 there are lone surrogates here."""
    if not isinstance(value, str):
        zip_archive.refuse(f"{checks.shown(value)} in place of a text")
    value.encode("utf-8", "surrogateescape")
    return value


def _movements(whole: dict[str, Any], flakes: tuple[Stocked, ...], version: int) -> tuple[Row, ...]:
    """Return the movements of the stock; what an older log held at its export counts as bought."""
    if version > 1:
        return tuple(tuple(row) for row in whole["movements"])
    taken: list[Row] = [(f"{uid} {name}", name, -grams_mg, uid) for uid, name, grams_mg in whole["taken"]]
    pressed_mg = Counter[str]()
    for _, name, change_mg, _ in taken:
        pressed_mg[name] -= change_mg
    bought_mg = {flake.name: round(flake.grams * MG) + pressed_mg[flake.name] for flake in flakes}
    if any(name not in bought_mg for name in pressed_mg):
        zip_archive.refuse("a log.json that does not fit its stock.csv")
    opening: list[Row] = [
        (f"opening {mg} {name}", name, mg, None) for name, mg in bought_mg.items() if mg > 0
    ]
    return (*opening, *taken)


def _check(contents: Contents) -> None:
    """Refuse contents that contradict each other."""
    sheets = {*(sheet.uid for sheet in contents.sheets), *(row[-1] for row in contents.sheet_rows)}
    moved = {row[0] for row in contents.movements}
    given = len(contents.sheets) + len(contents.sheet_rows), len(contents.movements)
    if (len(sheets), len(moved)) != given:
        zip_archive.refuse("a sheet or a movement twice")
    sums_mg = Counter[str]()
    if len(dict(contents.mixes)) < len(contents.mixes):
        zip_archive.refuse("a mix twice")
    if any(len(name) > _MAX_NAME for name, _ in contents.mixes):
        zip_archive.refuse("a mix with a name of very many characters")
    for uid, name, change_mg, sheet in contents.movements:
        if max(len(_text(uid)), len(_text(name))) > _MAX_NAME:
            zip_archive.refuse("a movement with a name of very many characters")
        checks.whole("a movement, mg,", change_mg, -_MAX_CHANGE_MG, _MAX_CHANGE_MG, "export the log again")
        if not change_mg or (sheet is not None and sheet not in sheets):
            zip_archive.refuse("a movement of nothing, or for a sheet that is not there")
        sums_mg[name] += change_mg
    if any(round(flake.grams * MG) != max(0, sums_mg[flake.name]) for flake in contents.flakes):
        zip_archive.refuse("a log.json that does not fit its stock.csv")


def _add(home: Path, log: sqlite3.Connection, contents: Contents, found: Archive) -> Imported:
    """Write what is new into an open log."""
    there = {uid for (uid,) in log.execute("SELECT uid FROM sheets")}
    sheets = [sheet for sheet in contents.sheets if sheet.uid not in there]
    rows = [row for row in contents.sheet_rows if row[-1] not in there]
    for sheet in sheets:
        enter(log, sheet)
    for row in rows:
        _insert(log, "sheets", COLUMNS, row)
    flakes = [(flake.name, flake_list.to_csv([replace(flake, grams=0)])) for flake in contents.flakes]
    fresh = stock.off_list(log, [name for name, _ in (*flakes, *contents.flake_rows)])
    for name, flake in (*flakes, *contents.flake_rows):
        if name in fresh:
            _insert(log, "stock", ("name", "flake"), (name, flake))
    moved = _enter_movements(log, contents.movements, found.version)
    for page, text in contents.drafts:
        _insert(log, "drafts", ("page", "text"), (page, text))
    for name, recipe in contents.mixes:
        free = mixes.free_name(log, name, recipe)
        if free is not None:
            _insert(log, "mixes", ("name", "recipe"), (free, recipe))
    known = len(contents.sheets) + len(contents.sheet_rows) - len(sheets) - len(rows)
    return Imported(
        sheets=len(sheets) + len(rows),
        flakes=len(fresh),
        pictures=_put_back(home, log, contents, found),
        known=known,
        unreadable=read_each(rows, from_row, describe)[1],
        overdrawn=tuple(name for name in dict.fromkeys(moved) if stock.on_hand_mg(log, name) < 0),
    )


def _enter_movements(log: sqlite3.Connection, movements: Iterable[Row], version: int) -> list[str]:
    """Enter movements that the log does not have; return the names of the flakes moved.

    An export of the first format does not record purchases. Where the log has movements of a flake, only
    those of sheets are entered, so nothing is bought twice.
    """
    if version == 1:
        opened = {name for (name,) in log.execute("SELECT DISTINCT name FROM movements")}
        movements = [row for row in movements if row[3] is not None or row[1] not in opened]
    moved = [row[1] for row in movements if _insert(log, "movements", MOVEMENT, row)]
    for name in set(moved):
        stock.check_limit(log, name)
    return moved


def _put_back(home: Path, log: sqlite3.Connection, contents: Contents, found: Archive) -> int:
    """Write the pictures that the log names and that are missing or damaged; return their number."""
    named = {name for row in log.execute("SELECT photo, picture FROM sheets") for name in row}
    wanted = sorted((pictures_of(contents) & named) - set(contents.lost))
    return sum(photos.put(home, name, found.bytes(f"photos/{name}")) for name in wanted)


def _insert(log: sqlite3.Connection, table: str, columns: tuple[str, ...], row: Row) -> bool:
    """Insert a row unless its key exists; text is stored as the bytes it came from."""
    places = ", ".join("CAST(? AS TEXT)" if isinstance(value, str) else "?" for value in row)
    values = [value.encode("utf-8", "surrogateescape") if isinstance(value, str) else value for value in row]
    into = f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({places}) ON CONFLICT DO NOTHING"
    return log.execute(into, values).rowcount > 0
