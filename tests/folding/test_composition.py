"""Look-ups in a charge: the nearest flake of all, and a straight stretch walked from face to face."""

import numba
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blendlab.folding.charge import lay_charge
from blendlab.folding.composition import NEAR, add_stretch, label_at, lattice_of, of_block, passages_for
from blendlab.recipe.recipe import Flake, Recipe, Sheet

KINDS = 3


@pytest.fixture(scope="module")
def laid():
    flakes = tuple(Flake(f"kind {n}", "#808080", grams) for n, grams in enumerate((60, 30, 10)))
    return lay_charge(Recipe("Tile", Sheet(120.0, 90.0, 8.0), flakes), np.random.default_rng(3))


@numba.njit
def labels_at(places, charge):
    lattice = lattice_of(charge.seeds, charge.labels, charge.rivals, charge.pieces)
    return [label_at(place[0], place[1], place[2], lattice) for place in places]


@numba.njit
def walked(ends, weight, charge, out, passages):
    lattice = lattice_of(charge.seeds, charge.labels, charge.rivals, charge.pieces)
    add_stretch(ends, weight, lattice, np.empty((NEAR, 3)), out, 0, of_block(passages, 0))


def composition(start, end, charge, weight=1.0):
    out = np.zeros((1, KINDS), np.float32)
    walked(np.array([start, end]), weight, charge, out, passages_for(0))
    return out[0]


def in_mm(places, charge):
    return places / charge.cells_per_mm - np.array(charge.size_mm) * [0.5, 0.5, 0.0]


def test_few_cells_can_have_the_flake_of_a_point_and_none_is_missed(laid):
    places = np.random.default_rng(1).uniform(0, laid.cells, (4000, 3))
    assert laid.rivals[:, 0].max() < NEAR
    assert np.array_equal(labels_at(places, laid), laid.kinds_at(in_mm(places, laid)))
    seeds, labels = laid.seeds.reshape(-1, 3).astype(float), laid.labels.ravel()
    nearest = np.array([labels[np.linalg.norm(seeds - place, axis=1).argmin()] for place in places[:400]])
    assert (
        nearest == labels_at(places[:400], laid)
    ).mean() > 0.98  # searched no further than the cells around


@given(*[st.tuples(*[st.floats(-0.1, 1.1)] * 3)] * 2, st.floats(0.01, 1))
@settings(max_examples=40)
def test_a_stretch_is_made_of_what_many_of_its_points_are(laid, start, end, weight):
    start, end = np.array(start) * laid.cells, np.array(end) * laid.cells
    inside = [np.clip(place, 0.0, np.array(laid.cells) - 1e-6) for place in (start, end)]
    t = (np.arange(4000)[:, None] + 0.5) / 4000
    kinds = laid.kinds_at(in_mm(inside[0] + t * (inside[1] - inside[0]), laid))
    sampled = np.bincount(kinds, minlength=KINDS) / len(kinds)
    found = composition(start, end, laid, weight)
    assert found.sum() == pytest.approx(weight, rel=1e-5)
    assert found == pytest.approx(weight * sampled, abs=4e-3 * weight)


def test_a_stretch_without_length_is_one_flake_and_two_halves_are_the_whole(laid):
    rng = np.random.default_rng(5)
    for start, end in rng.uniform(0, laid.cells, (50, 2, 3)):
        point = composition(start, start, laid)
        assert point[laid.kinds_at(in_mm(start[None], laid))[0]] == 1.0
        middle = (start + end) / 2
        halves = composition(start, middle, laid, 0.5) + composition(middle, end, laid, 0.5)
        assert halves == pytest.approx(composition(start, end, laid), abs=1e-5)
