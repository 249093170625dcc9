"""Which edits compile the kernels again, and that importing them leaves other libraries alone."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from blendlab.runtime import compiled as module
from blendlab.runtime.compiled import PACKAGE, compiled, kernel_digest, kernel_sources

FILES = {
    "kernel.py": """
from .constants import RADIUS
from .sentences import REMEDY, refuse
from . import shapes
from ..runtime.compiled import compiled

LONG = shapes.LENGTH * 2


@compiled()
def area(length: float) -> float:
    return length * LONG * RADIUS


def checked(length):
    return length if length > 0 else refuse(REMEDY)
""",
    "constants.py": "from .roots import ROOT\n\nRADIUS = 2.0 * ROOT\n",
    "roots.py": "ROOT = 1.5\n",
    "shapes.py": "LENGTH = 3.0\n",
    "sentences.py": "REMEDY = 'make it longer'\n\n\ndef refuse(remedy):\n    raise ValueError(remedy)\n",
    "page.py": "from .kernel import area\n\nTITLE = 'Area'\n",
}


@pytest.fixture
def package(tmp_path: Path) -> Path:
    for name, text in FILES.items():
        (tmp_path / name).write_text(text)
    return tmp_path


@pytest.mark.parametrize("name", ["kernel.py", "constants.py", "roots.py", "shapes.py"])
def test_an_edit_to_a_kernel_or_a_constant_it_uses_compiles_again(package: Path, name: str) -> None:
    before = kernel_digest(package)
    (package / name).write_text(FILES[name].replace("1.5", "1.6").replace("2", "4").replace("3.0", "3.1"))
    assert kernel_digest(package) != before


@pytest.mark.parametrize("name", ["sentences.py", "page.py"])
def test_an_edit_to_a_sentence_or_a_page_compiles_nothing(package: Path, name: str) -> None:
    before = kernel_digest(package)
    (package / name).write_text(FILES[name].replace("longer", "shorter").replace("Area", "Areas"))
    assert kernel_digest(package) == before


def test_recipes_refusals_and_pages_are_no_part_of_the_compiled_code() -> None:
    rooms = {path.relative_to(PACKAGE).parts[0] for path in kernel_sources(PACKAGE)}
    assert not rooms & {"checks.py", "recipe", "io", "logbook", "screens", "cli"}
    assert {"folding", "look", "colour"} <= rooms


def test_importing_kernels_changes_nothing_elsewhere() -> None:
    code = (
        "import os, numba\n"
        "seen = lambda: (dict(os.environ), dict(vars(numba.config)))\n"
        "before = seen()\n"
        "import blendlab.look.view, blendlab.photo.match\n"
        "after = seen()\n"
        "assert after == before, [one for one, other in zip(after, before) if one != other]\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_a_compiled_function_computes_what_the_plain_one_does() -> None:
    @compiled()
    def cubed(length: float) -> float:
        return length**3

    assert cubed(3.0) == 27.0


@pytest.mark.parametrize("known", [True, False])
def test_a_numba_that_cannot_leave_out_its_counting_compiles_too(
    known: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert module.UNCOUNTED  # where it can, it is asked to
    if not known:
        monkeypatch.setattr(module, "UNCOUNTED", {})
    first = compiled(allocates=False)(lambda points: points[0] + 1.0)
    assert first(np.array([2.0])) == 3.0
