"""The stock: grams on hand of each flake, in the log's file.

The log counts whole milligrams, so that what an undo puts back is exactly what was taken.
"""

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import NoReturn

from .. import checks
from ..recipe.flake_list import MAX_GRAMS, MG, Stocked, from_csv, to_csv
from .database import reading, writing


def stock(home: Path) -> tuple[Stocked, ...]:
    """Return the whole stock, in the order it was entered."""
    with reading(home) as log:
        return of(log)


def of(log: sqlite3.Connection) -> tuple[Stocked, ...]:
    """Return the stock of an open log."""
    rows = log.execute("SELECT flake, grams_mg FROM stock ORDER BY rowid")
    return tuple(replace(from_csv(flake)[0], grams=grams_mg / MG) for flake, grams_mg in rows)


def put(home: Path, flakes: Iterable[Stocked]) -> None:
    """Enter flakes, or correct those of the same name."""
    with writing(home) as log:
        enter(log, flakes)


def enter(log: sqlite3.Connection, flakes: Iterable[Stocked]) -> None:
    """Enter flakes into an open log."""
    log.executemany(
        "INSERT INTO stock (name, flake, grams_mg) VALUES (?, ?, ?)"
        " ON CONFLICT (name) DO UPDATE SET flake = excluded.flake, grams_mg = excluded.grams_mg",
        [(f.name, to_csv([replace(f, grams=0)]), round(f.grams * MG)) for f in flakes],
    )


def remove(home: Path, name: str) -> None:
    """Take a flake off the list; sheets already logged keep their recipes."""
    with writing(home) as log:
        if not log.execute("DELETE FROM stock WHERE name = ?", (name,)).rowcount:
            _refuse_unknown(name)


def add(home: Path, name: str, grams: float) -> None:
    """Add grams to a flake, or take some away where they are below 0.

    Raises
    ------
    InputError
        Where the flake is not on the list, or less than nothing would be left.
    """
    change = checks.number("grams to add", grams, -MAX_GRAMS, MAX_GRAMS, "weigh what is added")
    with writing(home) as log:
        _change(log, name, round(change * MG))


def take(log: sqlite3.Connection, uid: str, grams: Mapping[str, float]) -> None:
    """Take what a sheet used out of the stock, and remember it for an undo."""
    for name, used in grams.items():
        used_mg = round(checks.positive(f"grams used of flake {name!r}", used, "weigh what goes in") * MG)
        if used_mg:
            _change(log, name, -used_mg)
            log.execute("INSERT INTO taken (uid, name, grams_mg) VALUES (?, ?, ?)", (uid, name, used_mg))


def give_back(log: sqlite3.Connection, uid: str) -> None:
    """Put back what a sheet took."""
    for name, used_mg in log.execute("SELECT name, grams_mg FROM taken WHERE uid = ?", (uid,)).fetchall():
        _change(log, name, used_mg)


def _change(log: sqlite3.Connection, name: str, change_mg: int) -> None:
    """Change what is on hand of one flake, never to less than nothing."""
    row = log.execute("SELECT grams_mg FROM stock WHERE name = ?", (name,)).fetchone()
    if row is None:
        _refuse_unknown(name)
    left_mg = row[0] + change_mg
    if left_mg < 0:
        have = checks.Raw(f"{row[0] / MG:g} g for {-change_mg / MG:g} g")
        remedy = "weigh again and correct the stock, or take less"
        checks.refuse(f"the stock of {name!r} must cover what is taken", have, remedy)
    if left_mg > MAX_GRAMS * MG:
        checks.refuse(f"the stock of {name!r} must stay below {MAX_GRAMS:g} g", left_mg / MG, "weigh again")
    log.execute("UPDATE stock SET grams_mg = ? WHERE name = ?", (left_mg, name))


def _refuse_unknown(name: str) -> NoReturn:
    """Refuse a flake that is not on the list."""
    checks.refuse("the flake must be in the stock", name, "enter it there first")
