"""UTF-8 text files, such as recipes and flake lists."""

import os
from dataclasses import dataclass
from pathlib import Path

from .. import checks
from .atomic_write import Place, refuse_path, write_bytes

MAX_TEXT_BYTES = 1_000_000  # a recipe takes about one thousand


def read_text(path: Place) -> str:
    """Read a text file that a maker wrote, without its byte order mark.

    InputError where it does not exist, is a folder, cannot be read, is larger than `MAX_TEXT_BYTES` or not
    UTF-8.
    """
    try:
        with Path(path).open("rb") as file:
            found = file.read(MAX_TEXT_BYTES + 1)
    except (OSError, ValueError) as error:
        refuse_path("the file must be there to be read", path, error, "check the name and the folder")
    return text_from_bytes(found, os.fspath(path))


@dataclass(frozen=True)
class Beside:
    """The files that a file names: paths count from its folder.

    Parameters
    ----------
    path : Path
        The file.
    waiting : tuple of Path
        The files that led to it.
    """

    path: Path
    waiting: tuple[Path, ...] = ()

    def __call__(self, name: str) -> tuple[str, "Beside"]:
        """Return the text of a file and those beside it.

        InputError as from `read_text`, or where the file names itself, if only through others.
        """
        try:
            path = (self.path.parent / name).resolve()
            waiting = (*self.waiting, self.path.resolve())
        except (OSError, ValueError, RuntimeError) as error:
            refuse_path("the file must be there to be read", name, error, "check the name and the folder")
        if path in waiting:
            checks.refuse("a sheet must not be cut from itself", name, "name the recipe of an older sheet")
        return read_text(path), Beside(path, waiting)


def text_from_bytes(content: bytes, name: str) -> str:
    """Return the text of a file that a maker wrote, without a byte order mark.

    InputError where it is larger than `MAX_TEXT_BYTES`, or is not UTF-8.

    Parameters
    ----------
    name : str
        Its name in error messages.
    """
    if len(content) > MAX_TEXT_BYTES:
        rule = f"the file must hold at most {MAX_TEXT_BYTES:,} bytes of text"
        checks.refuse(rule, name, "choose a recipe, a flake list or a spectrum")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        remedy = "choose a recipe, a flake list or a spectrum, and save it as UTF-8"
        checks.refuse("the file must hold UTF-8 text", name, remedy)


def write_text(path: Place, text: str) -> None:
    """Write a text file in UTF-8, whole or not at all; errors as for `atomic_write.write_with`."""
    write_bytes(path, text.encode("utf-8"))
