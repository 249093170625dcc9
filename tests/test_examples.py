"""The examples in the docstrings, on the API page and in the README run and say what is."""

import doctest
import re
import shlex
import shutil
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

import blendlab
from blendlab import cli
from blendlab.io.text_files import Beside
from blendlab.photo import move_fit
from blendlab.recipe.recipe import from_toml
from blendlab.workshop.batch_plan import plan
from blendlab.workshop.laying import spread_lines, unstrewn_lines
from blendlab.workshop.order import Order

PACKAGE = Path(blendlab.__file__).parent
README = (PACKAGE.parent / "README.md").read_text("utf-8")
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


def of_readme(language: str) -> list[str]:
    """Return the snippets of the README in a language."""
    return re.findall(rf"^```{language}\n(.*?)^```", README, re.DOTALL | re.MULTILINE)


def test_the_readmes_commands_name_what_a_clone_holds() -> None:
    lines = "".join(of_readme("sh")).replace("\\\n", "").splitlines()
    commands = [shlex.split(line, comments=True) for line in lines if "bin/blendlab " in line]
    assert {words[1] for words in commands} == {"ladder", "batch", "match"}
    for program, *words in commands:
        assert program == ".venv/bin/blendlab"
        cli._arguments(words)
        read = [word for word in words if re.search(r"\.(toml|csv|jpg)$", word)]
        assert read
        for name in read:
            assert (PACKAGE.parent / name).is_file()


@pytest.mark.parametrize("snippet", of_readme("toml"))
def test_the_readmes_recipes_are_planned_without_a_remark(snippet: str) -> None:
    """Each added to the recipe that the README names, in its folder."""
    path = PACKAGE.parent / "swatches" / "harbour.toml"
    recipe = from_toml(path.read_text("utf-8") + snippet, Beside(path.with_name("mine.toml")))
    assert recipe != from_toml(path.read_text("utf-8"))
    batch = plan(recipe, Order(170, 170, 6))
    assert spread_lines(batch.recipe, batch.load_g) == ()
    assert unstrewn_lines(batch.recipe, batch.recipe.folding.folds) == ()
    assert batch.recipe.lays or batch.recipe.flakes[-1].cut_from


def test_a_wrong_example_is_caught() -> None:
    example = doctest.DocTestParser().get_doctest(">>> 1 + 1\n3\n", {}, "wrong", None, 0)
    runner = doctest.DocTestRunner(verbose=False, optionflags=OPTIONS)
    assert runner.run(example, out=lambda _: None).failed == 1
