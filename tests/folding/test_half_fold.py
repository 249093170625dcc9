"""Folding in half, pressed without drag evenly: the baker's map in closed form."""

from dataclasses import replace

import numpy as np
import pytest

from blendlab.folding.programme import draw_programme
from blendlab.folding.trace import follow_back
from blendlab.recipe.recipe import Folding, Sheet

from .forward import follow_forward

SHEET = Sheet(160.0, 120.0, 8.0)
HEIGHT = SHEET.thickness_mm


def drawn(folds, unevenness=0.0, seed=0):
    folding = Folding("half", folds, drag=0.0, unevenness=unevenness)
    return draw_programme(folding, SHEET, folds, np.random.default_rng(seed))


def points(count, seed=0):
    return (np.random.default_rng(seed).random((count, 3)) - [0.5, 0.5, 0.0]) * SHEET.size_mm


def tent(depth):
    """One fold of the depth over itself: up the lower sheet, down the one turned over."""
    return HEIGHT * (1 - np.abs(1 - 2 * depth / HEIGHT))


@pytest.mark.parametrize("folds", [1, 2, 5, 10])
def test_depth_follows_the_tent_map(folds):
    """The tent map, which is the baker's map seen in the depth: 2**n layers, each h/2**n thick."""
    line = np.zeros((40_001, 3))
    line[:, :2] = 13.7, -21.3
    line[:, 2] = np.linspace(0, HEIGHT, len(line))
    depth = follow_back(line, drawn(folds), folds)[:, 2]
    expected = line[:, 2]
    for _ in range(folds):
        expected = tent(expected)
    assert depth == pytest.approx(expected, abs=1e-9)
    rises = np.sign(np.diff(depth)[np.abs(np.diff(depth)) > 1e-9])
    assert 1 + np.count_nonzero(np.diff(rises)) == 2**folds


@pytest.mark.parametrize("folds", range(11))
def test_layers_thin_by_exactly_two_to_the_folds(folds):
    step = HEIGHT * 2.0**-24  # a power of two, so that not a bit is lost to it
    here = points(2000)
    here[:, 2] = np.floor(here[:, 2] / step) * step
    layer = HEIGHT / 2**folds
    here = here[np.floor(here[:, 2] / layer) == np.floor((here[:, 2] + step) / layer)]
    there = here + np.array([0, 0, step])
    slope = (follow_back(there, drawn(folds), folds) - follow_back(here, drawn(folds), folds))[:, 2] / step
    assert np.array_equal(np.abs(slope), np.full(len(here), 2.0**folds))


@pytest.mark.parametrize("folds", [2, 4, 8])
def test_the_plan_stretches_at_the_rate_of_the_bakers_map(folds):
    """Rate ln 2 a fold along the folded side; the sides take turns, so each is stretched every other fold."""
    step = 1e-7
    programme, here = drawn(folds), points(2000)
    for axis in (0, 1):
        off = np.zeros(3)
        off[axis] = step
        apart = follow_forward(here + off, programme, folds) - follow_forward(here, programme, folds)
        rate = np.log(np.median(np.abs(apart[:, axis]) / step)) / (folds / 2)
        assert rate == pytest.approx(np.log(2), abs=1e-6)


def test_a_single_fold_turns_one_half_over_onto_the_other():
    ends, seeds = [], range(8)
    corner = np.array([[-80.0, 10.0, 1.0], [80.0, 10.0, 1.0], [-40.0, 10.0, 1.0], [40.0, 10.0, 1.0]])
    for seed in seeds:
        after = follow_forward(corner, drawn(1, seed=seed), 1)
        assert after[0, 0] == pytest.approx(after[1, 0])  # both ends meet
        assert after[2, 0] == pytest.approx(0)  # and what was halfway to the fold line in the middle
        assert after[:, 1] == pytest.approx(10)
        assert sorted(after[:2, 2]) == pytest.approx([0.5, HEIGHT - 0.5])  # one lies with its face down
        ends.append(after[0, 2] < after[1, 2])
    assert {True, False} == set(ends)  # either end may be taken


def test_a_line_off_the_middle_leaves_columns_of_a_single_layer_which_are_levelled():
    single = []
    for seed in range(12):
        programme = drawn(1, unevenness=1.0, seed=seed)
        steps = programme.tables.steps.copy()
        steps.end_grid = steps.first_grid  # leave the smear out
        programme = replace(programme, tables=programme.tables._replace(steps=steps))
        here, step = points(4000), np.array([0, 0, 1e-6])
        first = follow_back(here, programme, 1)
        slope = np.abs(follow_back(here + step, programme, 1) - first)[:, 2] / step[2]
        once, twice = np.abs(slope - 1) < 1e-6, np.abs(slope - 2) < 1e-6
        assert (once | twice).mean() > 0.999
        single.append(once.mean())
        counts, _ = np.histogramdd(first / SHEET.size_mm + [0.5, 0.5, 0.0], (4, 3, 3), [(0, 1)] * 3)
        expected = len(first) / counts.size
        assert ((counts - expected) ** 2 / expected).sum() < 2.2 * counts.size  # chi-squared, 5 sigma
    # The line misses by a twentieth of the half side (one spread); so much of the plan then lies single.
    assert max(single) < 0.16
    assert np.sqrt(np.mean(np.square(single))) == pytest.approx(0.05, abs=0.02)
