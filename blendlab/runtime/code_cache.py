"""Where compiled code is kept between runs, and what happens if it cannot be.

Kept code is unpickled, and a pickle can run anything. A folder is therefore trusted only if it belongs to the
user and nobody else may write to it. Damaged code is compiled again; if code cannot be kept, the program runs
without a cache and says so once.
"""

import atexit
import logging
import os
import shutil
import stat
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path
from typing import Any

import numba
import platformdirs
from numba.core import caching


def chosen_folder(name: str) -> Path | None:
    """Return a folder to keep compiled code in.

    Parameters
    ----------
    name : str
        A name that changes with the code.

    Returns
    -------
    Path or None
        ``NUMBA_CACHE_DIR`` if it is set; else the first trusted one of a folder in the user's cache and one
        in the temporary folder; else a new one for this run only. None if none can be written.
    """
    chosen = os.environ.get("NUMBA_CACHE_DIR")
    if chosen:
        return Path(chosen)
    for folder in _places(name):
        if is_trusted(folder):
            return folder
    try:
        fresh = tempfile.mkdtemp(prefix="blendlab-")  # closed to others
    except OSError:
        return None
    atexit.register(shutil.rmtree, fresh, ignore_errors=True)
    return Path(fresh)


def _places(name: str) -> Iterator[Path]:
    """Yield folders that last from run to run."""
    with suppress(RuntimeError):  # a user without a home; earlier versions of the library give "~/…"
        usual = platformdirs.user_cache_path("blendlab", appauthor=False)
        if usual.is_absolute():
            yield usual / name
    with suppress(OSError):  # no temporary folder either
        user = os.getuid() if hasattr(os, "getuid") else "user"
        yield Path(tempfile.gettempdir(), f"blendlab-{user}-{name}")


def is_trusted(folder: Path) -> bool:
    """Return whether a folder, created if missing, is the user's own and not writable by others."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        found = folder.lstat()
    except OSError:
        return False
    own = not hasattr(os, "getuid") or (found.st_uid == os.getuid() and not found.st_mode & 0o022)
    return own and stat.S_ISDIR(found.st_mode) and os.access(folder, os.W_OK)


def keeper(function: Callable[..., Any], folder: Path | None) -> Any:
    """Return the object that keeps a function's compiled code in a folder, as Numba expects it."""
    if folder is not None:
        try:
            with _numba_keeps_in(folder):
                return _Keeper(function)
        except (OSError, RuntimeError):  # no file can be made there
            pass
    _warn()
    return caching.NullCache()


class _OneFolder(caching.CompileResultCacheImpl):
    """Keeps code in the given folder and nowhere else."""

    _locator_classes = [caching.UserProvidedCacheLocator]  # noqa: RUF012 (as its parent has it)


class _Keeper(caching.FunctionCache):
    """Numba's cache of one function, which tolerates damaged files and a full disk."""

    _impl_class = _OneFolder

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Return kept code; None if there is none or it is damaged."""
        try:
            return super().load_overload(sig, target_context)
        except Exception:  # a damaged pickle raises nearly every kind of exception
            with suppress(OSError):
                self.flush()
            return None

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep code if possible."""
        try:
            super().save_overload(sig, data)
        except Exception:  # a full disk, or a damaged index that could not be renewed
            _warn()


@cache  # once
def _warn() -> None:
    """Log once that code cannot be kept: by default, to standard error."""
    sentence = "compiled code cannot be kept, so every start compiles it anew; make room in the cache folder"
    logging.getLogger("blendlab").warning("blendlab: %s", sentence)


@contextmanager
def _numba_keeps_in(folder: Path) -> Iterator[None]:
    """Set Numba's cache folder for as long as it is read."""
    settings: Any = numba.config  # its names exist only at run time
    before = settings.CACHE_DIR
    settings.CACHE_DIR = str(folder)
    try:
        yield
    finally:
        settings.CACHE_DIR = before
