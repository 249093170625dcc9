"""The app's unfinished work, saved so that no crash or refresh loses it."""

import json
import math
from pathlib import Path
from typing import Any, NoReturn

from .. import checks
from .database import reading, writing

MAX_CHARACTERS = 200_000
MAX_DIGITS = 15  # of a whole number


def save(home: Path, page: str, text: str) -> None:
    """Save a page's draft, replacing its last one."""
    if len(text) > MAX_CHARACTERS:
        found = checks.Raw(f"{len(text):,}")
        checks.refuse(f"a draft must have at most {MAX_CHARACTERS:,} characters", found, "shorten it")
    with writing(home) as log:
        log.execute(
            "INSERT INTO drafts (page, text) VALUES (?, ?)"
            " ON CONFLICT (page) DO UPDATE SET text = excluded.text",
            (page, text),
        )


def load(home: Path, page: str) -> str | None:
    """Return a page's draft; None where there is none."""
    with reading(home) as log:
        row = log.execute("SELECT text FROM drafts WHERE page = ?", (page,)).fetchone()
    return None if row is None else str(row[0])


def clear(home: Path, page: str) -> None:
    """Delete a page's draft."""
    with writing(home) as log:
        log.execute("DELETE FROM drafts WHERE page = ?", (page,))


def values(text: str) -> dict[str, Any]:
    """Return the named values of a JSON draft.

    InputError where it is not a table, or holds an infinite number or one with too many digits.
    """
    try:
        found = json.loads(text, parse_constant=_refuse, parse_float=_finite, parse_int=_short)
    except (ValueError, RecursionError):
        _refuse(text)
    return found if isinstance(found, dict) else _refuse(text)


def _finite(digits: str) -> float:
    """Read a number that is not whole."""
    found = float(digits)
    return found if math.isfinite(found) else _refuse(digits)


def _short(digits: str) -> int:
    """Read a whole number."""
    return int(digits) if len(digits) <= MAX_DIGITS else _refuse(digits)


def _refuse(found: str) -> NoReturn:
    """Refuse a draft."""
    checks.refuse("a draft must hold named values", found, "fill the fields in again")
