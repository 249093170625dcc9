"""The log of past sheets: what was pressed, how it came out, and what was predicted."""

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NoReturn

from .. import checks
from ..io import photo_files
from . import photos, stock
from .database import reading, writing
from .logged_sheet import COLUMNS, describe, from_row, searchable, to_row
from .logged_sheet import MAX_NOTES as MAX_NOTES
from .logged_sheet import LoggedSheet as LoggedSheet
from .row_reader import Unreadable, read_each

ALL = ", ".join(COLUMNS)


def record(
    home: Path,
    sheet: LoggedSheet,
    *,
    photo: bytes | None = None,
    picture: bytes | None = None,
    clean: photos.Clean = photo_files.clean_photo,
    take: Mapping[str, float] | None = None,
) -> LoggedSheet:
    """Log a sheet with its photo, take its flakes out of the stock, and return it as logged: all or nothing.

    InputError where the stock does not cover what is taken, or the log cannot be written.

    Parameters
    ----------
    sheet : LoggedSheet
        Without a uid.
    photo : bytes, optional
        A photo of the sheet, as the camera wrote it.
    picture : bytes, optional
        The picture predicted for it, PNG; made by this program, so it is kept unchanged.
    clean : callable
        Returns the photo as PNG or JPEG without metadata.
    take : mapping of str to float, optional
        Grams to take out of the stock, by flake name.
    """
    with writing(home) as log:
        (uid,) = log.execute("SELECT lower(hex(randomblob(16)))").fetchone()
        names = (_kept(home, photo, clean, sheet.photo), _kept(home, picture, bytes, sheet.picture))
        kept = replace(sheet, uid=uid, photo=names[0], picture=names[1])
        enter(log, kept)
        stock.take(log, uid, take or {})
    return kept


def enter(log: sqlite3.Connection, sheet: LoggedSheet) -> None:
    """Enter a sheet that has its uid into an open log."""
    log.execute(f"INSERT INTO sheets ({ALL}) VALUES ({', '.join('?' * len(COLUMNS))})", to_row(sheet))


def amend(
    home: Path,
    sheet: LoggedSheet,
    *,
    photo: bytes | None = None,
    clean: photos.Clean = photo_files.clean_photo,
) -> LoggedSheet:
    """Replace a logged sheet with a changed copy, and return the copy as logged.

    InputError where the sheet is not in the log, or the log cannot be written.

    Parameters
    ----------
    sheet : LoggedSheet
        With its uid.
    photo, clean
        A new photo, as for `record`; without one the old photo stays.
    """
    with writing(home) as log:
        kept = replace(sheet, photo=_kept(home, photo, clean, sheet.photo))
        changes = ", ".join(f"{name} = ?" for name in COLUMNS[:-1])
        if not log.execute(f"UPDATE sheets SET {changes} WHERE uid = ?", to_row(kept)).rowcount:
            _refuse_unknown()
    photos.tidy(home)
    return kept


@dataclass(frozen=True)
class Undone:
    """What an undo did.

    Attributes
    ----------
    sheet : LoggedSheet
        As it was in the log.
    back_g : mapping of str to float
        Grams that are back in the stock, by flake name.
    off_list : tuple of str
        Those of the flakes that are no longer on the list, which does not show their grams.
    """

    sheet: LoggedSheet
    back_g: Mapping[str, float]
    off_list: tuple[str, ...]

    @property
    def text(self) -> str:
        """Say it in words, with how to count grams that the list does not show."""
        gone = f"{self.sheet.recipe.name} is out of the log"
        if not self.back_g:
            return f"{gone}; no flakes had been taken for it."
        sentences = [f"{gone}; {sum(self.back_g.values()):.1f} g are back among your flakes."]
        for name in self.off_list:
            grams = f"add its {self.back_g[name]:.1f} g when you enter it again"
            sentences.append(f"{name} is no longer on the list: {grams}.")
        return " ".join(sentences)


def undo(home: Path, uid: str) -> Undone:
    """Take a sheet out of the log and put its flakes back into the stock.

    InputError where the sheet is not in the log, or the log cannot be written.
    """
    with writing(home) as log:
        sheet = _one(log, uid)
        back_g = stock.put_back(log, uid)
        log.execute("DELETE FROM sheets WHERE uid = ?", (uid,))
        done = Undone(sheet, back_g, stock.off_list(log, back_g))
    photos.tidy(home)
    return done


def get(home: Path, uid: str) -> LoggedSheet:
    """Return one logged sheet; InputError where it is not in the log, or cannot be read."""
    with reading(home) as log:
        return _one(log, uid)


def search(home: Path, words: str = "", *, rating_at_least: int = 0) -> tuple[LoggedSheet, ...]:
    """Return the logged sheets that can be read, latest first.

    Parameters
    ----------
    words : str
        All of these must occur in the recipe's name, its flakes' names or the notes; case is ignored.
    rating_at_least : int
        Lowest rating; 0 for all sheets, rated or not.
    """
    with reading(home) as log:
        rows = log.execute(
            f"SELECT {ALL} FROM sheets WHERE coalesce(rating, 0) >= ? ORDER BY pressed_on DESC, rowid DESC",
            (rating_at_least,),
        ).fetchall()
    wanted = words.casefold().split()
    sheets, _ = read_each(rows, from_row, describe)
    return tuple(sheet for sheet in sheets if all(word in searchable(sheet) for word in wanted))


def every(log: sqlite3.Connection) -> tuple[tuple[LoggedSheet, ...], tuple[Unreadable, ...]]:
    """Return all sheets of an open log in the order they were logged, and those that cannot be read."""
    return read_each(log.execute(f"SELECT {ALL} FROM sheets ORDER BY rowid"), from_row, describe)


def unreadable(home: Path) -> tuple[Unreadable, ...]:
    """Return the sheets that this version cannot read."""
    with reading(home) as log:
        return every(log)[1]


def _kept(home: Path, given: bytes | None, clean: photos.Clean, before: str | None) -> str | None:
    """Keep a new picture and return its name; without one, return the old name."""
    return before if given is None else photos.keep(home, given, clean)


def _one(log: sqlite3.Connection, uid: str) -> LoggedSheet:
    """Return one sheet of an open log, or refuse."""
    rows = log.execute(f"SELECT {ALL} FROM sheets WHERE uid = ?", (uid,)).fetchall()
    sheets, rest = read_each(rows, from_row, describe)
    if rest:
        rule = f"{rest[0].what} must be readable by this blendlab"
        checks.refuse(rule, checks.Raw(rest[0].reason), "update blendlab; the sheet stays in the log")
    if not sheets:
        _refuse_unknown()
    return sheets[0]


def _refuse_unknown() -> NoReturn:
    """Refuse a sheet that is not in the log."""
    found = checks.Raw("one that is no longer there")
    checks.refuse("the sheet must be in the log", found, "look it up again: it may have been undone")
