"""Flakes of stiffer stock: they stay behind the melt, and so coarser."""

from dataclasses import replace
from math import exp, log

import numpy as np
import pytest

from blendlab.folding.charge import lay_charge
from blendlab.folding.islands import ENDLESS, lags, melt_index_of, pieces_mm, viscosity_ratio
from blendlab.folding.mixing import layer_mm
from blendlab.look.ladder import rungs
from blendlab.look.prepared_sheet import prepare
from blendlab.recipe.flake import STOCKS
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet
from blendlab.tables import read_toml

FLAKES = (Flake("white", "#f1eee4", 60), Flake("blue", "#1d4f8f", 40))


def recipe(*stocks, **folding):
    flakes = tuple(replace(flake, stock=stock) for flake, stock in zip(FLAKES, stocks, strict=True))
    return Recipe("Tile", Sheet(120.0, 120.0, 6.0), flakes, Folding(**folding))


def held(charge):
    """Share of each kind, from an independent lattice of points."""
    at = [(np.arange(n) + 0.5) / n for n in (97, 89, 53)]
    points = np.stack(np.meshgrid(*at, indexing="ij"), axis=-1).reshape(-1, 3) - [0.5, 0.5, 0.0]
    return np.bincount(charge.kinds_at(points * charge.size_mm), minlength=charge.kinds) / len(points)


def test_the_classes_are_those_of_the_flow_table():
    assert {*STOCKS, "mixed"} == set(read_toml("flow/flow.toml")["stock"])


@pytest.mark.parametrize("stocks", [(None, None), ("cap", "cap"), ("bottle", "bottle")])
def test_flakes_that_melt_alike_are_laid_as_cut(stocks):
    plain, named = recipe(None, None), recipe(*stocks)
    assert lags(named, 3.0).tolist() == [0, 0]
    one, other = (lay_charge(each, np.random.default_rng(5), strain=3.0) for each in (plain, named))
    assert one.seeds.tobytes() == other.seeds.tobytes()
    assert one.labels.tobytes() == other.labels.tobytes()


def test_the_lag_of_a_few_bottle_flakes_is_that_of_a_lone_one():
    """By hand: λ = (7.0/0.5)^0.7 = 6.34, R₀ = 4.375, so at most (λ − 1)/2 · (1 − 3.375/5.375) = 0.994."""
    few = replace(
        recipe("crate", "bottle"), flakes=(Flake("white", "#f1eee4", 1e5, stock="crate"), FLAKES[1])
    )
    few = replace(few, flakes=(few.flakes[0], replace(FLAKES[1], grams=0.001, stock="bottle")))
    assert viscosity_ratio(melt_index_of("bottle"), melt_index_of("crate")) == pytest.approx(6.34, abs=0.01)
    assert lags(few, ENDLESS) == pytest.approx([0, 0.994], abs=2e-3)


def test_pieces_keep_their_plan_and_grow_thick_up_to_the_slab():
    made = recipe("crate", "bottle")
    sizes = pieces_mm(made, 2.0)
    assert sizes[:, :2] == pytest.approx(7.0)
    assert sizes[1, 2] / 1.6 == pytest.approx(exp(lags(made, 2.0)[1]))
    thin = replace(made, sheet=Sheet(120.0, 120.0, 1.7))
    assert pieces_mm(thin, ENDLESS)[1, 2] == pytest.approx(1.7)


@pytest.mark.parametrize("folds", [0, 1, 2, 4, 8])
def test_shares_stay_at_every_fold_count(folds):
    prepared = prepare(recipe("crate", "bottle"), 8)
    assert held(prepared.charge_after(folds)) == pytest.approx([0.6, 0.4], abs=0.003)


def test_the_stiffer_the_blue_the_thicker_its_layers():
    """In one and the same lattice; "crate" among crates is not behind at all."""
    folds, layers, mixed = 4, [], []
    for stock in ("cap", "bottle"):
        prepared = prepare(recipe("crate", stock), folds)
        layers += [
            np.mean([layer_mm(charge, prepared.programme, folds, np.random.default_rng(n)) for n in range(6)])
            for charge in (prepared.charge_after(0), prepared.charge_after(folds))
        ]
        (rung,) = rungs(prepared, [folds])
        mixed.append(rung.segregation)
    assert layers[1] > layers[0]
    assert layers[3] > 1.05 * layers[2]
    assert layers[3] > layers[1]
    assert mixed[1] > mixed[0]


def test_the_first_rung_is_laid_as_cut():
    made = recipe("crate", "bottle")
    assert pieces_mm(made, 0.0) == pytest.approx(np.array([flake.size_mm for flake in FLAKES]))
    assert lags(made, log(2)).max() < lags(made, log(4)).max() < lags(made, ENDLESS).max()
