"""The log of past sheets: what was pressed, how it came out, and what had been predicted."""

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any, NoReturn

from .. import checks
from ..io import photo_files
from ..recipe.recipe import Recipe, from_toml, to_toml
from . import photos, stock
from .database import reading, writing

MAX_NOTES = 10_000
COLUMNS = (
    *("pressed_on", "recipe", "programme", "length_mm", "width_mm", "thickness_mm", "weight_g"),
    *("notes", "rating", "prediction", "photo", "picture", "uid"),
)  # in the order of the fields of `LoggedSheet`
_ALL = ", ".join(COLUMNS)
_MEASURED = {"length_mm": 5000, "width_mm": 5000, "thickness_mm": 500, "weight_g": 1e6}


@dataclass(frozen=True)
class LoggedSheet:
    """One sheet in the log.

    Parameters
    ----------
    pressed_on : date
        The day.
    recipe : Recipe
        As pressed, with its folding.
    programme : tuple of str
        The steps as done, one line each.
    length_mm, width_mm, thickness_mm, weight_g : float, optional
        As measured on the finished sheet.
    notes : str
        What the maker thought of it.
    rating : int, optional
        1 to 5.
    prediction : mapping
        What was predicted that day; anything that JSON can hold.
    photo, picture : str, optional
        Names of the photo of the sheet and of the predicted picture, given by the log.
    uid : str
        Given by the log.

    Raises
    ------
    InputError
        Where a value breaks its rule.
    """

    pressed_on: date
    recipe: Recipe
    programme: tuple[str, ...] = ()
    length_mm: float | None = None
    width_mm: float | None = None
    thickness_mm: float | None = None
    weight_g: float | None = None
    notes: str = ""
    rating: int | None = None
    prediction: Mapping[str, Any] = field(default_factory=dict)
    photo: str | None = None
    picture: str | None = None
    uid: str = ""

    def __post_init__(self) -> None:
        """Check every value."""
        if self.rating is not None:
            checks.whole("rating", self.rating, 1, 5, "leave it out, or give 1 to 5")
        for name, most in _MEASURED.items():
            value = getattr(self, name)
            if value is not None:
                checks.number(f"measured {name}", value, 0, most, "measure the cold sheet, or leave it out")
        if not isinstance(self.notes, str):
            checks.refuse("notes must be text", self.notes, "write them anew")
        if len(self.notes) > MAX_NOTES or "\0" in self.notes:
            found = checks.Raw(f"{len(self.notes):,} characters")
            checks.refuse(f"notes must be at most {MAX_NOTES:,} plain characters", found, "shorten them")
        for line in self.programme:
            checks.label("a programme's line", line, longest=200)


def record(
    home: Path,
    sheet: LoggedSheet,
    *,
    photo: bytes | None = None,
    picture: bytes | None = None,
    clean: photos.Clean = photo_files.clean_photo,
    take: Mapping[str, float] | None = None,
) -> LoggedSheet:
    """Log a sheet, with its photo, and take its flakes out of the stock: all of it, or nothing.

    Parameters
    ----------
    home : Path
        The log's folder.
    sheet : LoggedSheet
        Without a uid.
    photo : bytes, optional
        A photo of the sheet, as the camera wrote it.
    picture : bytes, optional
        The picture predicted for it, PNG; our own, so kept as it is.
    clean : callable
        Takes the photo to PNG or JPEG bytes without metadata.
    take : mapping of str to float, optional
        Grams to take out of the stock, by flake name.

    Returns
    -------
    LoggedSheet
        As it stands in the log.

    Raises
    ------
    InputError
        Where the stock does not cover what is taken, or the log cannot be written.
    """
    with writing(home) as log:
        kept = replace(
            sheet,
            photo=_kept(home, photo, clean, sheet.photo),
            picture=_kept(home, picture, bytes, sheet.picture),
        )
        (uid,) = log.execute("SELECT lower(hex(randomblob(16)))").fetchone()
        kept = replace(kept, uid=uid)
        enter(log, kept)
        stock.take(log, uid, take or {})
    return kept


def enter(log: sqlite3.Connection, sheet: LoggedSheet) -> None:
    """Write a sheet that has its uid into an open log."""
    log.execute(f"INSERT INTO sheets ({_ALL}) VALUES ({', '.join('?' * len(COLUMNS))})", _row(sheet))


def amend(
    home: Path,
    sheet: LoggedSheet,
    *,
    photo: bytes | None = None,
    clean: photos.Clean = photo_files.clean_photo,
) -> LoggedSheet:
    """Write a logged sheet anew, after its notes, measures or photo have changed.

    Parameters
    ----------
    home : Path
        The log's folder.
    sheet : LoggedSheet
        With its uid.
    photo, clean
        A new photo, as for `record`; without one the old stays.

    Returns
    -------
    LoggedSheet
        As it stands in the log.

    Raises
    ------
    InputError
        Where the sheet is not in the log, or the log cannot be written.
    """
    with writing(home) as log:
        kept = replace(sheet, photo=_kept(home, photo, clean, sheet.photo))
        places = ", ".join(f"{name} = ?" for name in COLUMNS[:-1])
        if not log.execute(f"UPDATE sheets SET {places} WHERE uid = ?", _row(kept)).rowcount:
            _refuse_unknown(kept.uid)
    _tidy(home)
    return kept


def undo(home: Path, uid: str) -> LoggedSheet:
    """Take a sheet out of the log, put its flakes back into the stock, and return it.

    Raises
    ------
    InputError
        Where the sheet is not in the log, or the log cannot be written.
    """
    with writing(home) as log:
        sheet = _one(log, uid)
        stock.give_back(log, uid)
        log.execute("DELETE FROM sheets WHERE uid = ?", (uid,))
    _tidy(home)
    return sheet


def get(home: Path, uid: str) -> LoggedSheet:
    """Return one logged sheet.

    Raises
    ------
    InputError
        Where it is not in the log.
    """
    with reading(home) as log:
        return _one(log, uid)


def search(
    home: Path,
    words: str = "",
    *,
    since: date | None = None,
    until: date | None = None,
    rating_at_least: int = 0,
) -> tuple[LoggedSheet, ...]:
    """Return logged sheets, the latest first.

    Parameters
    ----------
    home : Path
        The log's folder.
    words : str
        All of these must stand in the recipe's name, its flakes' names or the notes; case is ignored.
    since, until : date, optional
        First and last day.
    rating_at_least : int
        Lowest rating; 0 for all, rated or not.
    """
    first, last = (since or date.min).isoformat(), (until or date.max).isoformat()
    with reading(home) as log:
        rows = log.execute(
            f"SELECT {_ALL} FROM sheets WHERE pressed_on BETWEEN ? AND ? AND coalesce(rating, 0) >= ?"
            " ORDER BY pressed_on DESC, rowid DESC",
            (first, last, rating_at_least),
        ).fetchall()
    wanted = words.casefold().split()
    return tuple(sheet for sheet in map(_sheet, rows) if all(word in _spoken(sheet) for word in wanted))


def every(log: sqlite3.Connection) -> tuple[LoggedSheet, ...]:
    """Return all sheets of an open log, in the order they were logged."""
    return tuple(_sheet(row) for row in log.execute(f"SELECT {_ALL} FROM sheets ORDER BY rowid"))


def prediction_json(sheet: LoggedSheet) -> str:
    """Return a sheet's prediction as JSON: same prediction, same text."""
    try:
        return json.dumps(sheet.prediction, ensure_ascii=False, sort_keys=True, allow_nan=False)
    except (TypeError, ValueError) as error:
        checks.refuse("a prediction must be plain numbers, text and lists", error, "predict it again")


def _kept(home: Path, given: bytes | None, clean: photos.Clean, before: str | None) -> str | None:
    """Keep a new picture, or the one that was there."""
    return before if given is None else photos.keep(home, given, clean)


def _tidy(home: Path) -> None:
    """Remove pictures that no sheet names any more, once the change before is kept for good."""
    with writing(home) as log:
        photos.tidy(home, log)


def _row(sheet: LoggedSheet) -> tuple[object, ...]:
    """Write a sheet as a row of `COLUMNS`."""
    return (
        *(sheet.pressed_on.isoformat(), to_toml(sheet.recipe), "\n".join(sheet.programme)),
        *(sheet.length_mm, sheet.width_mm, sheet.thickness_mm, sheet.weight_g),
        *(sheet.notes, sheet.rating, prediction_json(sheet), sheet.photo, sheet.picture, sheet.uid),
    )


def _sheet(row: tuple[Any, ...]) -> LoggedSheet:
    """Read a sheet from a row of `COLUMNS`."""
    found = dict(zip(COLUMNS, row, strict=True))
    found["pressed_on"] = date.fromisoformat(found["pressed_on"])
    found["recipe"] = from_toml(found["recipe"])
    found["programme"] = tuple(found["programme"].splitlines())
    found["prediction"] = json.loads(found["prediction"])
    return LoggedSheet(**found)


def _one(log: sqlite3.Connection, uid: str) -> LoggedSheet:
    """Return one sheet of an open log, or refuse."""
    row = log.execute(f"SELECT {_ALL} FROM sheets WHERE uid = ?", (uid,)).fetchone()
    if row is None:
        _refuse_unknown(uid)
    return _sheet(row)


def _spoken(sheet: LoggedSheet) -> str:
    """Everything a search looks at, in small letters."""
    names = (flake.name for flake in sheet.recipe.flakes)
    return " ".join((sheet.recipe.name, *names, sheet.notes)).casefold()


def _refuse_unknown(uid: str) -> NoReturn:
    """Refuse a sheet that is not in the log."""
    checks.refuse("the sheet must be in the log", uid, "look it up again: it may have been undone")
