"""The pictures that come with the program are those that it draws.

Where they are not: `python -m tests.bench.draw_opening`.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import BrowserContext, expect

from blendlab.io.pictures import read_png
from blendlab.look import ladder
from blendlab.look.prepared_sheet import prepare
from blendlab.look.view import SurfaceSpec, look_at
from blendlab.screens.parts import cache, draft, sheet_view
from blendlab.screens.parts import shipped_pictures as ships

from .browsing import PAGES, started, watched

DEMO = draft.demo()
START = cache.unfolded(DEMO)


@pytest.fixture
def full_size(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ladder, "TILE_PX", 160)


@pytest.mark.usefixtures("full_size")
def test_the_rungs_are_what_the_ladder_draws() -> None:
    found = ships.rungs(START)
    assert list(found) == list(cache.counts(DEMO))
    for drawn in ladder.rungs(prepare(START, max(found)), list(found)[::4]):
        step = found[drawn.folds]
        assert np.array_equal(step.srgb8, drawn.srgb8)
        assert step.mean.xyz1 == pytest.approx(drawn.mean.xyz1, rel=1e-9)
        assert (step.look, step.unfolded) == (drawn.look, pytest.approx(drawn.unfolded, rel=1e-9))
        for figure in ("contrast", "lively", "feature_mm", "segregation", "drift"):
            assert getattr(step, figure) == pytest.approx(getattr(drawn, figure), rel=1e-6, abs=1e-9)
        if step.folds == DEMO.folding.folds:  # takes longer than the picture
            assert step.layer_mm == pytest.approx(drawn.layer_mm, rel=1e-6)


def test_the_sheet_is_what_the_renderer_draws() -> None:
    px = sheet_view.PX
    folds, prepared = DEMO.folding.folds, prepare(START, cache.MAX_RUNGS)
    found, slab = ships.view(START, folds, px, SurfaceSpec()), prepared.sheet_after(folds)
    assert found
    view = look_at(SurfaceSpec().surface(slab, px / max(slab.size_mm)), prepared, folds)
    assert np.array_equal(read_png(found.png), view.srgb8)
    assert found.mean.xyz1 == pytest.approx(view.mean.xyz1, rel=1e-9)
    assert list(found.percent.values()) == pytest.approx(view.percent, rel=1e-6)
    assert list(found.percent) == [flake.name for flake in DEMO.flakes]


@pytest.mark.usefixtures("full_size")
def test_nothing_else_is_answered_by_them() -> None:
    folds, top = DEMO.folding.folds, SurfaceSpec()
    darker = replace(START.flakes[0], srgb="#f0eee4")
    for other in (START.with_folding(seed=8), replace(START, flakes=(darker, *START.flakes[1:]))):
        assert not ships.rungs(other)
        assert ships.view(other, folds, sheet_view.PX, top) is None
    assert ships.view(START, folds, sheet_view.PX, SurfaceSpec("bottom")) is None
    assert ships.view(START, folds + 1, sheet_view.PX, top) is None
    assert ships.view(START, folds, sheet_view.PX + 1, top) is None


def test_smaller_tiles_are_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ladder, "TILE_PX", 60)
    assert not ships.rungs(START)


def test_where_nothing_is_compiled_yet_the_opening_sheet_stands(
    context: BrowserContext, tmp_path: Path
) -> None:
    further = {"NUMBA_CACHE_DIR": str(tmp_path / "empty")}
    with started(tmp_path, **further) as (address, _), watched(context, "first") as page:
        page.goto(address)
        expect(page.get_by_role("heading", name=PAGES[""], level=1)).to_be_visible()
        expect(page.get_by_role("img", name="Top face after 4")).to_be_visible()
        expect(page.get_by_role("img", name="4 folds, ")).to_be_visible()
        expect(page.get_by_text("Compiling the folding code")).to_be_visible()
