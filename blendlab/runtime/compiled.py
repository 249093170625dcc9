"""The one place where numerical loops are handed to Numba.

Numba keys a cached function on the file it stands in, not on the files of the functions and constants it
uses, so an edit to `folding/press.py` would leave a stale picture kernel behind. The cache therefore has a
folder named after a digest of every file with compiled code and of those their constants come from. An edit
to any of these compiles all kernels again; an edit elsewhere compiles none.
"""

import ast
import hashlib
from collections.abc import Callable, Iterator
from functools import cache, wraps
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

import numba
from numba.core.cpu import CPUTargetOptions

from . import core_scheduler
from .code_cache import chosen_folder, keeper

Parameters = ParamSpec("Parameters")
Result = TypeVar("Result")

PACKAGE = Path(__file__).parents[1]
MARK = "\n@compiled("  # what a file with compiled code holds
# Keeps Numba from counting who holds an array: where a version cannot, pictures take 1.7 times as long.
UNCOUNTED = {"_nrt": False} if hasattr(CPUTargetOptions, "_nrt") else {}


def _compiles(decorator: ast.expr) -> bool:
    """Return whether a decorator is `compiled(...)`."""
    function = decorator.func if isinstance(decorator, ast.Call) else decorator
    return isinstance(function, ast.Name) and function.id == "compiled"


def _names_used(tree: ast.Module) -> set[str]:
    """Return the names that a file's compiled functions and constants are made of, annotations left out."""
    parts: list[ast.AST] = []
    for node in tree.body:
        if isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None:
            parts.append(node.value)
        elif isinstance(node, ast.FunctionDef) and any(map(_compiles, node.decorator_list)):
            parts += node.body
    return {name.id for part in parts for name in ast.walk(part) if isinstance(name, ast.Name)}


def _file_of(module: Path) -> Path:
    """Return the file of a module or package, given without its ending."""
    file = module.with_suffix(".py")
    return file if file.is_file() else module / "__init__.py"


def _origins(source: Path) -> Iterator[Path]:
    """Yield the files of the package from which a file's compiled functions and constants take names."""
    tree = ast.parse(source.read_bytes())
    used = _names_used(tree)
    for node in tree.body:
        if not isinstance(node, ast.ImportFrom) or not node.level:
            continue
        origin = source.parents[node.level - 1].joinpath(*(node.module or "").split("."))
        for alias in node.names:
            if alias.name in used:
                module = origin / f"{alias.name}.py"
                yield module if module.is_file() else _file_of(origin)


def kernel_sources(package: Path) -> list[Path]:
    """Return the files that decide what the compiled code does, sorted.

    They are those with compiled functions, and those from which these and their constants take names.
    """
    found: set[Path] = set()
    waiting = {path for path in package.rglob("*.py") if MARK in path.read_text("utf-8")}
    while waiting:
        found |= waiting
        waiting = {origin for path in waiting for origin in _origins(path)} - found
    return sorted(found)


def kernel_digest(package: Path) -> str:
    """Return a name for the compiled code of a package, 16 hexadecimal digits."""
    digest = hashlib.sha256(numba.__version__.encode())
    for source in kernel_sources(package):
        digest.update(source.read_bytes())
    return digest.hexdigest()[:16]


@cache
def cache_folder() -> Path | None:
    """Return the folder of this version's compiled code; None where none can be written."""
    return chosen_folder(kernel_digest(PACKAGE))


def is_kept(kernel: Callable[..., Any]) -> bool:
    """Return whether a compiled function's code from an earlier run is at hand."""
    folder, name = cache_folder(), f"{kernel.__module__.rpartition('.')[2]}.{kernel.__qualname__}"
    return folder is not None and any(folder.rglob(f"{name}-*.nbi"))  # as Numba names it


def compiled(
    *, allocates: bool = True, **options: Any
) -> Callable[[Callable[Parameters, Result]], Callable[Parameters, Result]]:
    """Compile a function with Numba and keep the code on disk between runs.

    Other threads run while it does. A parallel function takes all cores, so only one of these runs at a time.

    Parameters
    ----------
    allocates : bool
        False for a function of a hot loop that makes no arrays: Numba then does not count who holds those it
        is given, which takes longer than the work on a few numbers.
    **options
        Passed on to `numba.njit`.

    Returns
    -------
    callable
        The decorator; the compiled function takes what the plain one takes.
    """

    def decorated(function: Callable[Parameters, Result]) -> Callable[Parameters, Result]:
        settings: Any = {"error_model": "numpy", "nogil": True, **({} if allocates else UNCOUNTED), **options}
        kernel: Any = numba.njit(**settings)(function)
        kernel._cache = keeper(function, cache_folder())  # as `cache=True`, with what the keeper does better
        return _in_turn(kernel) if options.get("parallel") else kernel

    return decorated


def _in_turn(kernel: Callable[Parameters, Result]) -> Callable[Parameters, Result]:
    @wraps(kernel)
    def called(*args: Parameters.args, **kwargs: Parameters.kwargs) -> Result:
        with core_scheduler.taken():
            return kernel(*args, **kwargs)

    return called
