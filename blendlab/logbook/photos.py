"""Photos and pictures of logged sheets: plain files next to the log, named by the digest of their bytes.

The maker's own files may lie in the same folder: only files named by this program are ever touched.
"""

import hashlib
import re
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from .. import checks
from ..io.atomic_write import PART, write_bytes
from .database import writing

FOLDER = "photos"
MAX_BYTES = 40_000_000
NAME = re.compile(r"[0-9a-f]{64}\.(png|jpg)")
_OURS = re.compile(f"{NAME.pattern}|{PART.pattern}")
_KINDS = {b"\x89PNG\r\n\x1a\n": "png", b"\xff\xd8\xff": "jpg"}

Clean = Callable[[bytes], bytes]


def keep(home: Path, raw: bytes, clean: Clean) -> str:
    """Keep a picture and return its name.

    Call it within `database.writing`, so that `tidy` cannot run before a sheet names the picture. InputError
    where the picture is neither PNG nor JPEG, too large, or cannot be written.

    Parameters
    ----------
    clean : callable
        Returns it as PNG or JPEG without metadata, as where a photo was taken is private.

    Returns
    -------
    str
        ``<sha-256>.png`` or ``.jpg``.
    """
    content = clean(raw)
    name = name_of(content)
    put(home, name, content)
    return name


def name_of(content: bytes) -> str:
    """Return a picture's name, from its bytes; InputError where it is neither PNG nor JPEG, or too large."""
    kind = next((kind for start, kind in _KINDS.items() if content.startswith(start)), None)
    if kind is None:
        found = checks.Raw("another kind of file")
        checks.refuse("a picture must be PNG or JPEG", found, "save the photo as JPEG")
    if len(content) > MAX_BYTES:
        found = checks.Raw(f"{len(content) / 1e6:.0f} MB")
        checks.refuse(f"a picture must have at most {MAX_BYTES / 1e6:.0f} MB", found, "make it smaller")
    return f"{hashlib.sha256(content).hexdigest()}.{kind}"


def put(home: Path, name: str, content: bytes) -> bool:
    """Write a picture under its name, unless it is there undamaged; tell whether it was written."""
    _, wrong = load(home, name)
    if not wrong:
        return False
    folder = home / FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    if (folder / name).is_dir() or (folder / name).is_symlink():
        found = checks.Raw("a folder or a link in the place of one")
        checks.refuse(
            f"the folder {FOLDER} must hold pictures as plain files", found, f"move it out of {folder}"
        )
    write_bytes(folder / name, content)
    return True


def load(home: Path, name: str) -> tuple[bytes, str]:
    """Return a kept picture's bytes, and what is wrong with it in a few words.

    Returns
    -------
    tuple of bytes and str
        No bytes if it cannot be read; no words if it is as it was logged.
    """
    try:
        content = (home / FOLDER / name).read_bytes()
    except FileNotFoundError:
        return b"", "is missing"
    except OSError as error:
        return b"", f"cannot be read ({error.strerror})"
    try:
        intact = name_of(content) == name
    except checks.InputError:
        intact = False
    return content, "" if intact else "was changed by another program"


def read(home: Path, name: str) -> bytes:
    """Return a kept picture's bytes, changed by others or not; InputError if it cannot be read."""
    content, wrong = load(home, name)
    if not content:
        remedy = "bring in an export that has it, or add the photo again"
        checks.refuse(
            f"a logged picture must be in the folder {FOLDER}", checks.Raw(f"one that {wrong}"), remedy
        )
    return content


def tidy(home: Path) -> None:
    """Remove our own files that no sheet names, left by an undo, a new photo or a crash.

    It never fails: the change before it is already saved, and files left over do no harm.
    """
    with suppress(checks.InputError), writing(home) as log:
        named = {name for row in log.execute("SELECT photo, picture FROM sheets") for name in row}
        for file in (home / FOLDER).iterdir():
            if _OURS.fullmatch(file.name) and file.name not in named:
                with suppress(OSError):  # a folder, or a file held open by another program
                    file.unlink()
