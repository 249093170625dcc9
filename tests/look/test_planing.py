"""How far a face can be planed before the look changes."""

import numpy as np
import pytest

from blendlab.look.planing import planing
from blendlab.look.prepared_sheet import PreparedSheet, prepare
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

SHEET = Sheet(60.0, 50.0, 6.0)
FLAKES = (Flake("cream", "#f1e6c8", 60), Flake("red", "#c0392b", 30), Flake("plum", "#5b2340", 10))


@pytest.fixture(scope="module")
def prepared() -> PreparedSheet:
    return prepare(Recipe("tile", SHEET, FLAKES, Folding(folds=4, drag=0.4)))


def test_planing_nothing_changes_nothing_and_planing_on_changes_more(prepared: PreparedSheet) -> None:
    found = planing(prepared, 2)
    assert found.depths_mm[0] == 0.0
    assert found.likeness[0] == pytest.approx(1.0)
    assert found.delta_e[0] == 0.0
    assert np.all(np.diff(found.depths_mm) > 0)
    assert found.depths_mm[-1] == pytest.approx(3.0)
    shallow, deep = found.depths_mm < 0.1, found.depths_mm > 1.0
    assert found.likeness[shallow].min() > found.likeness[deep].max()
    assert found.delta_e[shallow].max() < found.delta_e[deep].min()


def test_the_more_folds_the_less_may_be_planed(prepared: PreparedSheet) -> None:
    halves = [planing(prepared, folds, [0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0]).half_mm for folds in (0, 2, 4)]
    assert None not in halves
    assert halves == sorted(halves, reverse=True)
    assert 0.2 < halves[0] < 1.6  # unfolded: within a flake's thickness
    assert halves[2] < 0.5 * halves[0]


def test_the_half_is_between_the_depths_that_enclose_it(prepared: PreparedSheet) -> None:
    found = planing(prepared, 2, [0.05, 0.6, 1.5])
    assert found.half_mm is not None
    after = int(np.flatnonzero(found.likeness <= 0.5)[0])
    assert found.depths_mm[after - 1] < found.half_mm <= found.depths_mm[after]


def test_a_sheet_of_one_colour_never_changes() -> None:
    plain = prepare(Recipe("plain", SHEET, FLAKES[:1], Folding(folds=1)))
    found = planing(plain, 1, [0.5, 2.0])
    assert found.half_mm is None
    np.testing.assert_allclose(found.likeness, 1.0)
    np.testing.assert_allclose(found.delta_e, 0.0, atol=1e-6)
