"""Light paths of a laid charge: chips strewn later are cut from what lies about them, as point by point."""

import numpy as np
import pytest

from blendlab.look.brute_force import sampled
from blendlab.look.light_paths import followed
from blendlab.look.prepared_sheet import prepare
from blendlab.recipe.lay import Lay
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet


@pytest.mark.parametrize("folds", [1, 3])
def test_paths_through_strewn_chips_hold_what_many_points_hold(folds):
    flakes = (Flake("white", "#f1eee4", 60), Flake("blue", "#1d4f8f", 30), Flake("gold", "#f0ac2b", 10))
    lays = (Lay(("white",), "layer"), Lay(("blue",), "layer"), Lay(("gold",), "scatter", before_press=1))
    prepared = prepare(Recipe("Tile", Sheet(120.0, 90.0, 6.0), flakes, Folding(folds=3), lays=lays))
    rng = np.random.default_rng(0)
    paths = np.zeros((400, 6))
    paths[:, :2] = rng.uniform((-55, -40), (55, 40), (400, 2))
    paths[:, 2], paths[:, 5] = 3.0, -2.5
    found = followed(paths, prepared.charge, prepared.programme, folds)
    points = sampled(paths, np.array([0.5]), 1024, prepared.charge, prepared.programme, folds)
    assert found.sum(axis=1) == pytest.approx(np.ones(400), abs=1e-5)
    # A chip's face is found within a 64th of the path's piece.
    assert np.abs(found - points).max(axis=1).mean() < 0.01
    assert found.mean(axis=0) == pytest.approx(points.mean(axis=0), abs=0.004)
    assert points[:, 2].max() > 0.4  # chips are among them
