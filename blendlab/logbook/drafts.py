"""The app's unfinished work, saved so that no crash or refresh loses it."""

from pathlib import Path

from .. import checks
from .database import reading, writing

MAX_CHARACTERS = 200_000


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
