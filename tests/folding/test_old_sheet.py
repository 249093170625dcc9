"""Pieces of offcuts in a charge: where each was cut, what it holds, and that all together hold its shares."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import KDTree
from scipy.stats.qmc import Sobol

from blendlab.folding.old_sheet import chances, lay, old_sheet
from blendlab.folding.programme import draw_programme
from blendlab.folding.trace import follow_back
from blendlab.recipe.offcut import Offcut
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

SHEET = Sheet(120.0, 120.0, 6.0)
OLD = Recipe(
    "Old tile",
    Sheet(150.0, 100.0, 6.0),
    (Flake("white", "#f1eee4", 45), Flake("blue", "#1d4f8f", 30), Flake("gold", "#f0ac2b", 25)),
    Folding(folds=2, seed=3),
)


def cut(old=OLD, folds=2, size_mm=(7.0, 7.0, 1.6), grams=50.0, **folding):
    offcut = Offcut(old, folds)
    chips = Flake("chips", offcut.srgb, grams, size_mm=size_mm, cut_from=offcut)
    return Recipe("New tile", SHEET, (Flake("green", "#2f6f4f", 80), chips), Folding(**folding))


def laid(recipe):
    return lay(recipe, chances(recipe)[0])


def spread_points(size_mm, log2_points):
    return (Sobol(3, rng=1).random_base2(log2_points) - [0.5, 0.5, 0.0]) * size_mm


@pytest.mark.parametrize("size_mm", [(7.0, 7.0, 1.6), (25.0, 18.0, 5.0)], ids=["flakes", "tiles"])
def test_a_point_of_a_piece_is_where_hand_calculation_puts_it(size_mm):
    """By hand: the nearest seed, one rigid move, the older sheet's own folds, the nearest seed there."""
    recipe = cut(size_mm=size_mm)
    new, old = laid(recipe), old_sheet(Offcut(OLD, 2))
    points = spread_points(new.charge.size_mm, 12)
    corner = np.array([60.0, 60.0, 0.0])
    cells = KDTree(new.charge.seeds.reshape(-1, 3)).query((points + corner) * new.charge.cells_per_mm)[1]
    pieces = new.charge.pieces.ravel()[cells]
    inside = np.flatnonzero(pieces >= 0)
    assert 0.2 < len(inside) / len(points) < 0.6
    middle, spot = new.cuts.middles_mm[pieces[inside]], new.cuts.spots_mm[pieces[inside]]
    turn = new.cuts.turns[pieces[inside]] @ [1, 1j]
    flat = ((points[inside] - middle)[:, :2] @ [1, 1j]) / turn
    x, y = flat.real + spot[:, 0], flat.imag + spot[:, 1]
    z = points[inside, 2] - middle[:, 2] + spot[:, 2]
    within = (abs(x) < 75) & (abs(y) < 50) & (abs(z - 3) < 3)
    assert within.mean() > 0.8  # others are mirrored
    programme = draw_programme(OLD.folding, OLD.sheet, 2, chances(OLD)[1])
    back = follow_back(np.stack([x, y, z], axis=-1)[within], programme, 2)
    names = np.array([flake.name for flake in OLD.flakes])[old.laid.charge.kinds_at(back)]
    found = new.leaves_at(points[inside][within])
    assert np.array([leaf.name for leaf in new.leaves.flakes])[found].tolist() == names.tolist()


def test_a_piece_is_a_rigid_copy():
    new = laid(cut(size_mm=(20.0, 20.0, 5.0)))
    rng = np.random.default_rng(0)
    for piece in range(5):
        near = new.cuts.middles_mm[piece] + rng.uniform(-0.5, 0.5, (8, 3))
        old = new.cuts.into_old(near, np.full(8, piece))
        apart = np.linalg.norm(near[:, None] - near, axis=-1)
        assert np.linalg.norm(old[:, None] - old, axis=-1) == pytest.approx(apart)


def test_beyond_an_edge_the_older_sheet_is_mirrored():
    cuts = laid(cut()).cuts
    far = cuts.middles_mm[:1] + np.linspace(0, 500, 400)[:, None] * [0.6, 0.8, 0.01]
    old = cuts.into_old(far, np.zeros(400, int))
    assert (abs(old) <= [75, 50, 6]).all()
    assert np.linalg.norm(np.diff(old, axis=0), axis=1).max() <= 500 / 399 * 1.0001  # without a jump


def test_pieces_come_from_all_over_the_older_sheet_turned_every_way():
    cuts = laid(cut()).cuts
    assert len(cuts.middles_mm) > 400
    for axis, side in enumerate((150 - 7, 100 - 7, 6 - 1.6)):  # a turned piece keeps off the edge by more
        at = (cuts.spots_mm[:, axis] - (3.0 if axis == 2 else 0.0)) / side + 0.5
        counts = np.histogram(at, 8, (0, 1))[0] / len(at)
        assert counts == pytest.approx(np.full(8, 1 / 8), abs=0.06)
    angles = np.arctan2(*cuts.turns.T[::-1])
    assert np.histogram(angles, 8, (-np.pi, np.pi))[0] / len(angles) == pytest.approx(
        np.full(8, 1 / 8), abs=0.05
    )


@pytest.mark.parametrize("folds", [0, 1, 4])
@pytest.mark.parametrize("old_folds", [0, 2, 5])
def test_every_leaf_fills_its_share_within_a_fifth_of_a_point(folds, old_folds):
    recipe = cut(folds=old_folds)
    programme = draw_programme(recipe.folding, recipe.sheet, 4, chances(recipe)[1])
    leaves = laid(recipe).leaves_at(
        follow_back(spread_points(programme.sizes_mm[folds], 18), programme, folds)
    )
    shares = np.bincount(leaves, minlength=4) / len(leaves)
    assert shares == pytest.approx(recipe.leaf_shares, abs=0.002)


@given(
    st.lists(st.floats(1, 100), min_size=2, max_size=4),
    st.floats(5, 300),
    st.integers(0, 5),
    st.integers(0, 2**32 - 1),
)
@settings(max_examples=6)
def test_any_older_sheet_keeps_its_shares(grams, of_chips, folds, seed):
    flakes = tuple(Flake(f"kind {n}", "#808080", each) for n, each in enumerate(grams))
    recipe = cut(Recipe("Old", SHEET, flakes), folds, grams=of_chips, seed=seed)
    new = laid(recipe)
    leaves = new.leaves_at(spread_points(new.charge.size_mm, 18))
    shares = np.bincount(leaves, minlength=len(grams) + 1) / len(leaves)
    assert shares == pytest.approx(recipe.leaf_shares, abs=0.002)


def test_four_sheets_deep_every_leaf_is_found():
    recipe = OLD
    for n in range(4):
        chips = Flake("chips", "#808080", 70.0, cut_from=Offcut(recipe, 1))
        recipe = Recipe("New", SHEET, (Flake(f"own {n}", "#2f6f4f", 30), chips))
    new = laid(recipe)
    leaves = new.leaves_at(spread_points(new.charge.size_mm, 15))
    shares = np.bincount(leaves, minlength=7) / len(leaves)
    assert shares == pytest.approx(recipe.leaf_shares, abs=0.004)
    assert new.leaves.flakes[-1].name == "gold"
    assert recipe.leaf_shares[-1] == pytest.approx(0.7**4 * 0.25)


def test_offcuts_leave_the_other_flakes_of_a_recipe_where_they_were():
    plain = Recipe("New tile", SHEET, (Flake("green", "#2f6f4f", 80), Flake("chips", "#808080", 50)))
    assert np.array_equal(laid(plain).charge.labels, laid(cut()).charge.labels)
    assert np.array_equal(laid(plain).charge.seeds, laid(cut()).charge.seeds)
