"""Offcuts strewn on a pressed slab: each chip shows its own piece of the older sheet."""

import numpy as np
import pytest
from scipy.stats.qmc import Sobol

from blendlab.folding.old_sheet import chances, lay, old_sheet
from blendlab.folding.programme import draw_programme
from blendlab.folding.scatter import strewings
from blendlab.folding.trace import follow_back
from blendlab.look.offcut_paths import followed_through, sampled_through
from blendlab.recipe.lay import Lay
from blendlab.recipe.offcut import Offcut
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

SHEET = Sheet(120.0, 90.0, 6.0)
OLD = Recipe(
    "Old tile",
    SHEET,
    (Flake("white", "#f1eee4", 45), Flake("blue", "#1d4f8f", 30), Flake("gold", "#f0ac2b", 25)),
    Folding(folds=2, seed=3),
)
PRESS = 1


def strewn(folds, size_mm=(15.0, 15.0, 2.0)):
    offcut = Offcut(OLD, 2)
    chips = Flake("chips", offcut.srgb, 20.0, size_mm=size_mm, cut_from=offcut)
    lays = (Lay(("green",)), Lay(("chips",), "scatter", before_press=PRESS))
    recipe = Recipe("New", SHEET, (Flake("green", "#2f6f4f", 80), chips), Folding(folds=folds), lays=lays)
    charge, programme = chances(recipe)
    drawn = draw_programme(recipe.folding, SHEET, folds, programme, strewings(recipe))
    return recipe, lay(recipe, charge, programme=drawn), drawn


def spread_points(size_mm, log2_points=16):
    return (Sobol(3, rng=1).random_base2(log2_points) - [0.5, 0.5, 0.0]) * size_mm


@pytest.mark.parametrize("folds", [1, 3])
def test_the_sheets_leaves_keep_their_shares(folds):
    recipe, laid, programme = strewn(folds)
    leaves = laid.leaves_at(follow_back(spread_points(programme.sizes_mm[folds]), programme, folds))
    shares = np.bincount(leaves, minlength=4) / len(leaves)
    assert shares[0] == pytest.approx(0.8, abs=0.003)
    assert shares == pytest.approx(recipe.leaf_shares, abs=0.02)  # some 70 chips hold what chance gives them


def test_a_chip_in_the_face_is_a_rigid_piece_of_the_older_sheet():
    """By hand: its middle, its turn, the older sheet's own folds."""
    _, laid, programme = strewn(1)
    (chips,) = laid.strewn
    plan = np.array([120.0, 90.0])
    i, j = np.argwhere(chips.own)[len(np.argwhere(chips.own)) // 2]
    piece = int(chips.pieces[i, j])
    at = (chips.seeds[i, j] / chips.own.shape - 0.5) * plan
    points = np.column_stack(
        [at + np.random.default_rng(0).uniform(-0.3, 0.3, (64, 2)), np.linspace(4.2, 5.8, 64)]
    )
    found = laid.leaves_at(_before_smear(points, programme))
    middle, spot = chips.cuts.middles_mm[piece], chips.cuts.spots_mm[piece]
    flat = ((points - middle)[:, :2] @ [1, 1j]) / (chips.cuts.turns[piece] @ [1, 1j])
    old_mm = np.column_stack([flat.real + spot[0], flat.imag + spot[1], points[:, 2] - middle[2] + spot[2]])
    names = [OLD.flakes[n].name for n in old_sheet(Offcut(OLD, 2)).leaves_at(old_mm)]
    assert [laid.leaves.flakes[n].name for n in found] == names


def _before_smear(points, programme):
    """Points of the store for points of a chip: along the plan they stay, down they go half as far."""
    kind, h0, h1 = 1, SHEET.thickness_mm, programme.sizes_mm[1][2]
    return np.column_stack([points[:, :2], -(1 + kind) * h0 + 0.5 * (points[:, 2] / h1 - 1) * h0])


@pytest.mark.parametrize("folds", [1, 3, 5])
def test_light_paths_hold_what_points_along_them_find(folds):
    _, laid, programme = strewn(folds)
    half = np.array(programme.sizes_mm[folds]) / 2
    paths = np.zeros((300, 6))
    paths[:, :2] = np.random.default_rng(0).uniform(-0.95, 0.95, (300, 2)) * half[:2]
    paths[:, 2], paths[:, 5] = half[2], -2.0
    whole = followed_through(paths, laid, programme, folds)
    points = sampled_through(paths, np.array([0.5]), 1024, laid, programme, folds)
    assert whole.sum(axis=1) == pytest.approx(1, abs=1e-5)
    assert abs(whole - points).max(axis=1).mean() < 0.05
    assert whole.mean(axis=0) == pytest.approx(points.mean(axis=0), abs=0.02)
    assert (points.mean(axis=0) > 0.01).all()
