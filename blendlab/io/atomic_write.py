"""Where results go.

Nothing is written half: the bytes go to a new file in the same folder, which then
takes the place of the old one. Only a plain file is ever replaced; at a link, a
folder or a device the write is refused and what stands there is left alone.
"""

import os
import secrets
import stat
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

from .. import checks

Place = str | os.PathLike[str]


def check_place(path: Place) -> None:
    """Try whether a file could be written, and leave everything as it was.

    Raises
    ------
    InputError
        Where the path cannot be written: better told before an hour's work than after.
    """
    _at(path, _try)


def write_bytes(path: Place, content: bytes) -> None:
    """Write a file that is made already, such as a PDF, whole or not at all.

    Raises
    ------
    InputError
        Where the path cannot be written; what stood there is untouched.
    """
    _at(path, lambda target: _replace(target, content))


def _at(path: Place, act: Callable[[Path], None]) -> None:
    """Do something where a plain file is or could be; refuse any other place."""
    target = Path(path)
    try:
        taken = _is_taken(target)
        if not taken:
            act(target)
    except (OSError, ValueError) as error:
        refuse_path("the place to write to must be writable", path, error, "choose another place")
    if taken:
        remedy = "choose the name of a new file or of an older result"
        checks.refuse("the place to write to must be a plain file", os.fspath(path), remedy)


def _is_taken(target: Path) -> bool:
    """Tell whether something other than a plain file stands at a path."""
    try:
        return not stat.S_ISREG(target.lstat().st_mode)
    except FileNotFoundError:
        return False


def _beside(target: Path) -> Path:
    """Name a new file in the target's folder."""
    return target.with_name(f".blendlab-{secrets.token_hex(8)}.part")


def _try(target: Path) -> None:
    """Make a file beside the target and take it away again."""
    beside = _beside(target)
    beside.open("xb").close()
    beside.unlink()


def _replace(target: Path, content: bytes) -> None:
    """Write beside the target, then let the new file take its name in one step."""
    beside = _beside(target)
    try:
        with beside.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(target)
    finally:
        beside.unlink(missing_ok=True)


def refuse_path(rule: str, path: Place, error: Exception, remedy: str) -> NoReturn:
    """Refuse a path with the system's reason, in its own words.

    Raises
    ------
    InputError
        Always.
    """
    reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    checks.refuse(f"{rule} ({reason[:1].lower()}{reason[1:]})", os.fspath(path), remedy)
