"""Mixes kept under a name, in the log's file, to be opened again or compared."""

import sqlite3
from dataclasses import replace
from pathlib import Path

from .. import checks
from ..recipe.recipe import Recipe, from_toml, to_toml
from .database import reading, writing
from .row_reader import Row, Unreadable, read_each

_CHOOSE = "give it another name, or replace that one"


def every(home: Path) -> tuple[tuple[Recipe, ...], tuple[Unreadable, ...]]:
    """Return the kept mixes that this version can read, each under its name, and the others; oldest first."""
    with reading(home) as log:
        rows = log.execute("SELECT name, recipe FROM mixes ORDER BY rowid").fetchall()
    return read_each(rows, _from_row, lambda row: f"mix {checks.shown(row[0])}")


def keep(home: Path, mix: Recipe, over: bool = False) -> None:
    """Keep a mix under its name.

    InputError where another one has that name, or the log cannot be written.

    Parameters
    ----------
    over : bool
        Whether it takes the place of one of that name.
    """
    with writing(home) as log:
        if not over:
            _check_free(log, mix.name)
        log.execute(
            "INSERT INTO mixes (name, recipe) VALUES (?, ?)"
            " ON CONFLICT (name) DO UPDATE SET recipe = excluded.recipe",
            (mix.name, to_toml(mix)),
        )


def rename(home: Path, name: str, new: str) -> None:
    """Keep a mix under another name.

    InputError where there is no such mix, or another one has the new name.
    """
    with writing(home) as log:
        row = log.execute("SELECT name, recipe FROM mixes WHERE name = ?", (name,)).fetchone()
        if row is None:
            checks.refuse("the mix must be kept", name, "keep it first")
        mix = replace(_from_row(row), name=new)
        if mix.name != name:
            _check_free(log, mix.name)
        change = "UPDATE mixes SET name = ?, recipe = ? WHERE name = ?"
        log.execute(change, (mix.name, to_toml(mix), name))


def remove(home: Path, name: str) -> None:
    """Remove a mix; sheets that were pressed from it stay as they are."""
    with writing(home) as log:
        log.execute("DELETE FROM mixes WHERE name = ?", (name,))


def free_name(log: sqlite3.Connection, name: str, recipe: str) -> str | None:
    """Return the name under which an imported mix is entered into an open log.

    Returns
    -------
    str or None
        Its own where that is free, else with a number behind it; None where the log has the same mix already.
    """
    count, tried = 1, name
    while row := log.execute("SELECT recipe FROM mixes WHERE name = ?", (tried,)).fetchone():
        if row[0] == recipe:
            return None
        count += 1
        tried = f"{name} {count}"
    return tried


def _from_row(row: Row) -> Recipe:
    name, recipe = row
    return replace(from_toml(recipe), name=name)


def _check_free(log: sqlite3.Connection, name: str) -> None:
    if log.execute("SELECT 1 FROM mixes WHERE name = ?", (name,)).fetchone():
        checks.refuse("a kept mix needs a name of its own", name, _CHOOSE)
