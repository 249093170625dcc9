"""Photos and pictures of logged sheets: plain files beside the log, named by the digest of their bytes."""

import hashlib
import re
import sqlite3
from collections.abc import Callable
from pathlib import Path

from .. import checks
from ..io.atomic_write import write_bytes

FOLDER = "photos"
MAX_BYTES = 40_000_000
NAME = re.compile(r"[0-9a-f]{64}\.(png|jpg)")
_KINDS = {b"\x89PNG\r\n\x1a\n": "png", b"\xff\xd8\xff": "jpg"}

Clean = Callable[[bytes], bytes]


def keep(home: Path, raw: bytes, clean: Clean) -> str:
    """Keep a picture and return the name it is known by.

    Call it within `store.writing`, so that `tidy` cannot come in between.

    Parameters
    ----------
    home : Path
        The log's folder.
    raw : bytes
        What the maker gave.
    clean : callable
        Takes it to PNG or JPEG bytes without metadata; the place of a photo is nobody's business.

    Returns
    -------
    str
        ``<sha-256>.png`` or ``.jpg``.

    Raises
    ------
    InputError
        Where the picture is neither PNG nor JPEG, too large, or cannot be written.
    """
    content = clean(raw)
    name = name_of(content)
    put(home, name, content)
    return name


def name_of(content: bytes) -> str:
    """Return a picture's name, from its bytes."""
    kind = next((kind for start, kind in _KINDS.items() if content.startswith(start)), None)
    if kind is None:
        found = checks.Raw("another kind of file")
        checks.refuse("a picture must be PNG or JPEG", found, "save the photo as JPEG")
    if len(content) > MAX_BYTES:
        found = checks.Raw(f"{len(content) / 1e6:.0f} MB")
        checks.refuse(f"a picture must have at most {MAX_BYTES / 1e6:.0f} MB", found, "make it smaller")
    return f"{hashlib.sha256(content).hexdigest()}.{kind}"


def put(home: Path, name: str, content: bytes) -> None:
    """Write a picture under its name, unless it is there already."""
    folder = home / FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    if not (folder / name).exists():
        write_bytes(folder / name, content)


def read(home: Path, name: str) -> bytes:
    """Return a kept picture's bytes.

    Raises
    ------
    InputError
        Where it is no longer there.
    """
    try:
        return (home / FOLDER / name).read_bytes()
    except OSError:
        remedy = "restore it from an export, or add the photo again"
        checks.refuse("a logged picture must be in the photos folder", checks.Raw(f"no {name}"), remedy)


def tidy(home: Path, log: sqlite3.Connection) -> None:
    """Remove files that no sheet names, left by an undo or a crash; call it within `store.writing`."""
    named = {name for row in log.execute("SELECT photo, picture FROM sheets") for name in row}
    for file in (home / FOLDER).glob("*"):
        if file.name not in named:
            file.unlink(missing_ok=True)
