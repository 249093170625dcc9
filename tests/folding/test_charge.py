"""The melted charge: every kind has its share, the cells tile the slab, and mixtures of it add up."""

import tracemalloc

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import KDTree
from scipy.stats.qmc import Sobol

from blendlab.folding import charge as charge_room
from blendlab.folding.charge import Charge, lay_charge
from blendlab.recipe.recipe import Flake, Recipe, Sheet

SQUARE = Sheet()
ORDINARY = (7.0, 7.0, 1.6)
TWELFTHS = [1.0] * 12


def recipe(grams, sheet=SQUARE, sizes=ORDINARY):
    each = [sizes] * len(grams) if isinstance(sizes, tuple) else sizes
    names = [f"kind {n:02}" for n in range(len(grams))]
    rows = zip(names, grams, each, strict=True)
    return Recipe("Tile", sheet, tuple(Flake(name, "#808080", g, size_mm=size) for name, g, size in rows))


def spread_points(size_mm, log2_points, seed=0):
    """Low-discrepancy points, so that volumes come out with little noise."""
    return (Sobol(3, rng=seed).random_base2(log2_points) - [0.5, 0.5, 0.0]) * size_mm


def shares_of(charge):
    kinds = charge.kinds_at(spread_points(charge.size_mm, 17))
    return np.bincount(kinds, minlength=charge.kinds) / len(kinds)


@pytest.fixture(scope="module")
def laid() -> Charge:
    return lay_charge(recipe([50, 30, 20], Sheet(120, 90, 6)), np.random.default_rng(2))


RECIPES = {
    "ordinary": recipe([50, 30, 20]),
    "twelve kinds on the smallest sheet": recipe(TWELFTHS, Sheet(20, 20, 1)),
    "twelve unequal kinds on the smallest sheet": recipe([0.2] * 6 + [16.5] * 6, Sheet(20, 20, 1)),
    "two parts in a thousand": recipe([0.2, 99.8]),
    "two parts in a thousand on the smallest sheet": recipe([0.2, 99.8], Sheet(20, 20, 1)),
    "shards": recipe([50, 30, 20], sizes=(100.0, 100.0, 100.0)),
    "one kind in shards": recipe([50, 30, 20], sizes=[(100.0, 100.0, 100.0), ORDINARY, ORDINARY]),
    "few scarce shards": recipe([0.2, 49.8, 50], sizes=(30.0, 30.0, 2.0)),
    "twelve sizes": recipe(
        range(1, 13), Sheet(60, 40, 5), [(n + 1.0, n + 1.0, 0.4 * n + 0.4) for n in range(12)]
    ),
    "threads": recipe([40, 60], sizes=(100.0, 0.4, 0.4)),
    "a strip": recipe([40, 60], Sheet(20, 1000, 1)),
    "a tall block": recipe([40, 60], Sheet(20, 20, 100)),
}


@pytest.mark.parametrize("name", RECIPES)
def test_every_kind_fills_its_share_within_a_fifth_of_a_point(name):
    charge = lay_charge(RECIPES[name], np.random.default_rng(0))
    assert shares_of(charge) == pytest.approx(RECIPES[name].shares, abs=0.002)


flake_sizes = st.tuples(st.floats(4, 100), st.floats(4, 100), st.floats(1, 100))


@given(
    st.lists(st.tuples(st.floats(0.05, 100), flake_sizes), min_size=1, max_size=12),
    st.builds(Sheet, st.floats(20, 120), st.floats(20, 120), st.floats(1, 20)),
    st.integers(0, 2**32 - 1),
)
@settings(max_examples=8)
def test_any_recipe_is_met(kinds, sheet, seed):
    asked = recipe([grams for grams, _ in kinds], sheet, [size for _, size in kinds])
    charge = lay_charge(asked, np.random.default_rng(seed))
    assert shares_of(charge) == pytest.approx(asked.shares, abs=0.002)


def test_flakes_are_as_large_as_asked():
    charge = lay_charge(RECIPES["ordinary"], np.random.default_rng(0))
    assert 1 / charge.cells_per_mm == pytest.approx(ORDINARY, rel=0.1)


def test_a_kind_cut_larger_has_larger_pieces():
    asked = recipe([50, 50], Sheet(120, 120, 6), [(20.0, 20.0, 6.0), (4.0, 4.0, 1.0)])
    large = lay_charge(asked, np.random.default_rng(0)).labels == 0
    like_right = (large[1:] == large[:-1]).mean()
    small = lay_charge(recipe([50, 50], Sheet(120, 120, 6), (4.0, 4.0, 1.0)), np.random.default_rng(0))
    assert like_right > 0.75
    assert (small.labels[1:] == small.labels[:-1]).mean() == pytest.approx(0.5, abs=0.05)


def test_the_finest_flakes_in_a_large_block_do_not_exhaust_memory(monkeypatch):
    monkeypatch.setattr(charge_room, "MAX_CELLS", 3000)
    asked = recipe([25, 75], Sheet(1000, 1000, 2), (0.2, 0.2, 0.2))
    charge = lay_charge(asked, np.random.default_rng(0))
    assert 1000 < charge.labels.size <= 3000
    assert shares_of(charge) == pytest.approx(asked.shares, abs=0.002)


@pytest.mark.parametrize(
    ("sheet", "sizes", "most_mib"),
    [
        (Sheet(1000.0, 1000.0, 1.0), (0.2, 0.2, 0.2), 300),  # as many cells as there may be
        (Sheet(1000.0, 1000.0, 100.0), (100.0, 0.2, 0.2), 300),
        (Sheet(1000.0, 20.0, 1.0), (0.2, 100.0, 0.2), 100),  # as many as there may be in one row
    ],
)
def test_twelve_kinds_of_the_finest_flakes_on_the_largest_sheet_take_little_memory(sheet, sizes, most_mib):
    asked = recipe([1e6, *TWELFTHS[1:]], sheet, sizes)
    tracemalloc.start()
    found = lay_charge(asked, np.random.default_rng(1))
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < most_mib * 2**20
    assert found.labels.size <= charge_room.MAX_CELLS
    assert found.rivals[:, 0].min() > 0


def test_the_order_of_flakes_does_not_matter(laid):
    asked = recipe([50, 30, 20], Sheet(120, 90, 6))
    turned = Recipe("Tile", asked.sheet, asked.flakes[::-1])
    again = lay_charge(turned, np.random.default_rng(2))
    assert np.array_equal(again.seeds, laid.seeds)
    assert np.array_equal(2 - again.labels, laid.labels)


def test_another_chance_gives_another_charge(laid):
    other = lay_charge(recipe([50, 30, 20], Sheet(120, 90, 6)), np.random.default_rng(3))
    assert (other.labels != laid.labels).mean() > 0.3


def test_a_point_belongs_to_the_nearest_seed(laid):
    points = spread_points(laid.size_mm, 14)
    corner = np.array(laid.size_mm) * [0.5, 0.5, 0.0]
    _, nearest = KDTree(laid.seeds.reshape(-1, 3)).query((points + corner) * laid.cells_per_mm)
    # Only the cell itself and those around it are searched; a seed two cells off is nearest but rarely.
    assert (laid.labels.ravel()[nearest] == laid.kinds_at(points)).mean() > 0.998
