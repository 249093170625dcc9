"""Recipes as large as the rules allow: drawn like any other, in bounded time."""

import numpy as np
import pytest

from blendlab.look import ladder
from blendlab.look.prepared_sheet import prepare
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

FINEST, LARGEST = (0.2, 0.2, 0.2), (100.0, 100.0, 100.0)


@pytest.mark.parametrize(
    ("sheet", "sizes", "folding"),
    [
        (Sheet(1000.0, 1000.0, 1.0), [FINEST], Folding("roll", folds=16, unevenness=1.0, drag=1.0)),
        (Sheet(1000.0, 1000.0, 90.0), [FINEST, LARGEST], Folding(folds=16, unevenness=1.0)),
        (Sheet(1000.0, 20.0, 1.0), [LARGEST], Folding("twist:1080", folds=3, unevenness=1.0)),
    ],
    ids=["thin", "thick", "strip"],
)
def test_twelve_flakes_on_the_largest_sheets_are_followed_to_the_last_fold(
    sheet, sizes, folding, monkeypatch
):
    monkeypatch.setattr(ladder, "TILE_PX", 30)
    flakes = tuple(
        Flake(f"kind {n}", f"#{20 * n:02x}8040", 10.0 ** (6 - n), size_mm=sizes[n % len(sizes)])
        for n in range(12)
    )
    asked = Recipe("huge", sheet, flakes, folding)
    first, last = ladder.rungs(
        prepare(asked), [0, folding.folds]
    )  # wrong light would spoil the figures of a rung
    for rung in (first, last):
        assert np.isfinite([*rung.mean.lab, rung.contrast, rung.feature_mm, rung.layer_mm]).all()
        assert 0 <= rung.segregation <= 1
        assert rung.mean.lab[0] > 0
    assert last.layer_mm < first.layer_mm
