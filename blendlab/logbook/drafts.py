"""What the maker was about to do: the app's unfinished work, saved so that no crash or refresh loses it."""

from pathlib import Path

from .. import checks
from .database import reading, writing

LONGEST = 200_000


def save(home: Path, page: str, text: str) -> None:
    """Save a page's draft in place of its last one."""
    if len(text) > LONGEST:
        found = checks.Raw(f"{len(text):,}")
        checks.refuse(f"a draft must have at most {LONGEST:,} characters", found, "shorten it")
    with writing(home) as log:
        log.execute(
            "INSERT INTO drafts (page, text) VALUES (?, ?)"
            " ON CONFLICT (page) DO UPDATE SET text = excluded.text",
            (page, text),
        )


def load(home: Path, page: str) -> str | None:
    """Return a page's draft, or None where there is none."""
    with reading(home) as log:
        row = log.execute("SELECT text FROM drafts WHERE page = ?", (page,)).fetchone()
    return None if row is None else str(row[0])


def clear(home: Path, page: str) -> None:
    """Forget a page's draft."""
    with writing(home) as log:
        log.execute("DELETE FROM drafts WHERE page = ?", (page,))
