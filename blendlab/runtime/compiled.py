"""The one place where numerical loops are handed to Numba.

Numba keys a cached function on the file it stands in, not on the files of the functions it calls, so
an edit to `folding/press.py` would leave a stale picture kernel behind. The cache is therefore kept in
a folder named after the digest of every compiled source and what it imports: change one and all are compiled
anew; a page, a refusal or a comment elsewhere changes nothing.
"""

import hashlib
import os
import re
import tempfile
from collections.abc import Callable
from functools import cache, wraps
from pathlib import Path
from typing import Any

import numba

from . import core_scheduler

# Threads that wait for the next loop sleep: they would else spin on the cores that other work needs. Read by
# OpenMP when the first parallel loop runs.
os.environ.setdefault("OMP_WAIT_POLICY", "passive")

PACKAGE = Path(__file__).parents[1]
_IMPORT = re.compile(r"^from (\.+)([\w.]*) import (\([^)]*\)|.*)", re.MULTILINE)


def _imported(source: Path, text: str) -> set[Path]:
    """Files of the package that a source imports as it loads."""
    found = set()
    for dots, module, names in _IMPORT.findall(text):
        base = (
            source.parents[len(dots) - 1].joinpath(*module.split("."))
            if module
            else source.parents[len(dots) - 1]
        )
        files = [
            base.with_suffix(".py"),
            *(base / f"{name.split()[0]}.py" for name in names.strip("()").split(",") if name.strip()),
        ]
        found |= {file for file in files if file.is_file()}
    return found


def _sources() -> list[Path]:
    """Files that hold compiled code and those they import, sorted; refusals hold sentences only."""
    waiting = {path for path in PACKAGE.rglob("*.py") if "\n@compiled(" in path.read_text("utf-8")}
    found: set[Path] = {PACKAGE / "checks.py"}
    while waiting:
        found |= waiting
        waiting = {file for path in waiting for file in _imported(path, path.read_text("utf-8"))} - found
    return sorted(found - {PACKAGE / "checks.py"})


def _cache_folder() -> Path:
    """The folder for this version's compiled code: the user's cache, else a temporary one."""
    digest = hashlib.sha256(numba.__version__.encode())
    for source in _sources():
        digest.update(source.read_bytes())
    base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    for root in (base, Path(tempfile.gettempdir())):
        folder = root / "blendlab" / digest.hexdigest()[:16]
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            return folder
    return Path(tempfile.mkdtemp())


@cache
def cache_folder() -> Path:
    """Where compiled code is kept, set once for the process unless the user has chosen a place.

    Returns
    -------
    Path
        A writable folder.
    """
    chosen = os.environ.get("NUMBA_CACHE_DIR")
    if chosen is None:
        chosen = str(_cache_folder())
        setattr(numba.config, "CACHE_DIR", chosen)  # noqa: B010 (numba makes its settings at run time)
    return Path(chosen)


def is_warm() -> bool:
    """Tell whether compiled code from an earlier run is at hand.

    Returns
    -------
    bool
        False on the first run of this version: the first picture then waits for the compiler.
    """
    return any(cache_folder().rglob("*.nbi"))


def compiled(**options: Any) -> Callable[[Callable[..., Any]], Any]:
    """Compile a function with Numba, kept on disk between runs.

    While it runs other threads go on. A parallel one takes all cores, so of these one runs at a time.

    Parameters
    ----------
    **options
        Passed on to `numba.njit`.

    Returns
    -------
    callable
        The decorator.
    """
    cache_folder()
    decorator: Callable[[Callable[..., Any]], Any] = numba.njit(
        cache=True, error_model="numpy", nogil=True, **options
    )
    return (lambda function: _in_turn(decorator(function))) if options.get("parallel") else decorator


def _in_turn(kernel: Callable[..., Any]) -> Callable[..., Any]:
    @wraps(kernel)
    def called(*args: Any) -> Any:
        with core_scheduler.taken():
            return kernel(*args)

    return called
