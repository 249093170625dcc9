"""Whole programmes: shares kept at every fold count, there and back again, the same from a seed."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import chi2

from blendlab.folding.charge import lay_charge
from blendlab.folding.programme import draw_programme
from blendlab.folding.trace import follow_back
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

from .forward import follow_forward

SHEET = Sheet(200.0, 150.0, 6.0)
PRESSES = list(itertools.product((0.0, 0.5, 1.0), (0.0, 1.0)))  # drag, unevenness


def drawn(folds, drag=0.5, unevenness=0.3, sheet=SHEET, seed=5):
    folding = Folding(drag=drag, unevenness=unevenness)
    return draw_programme(folding, sheet, folds, np.random.default_rng(seed))


def points_in(sheet, count, seed=0):
    size = np.array(sheet.size_mm)
    return (np.random.default_rng(seed).random((count, 3)) - [0.5, 0.5, 0.0]) * size


def only(programme, cycle):
    """One cycle of a programme as a programme of its own."""
    first, last = programme.ends[cycle - 1 : cycle + 1]
    sizes = programme.sizes_mm[cycle - 1 : cycle + 1]
    tables = programme.tables._replace(steps=programme.tables.steps[first:last])
    return replace(programme, tables=tables, ends=(0, last - first), sizes_mm=sizes)


def evenness(points, sheet, bins=(10, 8, 6)):
    """Chance that points spread evenly over the slab would lie as unevenly as these (chi-squared)."""
    inside = points / sheet.size_mm + [0.5, 0.5, 0.0]
    counts, _ = np.histogramdd(inside, bins, [(0, 1)] * 3)
    expected = len(points) / counts.size
    return chi2.sf(((counts - expected) ** 2 / expected).sum(), counts.size - 1)


@pytest.fixture(scope="module")
def charge():
    flakes = (Flake("white", "#f2f0e8", 50), Flake("blue", "#14409a", 35), Flake("red", "#c0392b", 15))
    return lay_charge(Recipe("Tile", SHEET, flakes), np.random.default_rng(1))


def holds_its_shares(charge, points):
    shares = np.array([0.5, 0.35, 0.15])
    seen = np.bincount(charge.kinds_at(points), minlength=3) / len(points)
    return np.all(np.abs(seen - shares) < 4 * np.sqrt(shares * (1 - shares) / len(points)))


@pytest.mark.parametrize(("drag", "unevenness"), PRESSES)
def test_shares_are_kept_at_every_fold_count(charge, drag, unevenness):
    # Points of the last sheet, followed back one cycle after another: at each stop they are
    # points of the slab that was folded one, two, three ... times less, and lie as evenly in it.
    folds = 6
    programme = drawn(folds, drag, unevenness)
    points = points_in(SHEET, 400_000)
    for cycle in range(folds, 0, -1):
        points = follow_back(points, only(programme, cycle), 1)
        assert holds_its_shares(charge, points)
        assert evenness(points[:100_000], SHEET) > 1e-3


def test_shares_are_kept_in_the_farthest_folded_sheet(charge):
    points = follow_back(points_in(SHEET, 400_000, seed=3), drawn(16, 0.5, 0.0), 16)
    assert holds_its_shares(charge, points)
    assert evenness(points, SHEET) > 1e-3


@pytest.mark.parametrize(("drag", "unevenness"), PRESSES)
def test_one_cycle_and_back_is_the_identity(drag, unevenness):
    # None of the points is exactly on the edge, the one place where the press has no inverse.
    programme, points = drawn(1, drag, unevenness), points_in(SHEET, 100_000)
    for there, back in ((follow_forward, follow_back), (follow_back, follow_forward)):
        away = np.abs(back(there(points, programme, 1), programme, 1) - points).max(axis=1)
        assert away.max() < 1e-9
        assert np.quantile(away, 0.999) < 1e-11


def nearby_stays_near(points, programme, folds, carry):
    """Whether points 1e-7 mm off are carried along: not where a fold line or the edge runs between."""
    nudged = np.clip(points + 1e-7, *bounds(SHEET))
    apart = carry(nudged, programme, folds) - carry(points, programme, folds)
    return np.abs(apart).max(axis=1) < 1e-2


def bounds(sheet):
    high = np.array(sheet.size_mm) * [0.5, 0.5, 1.0]
    return high * [-1, -1, 0], high


@pytest.mark.parametrize(("drag", "unevenness"), PRESSES)
def test_many_cycles_and_back_are_the_identity(drag, unevenness):
    # Every fold doubles the rounding and the smear adds to it. Points that the edge or a fold line separates
    # from their neighbours (measured, not guessed) are left out: fewer than one in a thousand.
    folds, points = 3, points_in(SHEET, 50_000)
    programme = drawn(folds, drag, unevenness)
    for there, back in ((follow_forward, follow_back), (follow_back, follow_forward)):
        near = nearby_stays_near(points, programme, folds, there)
        assert near.mean() > 0.999
        away = np.abs(back(there(points, programme, folds), programme, folds) - points).max(axis=1)
        assert away[near].max() < 1e-9
        assert np.quantile(away, 0.99) < 1e-11


presses = st.tuples(st.floats(0, 1), st.floats(0, 1))
slabs = st.builds(Sheet, st.floats(20, 1000), st.floats(20, 1000), st.floats(1, 100))


@given(presses, slabs, st.integers(0, 6), st.integers(0, 2**32 - 1))
@settings(max_examples=15)
def test_any_programme_stays_in_its_slab_and_comes_back(press, sheet, folds, seed):
    programme = drawn(folds, *press, sheet, seed)
    points = points_in(sheet, 2000, seed)
    low, high = bounds(sheet)
    for carried in (follow_back(points, programme, folds), follow_forward(points, programme, folds)):
        assert np.all(carried >= low - 1e-9)
        assert np.all(carried <= high + 1e-9)
    back = follow_back(follow_forward(points, programme, folds), programme, folds)
    assert np.quantile(np.abs(back - points).max(axis=1), 0.99) < 1e-8
    assert evenness(follow_back(points, programme, folds), sheet, (4, 4, 3)) > 1e-6


def test_no_folds_change_nothing():
    points = points_in(SHEET, 1000)
    for programme in (drawn(0), drawn(5)):
        assert np.array_equal(follow_back(points, programme, 0), points)
        assert np.array_equal(follow_forward(points, programme, 0), points)


def test_the_seed_decides_everything():
    points = points_in(SHEET, 5000)
    first, again, other = (follow_back(points, drawn(4, seed=seed), 4) for seed in (5, 5, 6))
    assert np.array_equal(first, again)
    assert np.median(np.abs(first - other).max(axis=1)) > 1


def test_each_cycle_ends_on_the_sheet_and_folds_the_other_way():
    programme = drawn(4, 0.0, 0.0)
    assert programme.cycles == 4
    assert np.array(programme.sizes_mm) == pytest.approx(np.tile(SHEET.size_mm, (5, 1)))
    points, step = points_in(SHEET, 2000), 1e-6
    for cycle in range(1, 5):
        one = only(programme, cycle)
        for axis in (0, 1):
            off = np.zeros(3)
            off[axis] = step
            shrunk = np.abs(follow_back(points + off, one, 1) - follow_back(points, one, 1))[:, axis] / step
            folded = axis == (cycle - 1) % 2  # the longer side first
            assert np.median(shrunk) == pytest.approx(0.5 if folded else 1.0, rel=1e-6)


def test_points_may_come_in_any_order():
    programme = drawn(2)
    points = points_in(SHEET, 64)
    assert np.array_equal(follow_back(points[::-2], programme, 2), follow_back(points, programme, 2)[::-2])
    assert follow_back(points[:0], programme, 2).shape == (0, 3)
