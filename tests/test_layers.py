"""Which room may import which, read from the sources with `ast`."""

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path, PurePosixPath

import pytest

ROOT = Path(__file__).resolve().parent.parent

# A room imports only from rooms on lower floors, never from another on its own floor.
FLOORS = (
    {"tables", "checks", "units"},
    {"runtime", "io"},
    {"recipe"},
    {"colour", "folding"},
    {"look"},
    {"photo"},
    {"workshop"},
    {"logbook"},
    {"screens", "cli"},
    {"app", "__main__"},
)
FLOOR = {room: number for number, rooms in enumerate(FLOORS) for room in rooms}

# The core computes: it never touches files, clocks, screens or pictures, nor random numbers of its own. Some
# modules of `io` reach files: they are not core, and the core never imports them.
CORE = {"tables", "checks", "units", "runtime", "io", "recipe", "colour", "folding", "look", "photo"}
OUTER = {
    "io.text_files",
    "io.pictures",
    "io.photo_files",
    "io.image_codec",
    "io.atomic_write",
    "io.shipped_files",
}
ASK_THE_SYSTEM = {"runtime.compiled", "runtime.code_cache", "runtime.memory"}  # the core's only ones
NOT_IN_CORE = {
    *("os", "pathlib", "shutil", "tempfile", "io", "sqlite3", "subprocess", "socket", "urllib"),
    *("time", "datetime", "random", "PIL", "streamlit"),
}

# Libraries that only one place may import.
KEEPERS = {"PIL": ("blendlab/io/image_codec.py",), "streamlit": ("blendlab/screens/", "app.py")}

# Libraries whose import name differs from the name they are installed by.
IMPORTED_AS = {"pillow": "PIL", "scikit_image": "skimage", "colour_science": "colour", "fpdf2": "fpdf"}

# All that may be used of numpy.random; the rest draws from one hidden, global state.
SOUND_RANDOM = {"Generator", "SeedSequence", "BitGenerator", "PCG64", "Philox", "default_rng"}


def room_of(path: PurePosixPath) -> str:
    """The room of a source; the package's own __init__ has none."""
    if path.parts[0] != "blendlab":
        return path.stem
    return "" if path.name == "__init__.py" and len(path.parts) == 2 else PurePosixPath(path.parts[1]).stem


def imported(tree: ast.AST, path: PurePosixPath) -> Iterator[tuple[int, str]]:
    """Line and full dotted name of everything imported, relative imports resolved."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            package = path.parent.parts[: len(path.parent.parts) + 1 - node.level] if node.level else ()
            base = ".".join([*package, *([node.module] if node.module else [])])
            yield from ((node.lineno, f"{base}.{alias.name}") for alias in node.names)


def floor_breaches(tree: ast.AST, path: PurePosixPath) -> Iterator[str]:
    """Imports from a higher floor or from another room on the same one."""
    here = room_of(path)
    if here and here not in FLOOR:
        yield f"{path}: give the room '{here}' a floor in tests/test_layers.py"
        return
    for line, name in imported(tree, path):
        parts = name.split(".")
        if not here or parts[0] != "blendlab" or parts[1] == here or parts[1].startswith("__"):
            continue
        if parts[1] not in FLOOR:
            yield f"{path}:{line}: '{name}' is no room of the house"
        elif FLOOR[parts[1]] >= FLOOR[here]:
            yield f"{path}:{line}: '{here}' must not know '{parts[1]}': imports run one way"


def library_breaches(tree: ast.AST, path: PurePosixPath) -> Iterator[str]:
    """Libraries used outside the one room that may, and files or clocks in the core."""
    module = ".".join(path.with_suffix("").parts[1:])
    core = room_of(path) in CORE and module not in OUTER and module not in ASK_THE_SYSTEM
    for line, name in imported(tree, path):
        library = name.split(".")[0]
        keepers = KEEPERS.get(library)
        if keepers and not any(str(path) == k or (k[-1] == "/" and str(path).startswith(k)) for k in keepers):
            yield f"{path}:{line}: only {' and '.join(keepers)} may import {library}"
        elif core and library in NOT_IN_CORE:
            yield f"{path}:{line}: the core never imports {library}"
        elif core and any(name.removeprefix("blendlab.").startswith(outer) for outer in OUTER):
            yield f"{path}:{line}: the core never imports '{name}', which reaches files"
    for node in ast.walk(tree):
        if core and isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "open":
            yield f"{path}:{node.lineno}: the core never opens files"


def chance_breaches(tree: ast.AST, path: PurePosixPath) -> Iterator[str]:
    """Draws from numpy's global state, and generators without a seed."""
    aliases = {
        (alias.asname or alias.name): alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.Import)
        for alias in node.names
    }
    names = {local: full for local, full in aliases.items() if full.split(".")[0] == "numpy"}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module in ("numpy", "numpy.random"):
            names |= {alias.asname or alias.name: f"{node.module}.{alias.name}" for alias in node.names}
    used = [(n.lineno, resolved(n, names)) for n in ast.walk(tree) if isinstance(n, ast.Attribute)]
    used += [(line, name) for line, name in imported(tree, path)]
    for line, name in used:
        parts = name.split(".")
        if parts[:2] == ["numpy", "random"] and len(parts) == 3 and parts[2] not in SOUND_RANDOM:
            yield f"{path}:{line}: '{name}' draws from a global state: pass a numpy.random.Generator"
    for node in ast.walk(tree):
        bare = isinstance(node, ast.Call) and not node.args and not node.keywords
        if bare and resolved(node.func, names) == "numpy.random.default_rng":
            yield f"{path}:{node.lineno}: a generator without a seed makes another sheet every time"


def resolved(node: ast.expr, names: dict[str, str]) -> str:
    """Dotted name of an expression, its first part put in full where it is an alias."""
    if isinstance(node, ast.Name):
        return names.get(node.id, node.id)
    if isinstance(node, ast.Attribute):
        return f"{resolved(node.value, names)}.{node.attr}"
    return "?"


def breaches(source: str, path: str) -> list[str]:
    """Every broken rule of one source, each in words."""
    tree, where = ast.parse(source), PurePosixPath(path)
    found = [*floor_breaches(tree, where), *library_breaches(tree, where), *chance_breaches(tree, where)]
    return sorted(set(found))


def sources() -> list[Path]:
    return [*sorted((ROOT / "blendlab").rglob("*.py")), *ROOT.glob("app.py")]


def test_every_library_is_declared_and_every_declared_one_used() -> None:
    declared = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    names = {re.split(r"[<>=~!\[; ]", entry)[0].replace("-", "_") for entry in declared}
    used = {
        name.split(".")[0]
        for source in sources()
        for _, name in imported(ast.parse(source.read_text("utf-8")), PurePosixPath(source.relative_to(ROOT)))
    }
    own = {"blendlab", "_typeshed", "__future__"}
    assert used - own - sys.stdlib_module_names == {IMPORTED_AS.get(name, name) for name in names}


def test_the_package_keeps_its_rules() -> None:
    found = sources()
    assert len(found) > 3, "the sources were not found"
    broken = [
        breach
        for source in found
        for breach in breaches(source.read_text("utf-8"), source.relative_to(ROOT).as_posix())
    ]
    assert not broken, "\n".join(broken)


BROKEN = r"""
colour/a.py | from ..folding import press | 'colour' must not know 'folding'
folding/a.py | from blendlab.colour.pigment import k | 'folding' must not know 'colour'
recipe/a.py | from .. import look | 'recipe' must not know 'look'
look/a.py | def f(): import blendlab.photo.match | 'look' must not know 'photo'
cli.py | from .screens import folds | 'cli' must not know 'screens'
photo/a.py | from ..io import pictures | the core never imports 'blendlab.io.pictures'
attic.py | | give the room 'attic' a floor
look/a.py | from ..attic import x | 'blendlab.attic.x' is no room
cli.py | from PIL import Image | only blendlab/io/image_codec.py may import PIL
look/a.py | import streamlit as st | only blendlab/screens/ and app.py may
screens/a.py | import PIL.Image | only blendlab/io/image_codec.py may import PIL
recipe/recipe.py | from pathlib import Path | the core never imports pathlib
look/a.py | import os.path | the core never imports os
folding/a.py | import random | the core never imports random
look/a.py | def f(): return open('x') | the core never opens files
cli.py | import numpy as np; np.random.seed(1) | 'numpy.random.seed' draws from a global
cli.py | from numpy.random import normal | 'numpy.random.normal' draws from a global
cli.py | from numpy import random; random.rand() | 'numpy.random.rand' draws from
cli.py | import numpy.random as r; r.rand() | 'numpy.random.rand' draws from a global
cli.py | import numpy as np; np.random.default_rng() | a generator without a seed
"""
SOUND = r"""
blendlab/look/a.py | from ..colour import pigment; from ..folding import trace; from . import b
blendlab/io/image_codec.py | import os; from PIL import Image
blendlab/screens/pages/folds.py | import streamlit as st; from blendlab.look import render
blendlab/cli.py | import os; from . import __version__; from .io import pictures; open('x')
blendlab/folding/a.py | import numpy as np; draw = lambda rng: np.random.Generator(rng).random()
blendlab/folding/a.py | import numpy as np; rng = np.random.default_rng(7)
app.py | import streamlit as st; from blendlab.screens import folds
"""


@pytest.mark.parametrize("row", BROKEN.strip().splitlines())
def test_a_broken_rule_is_reported_in_words(row: str) -> None:
    path, source, rule = (part.strip() for part in row.split("|"))
    found = breaches(source, f"blendlab/{path}")
    assert len(found) == 1
    assert rule in found[0]


@pytest.mark.parametrize("row", SOUND.strip().splitlines())
def test_what_the_rules_allow_passes(row: str) -> None:
    path, source = (part.strip() for part in row.split("|"))
    assert breaches(source, path) == []
