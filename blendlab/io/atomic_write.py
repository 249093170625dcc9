"""Atomic writes.

The bytes go to a new file in the same folder, which then replaces the old one in one step, so that no file is
ever half written. Only a plain file is replaced: a link, a folder or a device is refused and left as it is.
"""

import os
import re
import secrets
import stat
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO, NoReturn

from .. import checks

Place = str | os.PathLike[str]
PART = re.compile(r"\.blendlab-[0-9a-f]{16}\.part")  # a file not yet in its place, or left by a crash

ON_WINDOWS = os.name == "nt"
# Names that Windows reads as a device, as a stream of a file, or as another name (Naming Files, Paths, and
# Namespaces, in its documentation).
_RESERVED = re.compile(
    r"""(CON|PRN|AUX|NUL|CONIN\$|CONOUT\$|(COM|LPT)[0-9¹²³])\s*(\..*)?|.*[<>:"/\\|?*\x00-\x1f].*|.*[. ]""",
    re.IGNORECASE | re.DOTALL,
)


def check_place(path: Place) -> None:
    """Check that a result can be written, before the work begins; change nothing, else InputError."""
    _at(path, _try)


def write_with(path: Place, write: Callable[[BinaryIO], object]) -> None:
    """Let a function write a file, whole or not at all.

    InputError where the path cannot be written; an older file is untouched.

    Parameters
    ----------
    write : callable
        Writes the content to the open file it is given.
    """
    _at(path, lambda target: _replace(target, write))


def write_bytes(path: Place, content: bytes) -> None:
    """Write a file that is in memory; refusals as for `write_with`."""
    write_with(path, lambda file: file.write(content))


def _at(path: Place, act: Callable[[Path], None]) -> None:
    """Run `act` on a path that holds a plain file or nothing; refuse any other."""
    target = Path(path)
    if ON_WINDOWS and _RESERVED.fullmatch(target.name):
        remedy = "leave out colons, final dots and names of devices such as CON"
        checks.refuse("the file must have a name that Windows allows", os.fspath(path), remedy)
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
    """Whether a path holds something other than a plain file."""
    try:
        return not stat.S_ISREG(target.lstat().st_mode)
    except FileNotFoundError:
        return False


def _beside(target: Path) -> Path:
    """Return the path of a new temporary file in the target's folder."""
    return target.with_name(f".blendlab-{secrets.token_hex(8)}.part")


def _try(target: Path) -> None:
    """Create a file beside the target and remove it."""
    beside = _beside(target)
    beside.open("xb").close()
    beside.unlink()


def _replace(target: Path, write: Callable[[BinaryIO], object]) -> None:
    """Write a file beside the target, then rename it to the target in one step."""
    beside = _beside(target)
    try:
        with beside.open("xb") as file:
            write(file)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(target)
    finally:
        beside.unlink(missing_ok=True)


def refuse_path(rule: str, path: Place, error: Exception, remedy: str) -> NoReturn:
    """Refuse a path with the operating system's reason."""
    reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    checks.refuse(f"{rule} ({reason[:1].lower()}{reason[1:]})", os.fspath(path), remedy)
