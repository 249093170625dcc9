"""The stock: grams on hand of each flake, in the log's file.

It is a ledger. Every change is a movement: weighed in, corrected, or taken out for a sheet; an undo removes
the movements of its sheet. What is on hand is the sum of a flake's movements, in whole milligrams, so it
always equals what was bought less what was pressed, in any order of events. A flake taken off the list
keeps its movements.
"""

import sqlite3
from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import NoReturn

from .. import checks
from ..recipe.flake_list import MAX_GRAMS, MG, Stocked, from_csv, to_csv
from .database import reading, writing
from .row_reader import Row, Unreadable, read_each

_LISTED = """SELECT name, flake, (SELECT coalesce(sum(change_mg), 0) FROM movements WHERE name = stock.name)
    FROM stock ORDER BY rowid"""


def stock(home: Path) -> tuple[Stocked, ...]:
    """Return the flakes on the list that can be read, in the order they were entered."""
    with reading(home) as log:
        return of(log)[0]


def unreadable(home: Path) -> tuple[Unreadable, ...]:
    """Return the flakes on the list that this version cannot read."""
    with reading(home) as log:
        return of(log)[1]


def of(log: sqlite3.Connection) -> tuple[tuple[Stocked, ...], tuple[Unreadable, ...]]:
    """Return the flakes on the list of an open log: those that can be read, and the others.

    A flake known by a let-down cannot be read while the flake it was let down in is off the list.
    """
    rows = log.execute(_LISTED).fetchall()
    names, readable = None, {row[0] for row in rows}
    while names != readable:  # what was let down in a flake that cannot be read cannot be read either
        names = readable
        found, rest = read_each(rows, partial(_stocked, listed=names), _described)
        readable = {flake.name for flake in found}
    return found, rest


def overdrawn(home: Path) -> dict[str, float]:
    """Return the grams by which more of a flake was pressed than weighed in, by name; the list shows 0."""
    with reading(home) as log:
        return {name: -sum_mg / MG for name, _, sum_mg in log.execute(_LISTED) if sum_mg < 0}


def put(home: Path, flakes: Iterable[Stocked]) -> None:
    """Enter flakes, or correct those of the same name, so that their grams are on hand."""
    with writing(home) as log:
        for flake in flakes:
            enter(log, flake.name, to_csv([replace(flake, grams=0)]))
            _move(log, flake.name, round(flake.grams * MG) - on_hand_mg(log, flake.name))


def enter(log: sqlite3.Connection, name: str, flake: str) -> None:
    """Put a flake on the list of an open log, described by a flake list of this one flake."""
    log.execute(
        "INSERT INTO stock (name, flake) VALUES (?, ?)"
        " ON CONFLICT (name) DO UPDATE SET flake = excluded.flake",
        (name, flake),
    )


def remove(home: Path, name: str) -> None:
    """Take a flake off the list; its movements and the recipes of logged sheets stay."""
    with writing(home) as log:
        if not log.execute("DELETE FROM stock WHERE name = ?", (name,)).rowcount:
            _refuse_unknown(name)


def add(home: Path, name: str, grams: float) -> None:
    """Add grams to a flake, or take some away where they are below 0.

    InputError where the flake is not on the list, or less than nothing would be left.
    """
    change = checks.number("grams to add", grams, -MAX_GRAMS, MAX_GRAMS, "weigh what is added")
    with writing(home) as log:
        _change(log, name, round(change * MG))


def take(log: sqlite3.Connection, uid: str, grams: Mapping[str, float]) -> None:
    """Take what a sheet uses out of the stock."""
    for name, used in grams.items():
        used_mg = round(checks.positive(f"grams used of flake {name!r}", used, "weigh what goes in") * MG)
        _change(log, name, -used_mg, uid)


def put_back(log: sqlite3.Connection, uid: str) -> dict[str, float]:
    """Remove the movements of a sheet; return the grams that are back, by flake name."""
    rows = log.execute("DELETE FROM movements WHERE sheet = ? RETURNING name, -change_mg", (uid,)).fetchall()
    for name, _ in rows:
        check_limit(log, name)
    return {name: back_mg / MG for name, back_mg in rows}


def off_list(log: sqlite3.Connection, names: Iterable[str]) -> tuple[str, ...]:
    """Return those of the names that are not on the list."""
    listed = {name for (name,) in log.execute("SELECT name FROM stock")}
    return tuple(name for name in names if name not in listed)


def on_hand_mg(log: sqlite3.Connection, name: str) -> int:
    """Return the sum of a flake's movements, mg: below 0 where more was pressed than weighed in."""
    row = log.execute("SELECT coalesce(sum(change_mg), 0) FROM movements WHERE name = ?", (name,)).fetchone()
    return int(row[0])


def check_limit(log: sqlite3.Connection, name: str) -> None:
    """Refuse more of a flake than a list can hold."""
    sum_mg = on_hand_mg(log, name)
    if sum_mg > MAX_GRAMS * MG:
        found = checks.Raw(f"{sum_mg / MG:,.10g} g")
        remedy = "correct its grams under My flakes first"
        checks.refuse(f"the stock of {name!r} must stay below {MAX_GRAMS:,.10g} g", found, remedy)


def _stocked(row: Row, listed: Collection[str]) -> Stocked:
    """Read a flake from a row of `_LISTED`."""
    name, flake, sum_mg = row
    (found,) = from_csv(flake, complete=False)
    if found.name != name:
        checks.refuse("a flake must be described under its own name", found.name, "enter it again")
    if found.let_down and found.let_down.partner_name not in listed:
        partner = found.let_down.partner_name
        checks.refuse("the flake it was let down in must be on the list", partner, "enter that one too")
    return replace(found, grams=max(0, sum_mg) / MG)


def _described(row: Row) -> str:
    """Name a flake that cannot be read."""
    return f"flake {checks.shown(row[0])}"


def _change(log: sqlite3.Connection, name: str, change_mg: int, sheet: str | None = None) -> None:
    """Change what is on hand of a flake on the list; what is taken must be there."""
    if off_list(log, [name]):
        _refuse_unknown(name)
    have_mg = on_hand_mg(log, name)
    if change_mg < 0 and have_mg + change_mg < 0:
        have = checks.Raw(f"{max(0, have_mg) / MG:.10g} g for {-change_mg / MG:.10g} g")
        remedy = "weigh again and correct the stock, or take less"
        checks.refuse(f"the stock of {name!r} must cover what is taken", have, remedy)
    _move(log, name, change_mg, sheet)
    check_limit(log, name)


def _move(log: sqlite3.Connection, name: str, change_mg: int, sheet: str | None = None) -> None:
    """Enter a movement; a sheet takes each flake once, which names the movement."""
    if not change_mg:
        return
    row = {"name": name, "change_mg": change_mg}
    if sheet:
        row |= {"uid": f"{sheet} {name}", "sheet": sheet}
    places = ", ".join(f":{key}" for key in row)
    log.execute(f"INSERT INTO movements ({', '.join(row)}) VALUES ({places})", row)


def _refuse_unknown(name: str) -> NoReturn:
    """Refuse a flake that is not on the list."""
    checks.refuse("the flake must be in the stock", name, "enter it there first")
