"""The whole log as one ZIP of open formats.

    photos/DIGEST.jpg       photos and predicted pictures, or .png
    log.json                sheets, movements of the stock, kept mixes and drafts: all but what follows
    recipes/UID.toml        the recipe of each sheet, as pressed
    stock.csv               the flake list
    sheets.csv              one row per sheet for a spreadsheet; an import does not read it
    manifest.toml           the digest of every file

What cannot be exported is named and does not hold up the rest: a missing or damaged picture is left out, and
a sheet or flake that this version cannot read is exported as the text it is.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from math import isfinite
from pathlib import Path
from typing import Any, BinaryIO

from .. import checks
from ..io import spreadsheet
from ..recipe import flake_list
from ..recipe.flake_list import Stocked
from ..recipe.recipe import to_toml
from . import photos, stock, zip_archive
from .database import reading
from .logged_sheet import COLUMNS, LoggedSheet
from .row_reader import Row, Unreadable
from .sheet_log import every

PLAIN = (
    *("uid", "length_mm", "width_mm", "thickness_mm", "weight_g"),
    *("rating", "notes", "prediction", "photo", "picture"),
)  # what log.json holds of a sheet unchanged
MOVEMENT = ("uid", "name", "change_mg", "sheet")


@dataclass(frozen=True)
class Contents:
    """What a log or a ZIP holds, apart from the bytes of the pictures.

    Attributes
    ----------
    sheets : tuple of LoggedSheet
        In the order they were logged.
    flakes : tuple of Stocked
        The list, in the order it was entered.
    movements : tuple of tuple
        Rows of `MOVEMENT`.
    drafts : tuple of (str, str)
        Page and text.
    sheet_rows : tuple of tuple
        Rows of `COLUMNS` that this version cannot read.
    flake_rows : tuple of (str, str)
        Name and description of flakes that this version cannot read.
    mixes : tuple of (str, str)
        Name and recipe, in the order they were kept.
    lost : tuple of str
        Names of pictures that could not be exported.
    """

    sheets: tuple[LoggedSheet, ...]
    flakes: tuple[Stocked, ...]
    movements: tuple[Row, ...]
    drafts: tuple[tuple[str, str], ...]
    sheet_rows: tuple[Row, ...] = ()
    flake_rows: tuple[tuple[str, str], ...] = ()
    mixes: tuple[tuple[str, str], ...] = ()
    lost: tuple[str, ...] = ()


@dataclass(frozen=True)
class Exported:
    """What an export could not do.

    Attributes
    ----------
    left_out : tuple of str
        Pictures that were left out, each with the reason.
    unreadable : tuple of Unreadable
        Sheets and flakes that were exported as they are.
    """

    left_out: tuple[str, ...]
    unreadable: tuple[Unreadable, ...]


def export_to(home: Path, file: BinaryIO) -> Exported:
    """Write the whole log as a ZIP.

    InputError where the log cannot be read.

    Parameters
    ----------
    file : binary file
        Where to write; it need not be on a disk.
    """
    with reading(home) as log:
        log.execute("BEGIN")  # a consistent view of all tables
        (sheets, sheet_rest), (flakes, flake_rest) = every(log), stock.of(log)
        contents = Contents(
            sheets,
            flakes,
            movements=tuple(log.execute(f"SELECT {', '.join(MOVEMENT)} FROM movements ORDER BY rowid")),
            drafts=tuple(log.execute("SELECT page, text FROM drafts ORDER BY rowid")),
            sheet_rows=tuple(rest.row for rest in sheet_rest),
            flake_rows=tuple(rest.row[:2] for rest in flake_rest),
            mixes=tuple(log.execute("SELECT name, recipe FROM mixes ORDER BY rowid")),
        )
    owners = _owners(contents.sheets, sheet_rest)
    lost: dict[str, str] = {}
    # Pictures go first, because log.json names those that are lost.
    zip_archive.write(file, chain(_pictures(home, owners, lost), _texts(contents, lost)))
    left_out = tuple(f"{owner} {lost[name]}" for name in lost for owner in owners[name])
    return Exported(left_out, (*sheet_rest, *flake_rest))


def pictures_of(contents: Contents) -> frozenset[str]:
    """Return the names of all pictures that the sheets name."""
    named = {name for sheet in contents.sheets for name in (sheet.photo, sheet.picture) if name}
    columns = [COLUMNS.index(name) for name in ("photo", "picture")]
    raw = {row[column] for row in contents.sheet_rows for column in columns if row[column]}
    return frozenset(named | {name for name in raw if photos.NAME.fullmatch(name)})


def _owners(sheets: tuple[LoggedSheet, ...], rest: tuple[Unreadable, ...]) -> dict[str, list[str]]:
    """Return what each picture shows, in words, by the picture's name."""
    owners: dict[str, list[str]] = {}
    for sheet in sheets:
        of = f"of {checks.shown(sheet.recipe.name)}, {sheet.pressed_on.isoformat()},"
        for name, kind in ((sheet.photo, "photo"), (sheet.picture, "predicted picture")):
            if name:
                owners.setdefault(name, []).append(f"the {kind} {of}")
    for unread in rest:
        for name in pictures_of(Contents((), (), (), (), sheet_rows=(unread.row,))):
            owners.setdefault(name, []).append(f"a picture of {unread.what},")
    return owners


def _pictures(home: Path, owners: dict[str, list[str]], lost: dict[str, str]) -> Iterator[tuple[str, bytes]]:
    """Read every picture once; enter those that are missing or damaged in `lost`, with the reason."""
    for name in owners:
        content, wrong = photos.load(home, name)
        if wrong:
            lost[name] = wrong
        else:
            yield f"photos/{name}", content


def _texts(contents: Contents, lost: dict[str, str]) -> Iterator[tuple[str, bytes]]:
    """Yield name and content of each text file."""
    whole: dict[str, Any] = {
        "sheets": [
            {name: getattr(sheet, name) for name in PLAIN}
            | {"pressed_on": sheet.pressed_on.isoformat(), "programme": list(sheet.programme)}
            for sheet in contents.sheets
        ],
        "movements": contents.movements,
        "drafts": contents.drafts,
        "mixes": contents.mixes,
        "unreadable_sheets": [
            dict(zip(COLUMNS, map(_finite, row), strict=True)) for row in contents.sheet_rows
        ],
        "unreadable_flakes": contents.flake_rows,
        "lost": list(lost),
    }
    log = json.dumps(whole, ensure_ascii=False, indent=1, sort_keys=True, allow_nan=False)
    yield "log.json", log.encode("utf-8", "backslashreplace")  # damaged text, as JSON escapes it
    yield "stock.csv", flake_list.to_csv(contents.flakes).encode()
    yield "sheets.csv", _table(contents.sheets).encode()
    for sheet in contents.sheets:
        yield f"recipes/{sheet.uid}.toml", to_toml(sheet.recipe).encode()


def _finite(value: object) -> object:
    """Return a value that JSON can hold: a number that is not finite becomes text."""
    return str(value) if isinstance(value, float) and not isfinite(value) else value


def _table(sheets: tuple[LoggedSheet, ...]) -> str:
    """Write one row per sheet, for a reader of the ZIP who has no blendlab."""
    plain = [name for name in PLAIN if name != "prediction"]
    rows = [
        (sheet.pressed_on.isoformat(), sheet.recipe.name, *(getattr(sheet, name) for name in plain))
        for sheet in sheets
    ]
    return spreadsheet.write(("pressed_on", "name", *plain), rows)
