"""The whole log as one ZIP of open formats, and back.

    log.json                sheets, what each took from the stock, drafts: all but what follows
    recipes/UID.toml        the recipe of each sheet, as pressed
    stock.csv               the flake list
    photos/DIGEST.jpg       photos and predicted pictures, or .png
    sheets.csv              one row a sheet for a spreadsheet; an import does not read it
    manifest.toml           the digest of every file

An import is read and checked from end to end before anything is written, and then written in one
transaction. Into an empty log it restores everything as it was; into another it adds the sheets that are
not there yet and the flakes whose names are new.
"""

import json
import re
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import chain
from pathlib import Path
from typing import Any, BinaryIO

from .. import checks
from ..io import spreadsheet
from ..recipe import flake_list
from ..recipe.flake_list import Stocked
from ..recipe.recipe import from_toml, to_toml
from . import photos, stock, zip_archive
from .database import reading, writing
from .sheet_log import LoggedSheet, enter, every
from .zip_archive import Archive

PLAIN = (
    *("uid", "length_mm", "width_mm", "thickness_mm", "weight_g"),
    *("rating", "notes", "prediction", "photo", "picture"),
)  # what of a sheet stands in log.json as it is

_UID = "[0-9a-f]{32}"
_NAMES = re.compile(rf"log\.json|(sheets|stock)\.csv|recipes/{_UID}\.toml|photos/{photos.NAME.pattern}")


@dataclass(frozen=True)
class Contents:
    """What a ZIP holds, or a log: everything but the pictures' bytes."""

    sheets: tuple[LoggedSheet, ...]
    flakes: tuple[Stocked, ...]
    taken: tuple[tuple[str, str, int], ...]
    drafts: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Imported:
    """What an import did.

    Attributes
    ----------
    sheets, flakes : int
        How many were added.
    known : int
        Sheets that were in the log already and were left as they are.
    """

    sheets: int
    flakes: int
    known: int


def export_to(home: Path, file: BinaryIO) -> None:
    """Write the whole log as a ZIP.

    Parameters
    ----------
    home : Path
        The log's folder.
    file : binary file
        Where to; it need not be a file on a disk.

    Raises
    ------
    InputError
        Where the log or one of its pictures cannot be read.
    """
    with reading(home) as log:
        log.execute("BEGIN")  # one moment's view of all tables
        contents = _from_log(log)
    zip_archive.write(file, chain(_texts(contents), _pictures(home, contents)))


def import_from(home: Path, file: BinaryIO) -> Imported:
    """Add what a ZIP holds to the log, or nothing at all.

    Parameters
    ----------
    home : Path
        The log's folder.
    file : binary file
        A ZIP that `export_to` wrote.

    Returns
    -------
    Imported

    Raises
    ------
    InputError
        Where it is no such ZIP, is damaged or too large, or the log cannot be written; then nothing has
        changed.
    """
    with zip_archive.opened(file, _NAMES) as found:
        contents = _from_archive(found)
        with writing(home) as log:
            return _add(home, log, contents, found)


def _from_log(log: sqlite3.Connection) -> Contents:
    """Read everything from an open log."""
    return Contents(
        sheets=every(log),
        flakes=stock.of(log),
        taken=tuple(log.execute("SELECT uid, name, grams_mg FROM taken ORDER BY rowid")),
        drafts=tuple(log.execute("SELECT page, text FROM drafts ORDER BY rowid")),
    )


def _texts(contents: Contents) -> Iterator[tuple[str, bytes]]:
    """Write all that is text, as names and bytes."""
    sheets = [
        {name: getattr(sheet, name) for name in PLAIN}
        | {"pressed_on": sheet.pressed_on.isoformat(), "programme": list(sheet.programme)}
        for sheet in contents.sheets
    ]
    whole = {"sheets": sheets, "taken": contents.taken, "drafts": contents.drafts}
    texts = {
        "log.json": json.dumps(whole, ensure_ascii=False, indent=1, sort_keys=True, allow_nan=False),
        "stock.csv": flake_list.to_csv(contents.flakes),
        "sheets.csv": _table(contents.sheets),
    }
    texts |= {f"recipes/{sheet.uid}.toml": to_toml(sheet.recipe) for sheet in contents.sheets}
    for name, text in texts.items():
        yield name, text.encode("utf-8")


def _table(sheets: tuple[LoggedSheet, ...]) -> str:
    """Write one row a sheet, for whoever opens the ZIP without blendlab."""
    plain = [name for name in PLAIN if name != "prediction"]
    rows = [
        (sheet.pressed_on.isoformat(), sheet.recipe.name, *(getattr(sheet, name) for name in plain))
        for sheet in sheets
    ]
    return spreadsheet.write(("pressed_on", "name", *plain), rows)


def _pictures(home: Path, contents: Contents) -> Iterator[tuple[str, bytes]]:
    """Read every picture that a sheet names, once."""
    named = dict.fromkeys(name for s in contents.sheets for name in (s.photo, s.picture) if name)
    for name in named:
        yield f"photos/{name}", photos.read(home, name)


def _from_archive(found: Archive) -> Contents:
    """Read and check everything but the pictures."""
    flakes = () if _is_empty(found) else flake_list.from_csv(found.text("stock.csv"))
    try:
        whole = json.loads(found.text("log.json"))
        sheets = tuple(_sheet(found, row) for row in whole["sheets"])
        taken = tuple((str(uid), str(name), int(grams_mg)) for uid, name, grams_mg in whole["taken"])
        drafts = tuple((str(page), str(text)) for page, text in whole["drafts"])
    except checks.InputError:
        raise
    except (*zip_archive.DAMAGE, TypeError, KeyError) as error:
        zip_archive.refuse(f"a log.json that cannot be read ({error})")
    uids, known = {sheet.uid for sheet in sheets}, {flake.name for flake in flakes}
    if len(uids) < len(sheets) or len({part[:2] for part in taken}) < len(taken):
        zip_archive.refuse("a sheet twice")
    if not all(uid in uids and name in known and grams_mg > 0 for uid, name, grams_mg in taken):
        zip_archive.refuse("a log.json that does not fit its stock.csv")
    return Contents(sheets, flakes, taken, drafts)


def _is_empty(found: Archive) -> bool:
    """Tell whether the flake list holds nothing below its headings."""
    return found.text("stock.csv").count("\n") <= 1


def _sheet(found: Archive, row: dict[str, Any]) -> LoggedSheet:
    """Build one sheet from its part of log.json and its recipe."""
    for name in (row["photo"], row["picture"]):
        if name is not None and f"photos/{name}" not in found.names:
            zip_archive.refuse(f"no photos/{name}")
    return LoggedSheet(
        pressed_on=date.fromisoformat(row["pressed_on"]),
        recipe=from_toml(found.text(f"recipes/{row['uid']}.toml")),
        programme=tuple(row["programme"]),
        **{name: row[name] for name in PLAIN},
    )


def _add(home: Path, log: sqlite3.Connection, contents: Contents, found: Archive) -> Imported:
    """Write what is new into an open log."""
    there = {uid for (uid,) in log.execute("SELECT uid FROM sheets")}
    stocked = {flake.name for flake in stock.of(log)}
    sheets = [sheet for sheet in contents.sheets if sheet.uid not in there]
    flakes = [flake for flake in contents.flakes if flake.name not in stocked]
    for name in dict.fromkeys(name for s in sheets for name in (s.photo, s.picture) if name):
        content = found.bytes(f"photos/{name}")
        if photos.name_of(content) != name:
            zip_archive.refuse(f"an altered photos/{name}")
        photos.put(home, name, content)
    for sheet in sheets:
        enter(log, sheet)
    stock.enter(log, flakes)
    fresh_sheets, fresh_flakes = {sheet.uid for sheet in sheets}, {flake.name for flake in flakes}
    taken = [part for part in contents.taken if part[0] in fresh_sheets and part[1] in fresh_flakes]
    log.executemany("INSERT INTO taken (uid, name, grams_mg) VALUES (?, ?, ?)", taken)
    log.executemany("INSERT OR IGNORE INTO drafts (page, text) VALUES (?, ?)", contents.drafts)
    return Imported(len(sheets), len(flakes), len(contents.sheets) - len(sheets))
