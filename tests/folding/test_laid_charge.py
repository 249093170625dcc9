"""A laid charge: shares per lay and in all, one lay the same as none, and how layers and stripes fold."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats.qmc import Sobol

from blendlab.folding.charge import lay_charge
from blendlab.folding.overflow import overflow
from blendlab.folding.programme import draw_programme
from blendlab.folding.scatter import strewings
from blendlab.folding.trace import follow_back
from blendlab.recipe.lay import PLACES, Lay
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet
from blendlab.runtime.records import column

NAMES = ("white", "blue", "gold", "rust")
FLAKES = tuple(Flake(name, "#808080", g) for name, g in zip(NAMES, (100, 60, 40, 9), strict=True))
SLAB = Sheet(100.0, 70.0, 6.0)


def shares_of(charge, points=16):
    spots = (Sobol(3, rng=0).random_base2(points) - [0.5, 0.5, 0.0]) * charge.size_mm
    return np.bincount(charge.kinds_at(spots), minlength=charge.kinds) / len(spots)


places = st.sampled_from([place for place in PLACES if place != "scatter"])
widths = st.none() | st.floats(1, 90)


@st.composite
def laid(draw):
    """One to four flakes in one to four lays, the first of them divided between two."""
    names = NAMES[: draw(st.integers(1, 4))]
    homes = [draw(st.integers(0, 3)) for _ in names]
    lays = []
    for home in sorted(set(homes)):
        place = draw(places)
        wide = draw(widths) if "width_mm" in PLACES[place].options else None
        lays.append(
            Lay(tuple(n for n, at in zip(names, homes, strict=True) if at == home), place, width_mm=wide)
        )
    if draw(st.booleans()):
        part = draw(st.floats(1, 99))
        lays.append(Lay((names[0],), draw(places), grams=((names[0], part),)))
    return Recipe("Tile", SLAB, FLAKES[: len(names)], lays=tuple(lays))


@given(laid(), st.integers(0, 2**32 - 1))
@settings(max_examples=15)
def test_every_kind_and_every_lay_fills_its_share_within_a_fifth_of_a_point(recipe, seed):
    charge = lay_charge(recipe, np.random.default_rng(seed))
    found, own = shares_of(charge), recipe.lay_shares > 0
    assert found == pytest.approx(recipe.shares, abs=0.002)
    for lay in own[:, own.sum(axis=0) == 1]:  # of kinds in one lay only, so a lay's kinds tell its volume
        kinds = np.flatnonzero(own.sum(axis=0) == 1)[lay]
        assert found[kinds].sum() == pytest.approx(recipe.shares[kinds].sum(), abs=0.002)


def test_one_lay_of_all_flakes_is_the_stirred_charge():
    stirred = Recipe("Tile", SLAB, FLAKES)
    one = replace(stirred, lays=(Lay(NAMES[::-1]),))
    found, expected = (lay_charge(recipe, np.random.default_rng(6)) for recipe in (one, stirred))
    assert np.array_equal(found.labels, expected.labels)
    assert np.array_equal(found.seeds, expected.seeds)


def test_the_parts_of_a_flake_go_to_their_own_lays():
    lays = (
        Lay(("white",), "layer", grams=(("white", 25.0),)),
        Lay(("blue",), "layer"),
        Lay(("white",), "layer"),
    )
    charge = lay_charge(Recipe("Tile", SLAB, FLAKES[:2], lays=lays), np.random.default_rng(1))
    for depth, kind in ((0.3, 0), (2.0, 1), (5.0, 0)):
        spots = np.random.default_rng(2).uniform((-50, -35, depth), (50, 35, depth), (2000, 3))
        assert (charge.kinds_at(spots) == kind).mean() > 0.8
    assert shares_of(charge) == pytest.approx([125 / 185 - 25 / 185, 60 / 160], abs=0.15)
    assert shares_of(charge) == pytest.approx([100 / 160, 60 / 160], abs=0.002)


def pressed(sheet, folds, seed=0, moves=None):
    """Half folds without drag and unevenness, every one of the right half over the left."""
    while True:
        folding = Folding(drag=0.0, unevenness=0.0, moves=moves or ("half",) * folds)
        programme = draw_programme(folding, sheet, folds, np.random.default_rng(seed))
        if (column(programme.tables.steps, "side") == 1.0).all():
            return programme
        seed += 1


@pytest.mark.parametrize("folds", [1, 2, 3])
def test_strips_stack_in_the_order_of_a_folded_paper(folds):
    """The creases of a paper folded right over left follow the regular paperfolding sequence.

    Crease k is a valley where k without its factors 2 is 1 more than a multiple of 4 (Davis & Knuth 1970,
    Number representations and dragon curves, J. Recreational Math. 3:66; OEIS A014577). Strip p lies with
    its face up where p is even, and the next one over it where its crease is a valley.
    """
    count, sheet = 2**folds, Sheet(160.0, 60.0, 4.0)
    flakes = tuple(Flake(f"strip {p}", "#808080", 1.0, size_mm=(2.0, 15.0, 2.0)) for p in range(count))
    lays = tuple(Lay((flake.name,), "stripes", count=1, angle_deg=-90) for flake in flakes)
    charge = lay_charge(Recipe("Paper", sheet, flakes, lays=lays), np.random.default_rng(0))
    heights = (np.arange(count) + 0.5) * sheet.thickness_mm / count
    column_at = np.column_stack([np.full(count, 8.0), np.zeros(count), heights])
    strips = charge.kinds_at(follow_back(column_at, pressed(sheet, folds), folds))
    assert sorted(strips.tolist()) == list(range(count))  # each strip once, a 2**folds-th of the height
    lies = np.argsort(strips)
    valleys = (np.diff(lies) > 0) ^ (np.arange(count - 1) % 2 == 1)
    odd_part = [k // (k & -k) for k in range(1, count)]
    assert valleys.tolist() == [odd % 4 == 1 for odd in odd_part]


@pytest.mark.parametrize("folds", [1, 2, 3])
def test_two_layers_double_with_each_fold_and_halve_in_thickness(folds):
    """Of a sheet white below and blue above, the stack is white, blue, blue, white, white, blue and so on."""
    sheet = Sheet(60.0, 60.0, 8.0)
    flakes = tuple(Flake(name, "#808080", 1.0, size_mm=(6.0, 6.0, 0.2)) for name in NAMES[:2])
    lays = tuple(Lay((flake.name,), "layer") for flake in flakes)
    charge = lay_charge(Recipe("Pair", sheet, flakes, lays=lays), np.random.default_rng(0))
    layer = sheet.thickness_mm / 2 / 2**folds
    order = np.arange(2 * 2**folds)
    heights = (order + 0.5) * layer
    spots = np.random.default_rng(3).uniform(-25, 25, (200, 1, 2)) * np.ones((1, len(order), 1))
    points = np.concatenate([spots, np.broadcast_to(heights[:, None], (200, len(order), 1))], axis=-1)
    found = charge.kinds_at(follow_back(points.reshape(-1, 3), pressed(sheet, folds), folds)).reshape(200, -1)
    assert (found == ((order + 1) // 2 % 2)).all()
    fine = np.linspace(0, sheet.thickness_mm, 2001)
    line = np.column_stack([np.full(2001, 8.0), np.full(2001, 3.0), fine])
    kinds = charge.kinds_at(follow_back(line, pressed(sheet, folds), folds)).astype(int)
    faces = fine[1:][np.diff(kinds) != 0]
    expected = np.arange(1, 2 * 2**folds, 2) * layer
    assert faces == pytest.approx(expected, abs=0.2 / 2**folds)


@pytest.mark.parametrize("folds", [1, 2, 4])
def test_stripes_along_the_fold_stay_stripes(folds):
    sheet = Sheet(120.0, 80.0, 4.0)
    flakes = tuple(Flake(name, "#808080", 1.0, size_mm=(1.0, 8.0, 4.0)) for name in NAMES[:2])
    lays = tuple(Lay((flake.name,), "stripes", count=3, angle_deg=90) for flake in flakes)
    charge = lay_charge(Recipe("Stripes", sheet, flakes, lays=lays), np.random.default_rng(0))
    rng = np.random.default_rng(1)
    starts = rng.uniform((-60, 0, 0), (60, 0, 4), (400, 3))
    lines = np.repeat(starts[:, None], 21, axis=1)
    lines[:, :, 1] = np.linspace(-38, 38, 21)
    kinds = charge.kinds_at(follow_back(lines.reshape(-1, 3), pressed(sheet, folds), folds)).reshape(400, 21)
    whole = (kinds == kinds[:, :1]).all(axis=1)
    assert whole.mean() > 0.85  # a stripe's rim is as rough as a flake is long, 1 mm of 20
    assert kinds.mean() == pytest.approx(0.5, abs=0.05)


@pytest.mark.parametrize("grams", [(1.0, 1e-12, 1e-13), (1e300, 1e-300, 1e-300)])
def test_next_to_nothing_of_a_flake_can_be_laid_and_strewn(grams):
    flakes = tuple(Flake(name, "#808080", g) for name, g in zip(NAMES, grams, strict=False))
    lays = (
        Lay(("white",), "layer"),
        Lay(("blue",), "heaps", width_mm=5),
        Lay(("gold",), "scatter", before_press=1),
    )
    recipe = Recipe("Tile", SLAB, flakes, Folding(folds=1), lays=lays)
    charge = lay_charge(recipe, np.random.default_rng(0))
    programme = draw_programme(recipe.folding, SLAB, 1, np.random.default_rng(1), strewings(recipe))
    points = np.random.default_rng(2).uniform((-50, -35, 0), (50, 35, 6), (1000, 3))
    assert (charge.kinds_at(follow_back(points, programme, 1)) == 0).mean() > 0.99
    assert overflow(recipe) == {}


def test_a_seed_of_its_own_redeals_one_lay_and_no_other():
    def charge(seed, others=3):
        lays = (Lay(("white", "rust"), "layer", seed=seed), Lay(("blue", "gold"), "layer", seed=others))
        return lay_charge(Recipe("Tile", SLAB, FLAKES, lays=lays), np.random.default_rng(7)).labels

    first, second, again = charge(1), charge(2), charge(1)
    assert np.array_equal(first, again)
    white_or_rust = np.isin(first, [0, 3])
    assert np.array_equal(white_or_rust, np.isin(second, [0, 3]))
    assert np.array_equal(first[~white_or_rust], second[~white_or_rust])
    assert (first != second)[white_or_rust].mean() > 0.05
