"""Chips strewn on the hot slab: pieces in the face that later folds move, and no share changes by them."""

import numpy as np
import pytest
from scipy.stats.qmc import Sobol

from blendlab.folding.charge import lay_charge
from blendlab.folding.programme import draw_programme
from blendlab.folding.scatter import strewings
from blendlab.folding.trace import follow_back
from blendlab.recipe.lay import Lay
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

SHEET = Sheet(120.0, 90.0, 6.0)
FLAKES = (Flake("white", "#f1eee4", 60), Flake("blue", "#1d4f8f", 30), Flake("gold", "#f0ac2b", 10))
BELOW = (Lay(("white",), "stripes"), Lay(("blue",), "layer"))


def strewn_on(press, folds=4, grams=10.0, size=(7.0, 7.0, 1.6), below=BELOW, moves=None):
    flakes = (*FLAKES[:2], Flake("gold", "#f0ac2b", grams, size_mm=size))
    lays = (*below, Lay(("gold",), "scatter", before_press=press))
    folding = Folding(moves=moves) if moves else Folding(folds=folds)
    recipe = Recipe("Tile", SHEET, flakes, folding, lays=lays)
    charge = lay_charge(recipe, np.random.default_rng(0))
    chance = np.random.default_rng(1)
    return recipe, charge, draw_programme(recipe.folding, SHEET, folds, chance, strewings(recipe))


def kinds(found, folds, log2_points=16):
    _, charge, programme = found
    points = (Sobol(3, rng=0).random_base2(log2_points) - [0.5, 0.5, 0.0]) * programme.sizes_mm[folds]
    return points, charge.kinds_at(follow_back(points, programme, folds))


@pytest.mark.parametrize("press", [1, 2, 4])
def test_shares_are_kept_at_every_fold_count(press):
    found = strewn_on(press)
    for folds in (0, press - 1, press, 4):
        shares = np.array([60.0, 30.0, 10.0 if folds >= press else 0.0])
        counted = np.bincount(kinds(found, folds)[1], minlength=3) / 2**16
        assert counted == pytest.approx(shares / shares.sum(), abs=0.003)  # 0.002, and 0.001 of counting


def test_chips_lie_flush_in_the_face_as_thick_as_they_were_cut():
    points, found = kinds(strewn_on(2), 2)
    chips = points[found == 2]
    assert chips[:, 2].min() == pytest.approx(6.0 - 1.6, abs=0.01)
    assert chips[:, 2].mean() == pytest.approx(6.0 - 0.8, abs=0.02)
    top = np.column_stack([points[:, :2], np.full(len(points), 6.0 - 1e-6)])
    _, charge, programme = strewn_on(2)
    covered = (charge.kinds_at(follow_back(top, programme, 2)) == 2).mean()
    assert covered == pytest.approx(0.1 * 6.0 / 1.6, abs=0.005)


def test_the_slab_under_a_chip_is_thinned_alike_at_all_depths():
    """Layers in turn keep their parts of what is left, wherever they lie: z0 = z*h/(h - c)."""
    below = (Lay(("white",), "layer"), Lay(("blue",), "layer"))
    found = strewn_on(1, folds=1, below=below)
    plain = strewn_on(1, folds=1, below=below, grams=1e-6)
    rest = kinds(found, 1)[1]
    rest = rest[rest != 2]
    assert np.bincount(rest) / len(rest) == pytest.approx([2 / 3, 1 / 3], abs=0.002)
    points = np.random.default_rng(2).uniform((-55, -40, 0), (55, 40, 6), (4000, 3))
    here, before = (follow_back(points, each[2], 1) for each in (found, plain))
    chips = here[:, 2] < -3.0
    free = (np.abs(here - before) < 1e-9).all(axis=1)
    under = ~chips & ~free
    assert chips.mean() + under.mean() == pytest.approx(0.375, abs=0.03)  # the part of the face they cover
    raised = points[under] * [1, 1, 6.0 / (6.0 - 1.6)]
    assert follow_back(raised, plain[2], 1) == pytest.approx(here[under], abs=1e-9)


def test_more_chips_than_a_face_holds_cover_all_of_it():
    points, found = kinds(strewn_on(1, folds=1, grams=90.0, size=(7.0, 7.0, 1.0)), 1)
    chips = points[found == 2]
    assert (found == 2).mean() == pytest.approx(0.5, abs=0.002)
    assert chips[:, 2].min() == pytest.approx(3.0, abs=0.01)


def test_a_flip_after_the_press_brings_the_chips_to_the_lower_face():
    points, found = kinds(strewn_on(1, folds=1, moves=("half", "flip")), 1)
    assert points[found == 2][:, 2].max() < 1.7


def test_chips_strewn_later_leave_all_earlier_chances_as_they_were():
    _, _, programme = strewn_on(3)
    _, _, plain = strewn_on(4)
    points = np.random.default_rng(2).uniform((-60, -45, 0), (60, 45, 6), (500, 3))
    assert np.array_equal(follow_back(points, programme, 2), follow_back(points, plain, 2))


def test_chips_with_a_seed_of_their_own_stay_where_they_are():
    def kinds_of(seed, sheet):
        lays = (*BELOW, Lay(("gold",), "scatter", before_press=1, seed=seed))
        recipe = Recipe("Tile", SHEET, FLAKES, Folding(folds=1), lays=lays)
        charge, chance = lay_charge(recipe, np.random.default_rng(0)), np.random.default_rng(sheet)
        programme = draw_programme(recipe.folding, SHEET, 1, chance, strewings(recipe))
        points = np.random.default_rng(2).uniform((-60, -45, 5.9), (60, 45, 6), (2000, 3))
        return charge.kinds_at(follow_back(points, programme, 1)) == 2

    assert np.array_equal(kinds_of(5, sheet=1), kinds_of(5, sheet=2))
    assert not np.array_equal(kinds_of(5, sheet=1), kinds_of(6, sheet=1))


@pytest.mark.parametrize("folds", [1, 2])
def test_a_pressed_slab_can_be_looked_at_before_its_chips_and_before_it_is_turned_over(folds):
    moves = ("flip", "half", "flip", "half", "flip")[: 2 * folds + 1]
    recipe, _, programme = strewn_on(folds, folds, moves=moves)
    bare = draw_programme(Folding(moves=moves[:-1]), SHEET, folds, np.random.default_rng(1))
    points = (Sobol(3, rng=1).random_base2(10) - [0.5, 0.5, 0.0]) * programme.sizes_mm[folds]
    expected = follow_back(points, bare, folds)
    assert np.array_equal(follow_back(points, programme.pressed(folds, strewn=False), folds), expected)
    unturned = draw_programme(
        Folding(moves=moves[:-1]), SHEET, folds, np.random.default_rng(1), strewings(recipe)
    )
    found = follow_back(points, programme.pressed(folds), folds)
    assert np.array_equal(found, follow_back(points, unturned, folds))
    assert not np.array_equal(found, expected)
    assert np.array_equal(follow_back(points, programme.pressed(0), 0), points)
