"""The examples in the docstrings and on the API page run and say what is."""

import doctest
import shutil
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

import blendlab
from blendlab.photo import move_fit

PACKAGE = Path(blendlab.__file__).parent
OPTIONS = doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS


def modules() -> list[str]:
    """Every module with examples of its own; the screens draw on a page and have none."""
    sources = (
        s.relative_to(PACKAGE.parent) for s in sorted(PACKAGE.rglob("*.py")) if ">>> " in s.read_text("utf-8")
    )
    dotted = (".".join(source.with_suffix("").parts).removesuffix(".__init__") for source in sources)
    return [name for name in dotted if not name.startswith("blendlab.screens")]


@pytest.mark.parametrize("name", modules())
def test_examples_hold(name: str) -> None:
    with np.printoptions(legacy=False):  # colour-science, used by other tests, prints arrays the old way
        found = doctest.testmod(import_module(name), optionflags=OPTIONS)
    assert found.attempted > 0
    assert found.failed == 0


def test_the_examples_of_the_api_page_hold(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a folder as the clone's; the match looks no further than four folds, in a third of the time."""
    shutil.copytree(PACKAGE.parent / "swatches", tmp_path / "swatches")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(move_fit, "MAX_MATCHED_FOLDS", 4)
    with np.printoptions(legacy=False):
        page = str(PACKAGE / "API.md")
        found = doctest.testfile(page, module_relative=False, optionflags=OPTIONS, encoding="utf-8")
    assert found.attempted > 50
    assert found.failed == 0


def test_a_wrong_example_is_caught() -> None:
    example = doctest.DocTestParser().get_doctest(">>> 1 + 1\n3\n", {}, "wrong", None, 0)
    runner = doctest.DocTestRunner(verbose=False, optionflags=OPTIONS)
    assert runner.run(example, out=lambda _: None).failed == 1
