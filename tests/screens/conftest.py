from collections.abc import Iterator
from pathlib import Path

import pytest

from blendlab.look import ladder
from blendlab.look.view import Asked
from blendlab.recipe import Recipe
from blendlab.screens import cache
from blendlab.workshop import prediction


@pytest.fixture(autouse=True, scope="package")
def small_tiles() -> Iterator[None]:
    """Tiles of 60 pixels and views of a sixth in this process: the same pages in a fraction of the time.

    The real browser's server, a process of its own, draws them at full size.
    """
    view = cache.view

    def small(recipe: Recipe, px: int, samples: int, asked: Asked = cache.TOP) -> cache.Shown:
        return view(recipe, px // 6, samples, asked)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cache, "view", small)
        patch.setattr(ladder, "TILE_PX", 60)
        patch.setattr(prediction, "PICTURE_PX", 60)
        yield


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder for log, stock and drafts of each test's own: a test must never touch the maker's."""
    folder = tmp_path / "home"
    monkeypatch.setenv("BLENDLAB_HOME", str(folder))
    return folder
