"""Turning patches of melt: discs without overlap, angles that fade to the rim, nothing lost or torn."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blendlab.folding.smear import LAYERS, NO_DISC, Turning, smear, smear_block, turn_patch
from blendlab.runtime.records import records

A, B = 80.0, 50.0

sides = st.tuples(st.floats(10, 500), st.floats(10, 500))
seeds = st.integers(0, 2**32 - 1)


def drawn(a=A, b=B, unevenness=1.0, seed=0):
    return smear(a, b, unevenness, np.random.default_rng(seed))


def carried(points, patch, way=1.0, grids=None):
    """Points after the smear, or before it."""
    block = np.array(points, float).reshape(-1, 3)
    grids = patch.grids if grids is None else grids
    smear_block(block, A, B, patch._replace(grids=grids), way, np.empty((2, len(block)), np.int64))
    return block


def turning(patch):
    """Discs of each layer that turns."""
    return [patch.turning[np.unique(grid[grid != NO_DISC])] for grid in patch.grids[:LAYERS]]


def an_eighth_of_a_turn(shear=0.0):
    return records(Turning, [Turning(12.0, -7.0, 1 / 20.0**2, np.pi / 4, shear)])[0]


@given(sides, seeds)
@settings(max_examples=15)
def test_discs_are_in_the_plan_and_do_not_overlap_in_their_layer(half_sides, seed):
    a, b = half_sides
    for discs in turning(drawn(a, b, seed=seed)):
        assert len(discs) > 0
        radii = discs.inverse_r2**-0.5
        assert np.all(np.abs(discs.x) + radii <= a * (1 + 1e-12))
        assert np.all(np.abs(discs.y) + radii <= b * (1 + 1e-12))
        far = np.hypot(discs.x[:, None] - discs.x, discs.y[:, None] - discs.y) - radii[:, None] - radii
        np.fill_diagonal(far, np.inf)
        assert far.min() > 0


def test_the_look_up_grid_misses_no_disc():
    patch = drawn()
    no_tips = patch.grids.copy()
    no_tips[LAYERS:] = NO_DISC
    points = np.random.default_rng(1).uniform((-A, -B, -1), (A, B, 1), (2000, 3))
    found = carried(points, patch, grids=no_tips)
    for (x, y, s), there in zip(points, found, strict=True):
        here = x, y
        for discs in turning(patch):
            inside = ((discs.x - here[0]) ** 2 + (discs.y - here[1]) ** 2) * discs.inverse_r2 < 1
            for disc in discs[inside]:
                here = turn_patch(*here, s, disc, 1.0)
        assert there == pytest.approx((*here, s), abs=1e-12)


def test_a_disc_turns_by_its_half_tangent_and_fades_to_the_rim():
    disc = an_eighth_of_a_turn()
    for rho in (1e-3, 0.3, 0.6, 0.9):
        x, y = turn_patch(disc.x + 20 * rho, disc.y, 0.2, disc, 1.0)
        angle = np.arctan2(y - disc.y, x - disc.x)
        assert angle == pytest.approx(2 * np.arctan(np.pi / 8 * (1 - rho**2) ** 2), abs=1e-9)
        assert np.hypot(x - disc.x, y - disc.y) == pytest.approx(20 * rho)
    for outside in (20.0, 20.1, 60.0):
        assert turn_patch(disc.x + outside, disc.y, 0.2, disc, 1.0) == (disc.x + outside, disc.y)


def test_the_faces_turn_apart_by_the_shear():
    disc = an_eighth_of_a_turn(shear=0.3)
    for s in (-1.0, 0.0, 1.0):
        x, y = turn_patch(disc.x + 1e-6, disc.y, s, disc, 1.0)
        assert np.arctan2(y - disc.y, x - disc.x) == pytest.approx(
            2 * np.arctan((np.pi / 4 + 0.3 * s) / 2), abs=1e-6
        )


@given(st.floats(-A, A), st.floats(-B, B), st.floats(-1, 1), st.floats(0.01, 3), seeds)
@settings(max_examples=40)
def test_a_smear_is_undone_from_any_point(x, y, s, unevenness, seed):
    patch = drawn(unevenness=unevenness, seed=seed % 5)
    there = carried([x, y, s], patch)
    assert carried(there, patch, -1.0)[0] == pytest.approx((x, y, s), abs=1e-9)
    assert np.all(np.abs(there[0]) <= np.array([A, B, 1]) * (1 + 1e-12))


def test_volume_is_kept_at_every_point():
    patch, step, scale = drawn(), 1e-5, np.array([A, B, 1.0])
    points = np.random.default_rng(2).uniform(-0.99, 0.99, (300, 3))
    columns = []
    for off in step * np.eye(3):
        ends = [carried((points + way * off) * scale, patch) for way in (1, -1)]
        columns.append((ends[0] - ends[1]) / scale / (2 * step))
    assert np.linalg.det(np.stack(columns, axis=-1)) == pytest.approx(1, abs=1e-4)


def test_an_even_press_turns_nothing():
    patch = drawn(unevenness=0.0)
    assert [len(table) for table in patch] == [0, 0, 0]
    assert np.array_equal(carried([3.0, 4.0, 0.5], patch), [[3.0, 4.0, 0.5]])


def test_a_rougher_press_turns_the_same_patches_further():
    # As the root of the unevenness: the square of what is turned, which tells of mixing, goes with it.
    rough, light = drawn(unevenness=1.0), drawn(unevenness=0.25)
    assert np.array_equal(rough.grids, light.grids)
    for field in ("x", "y", "inverse_r2"):
        assert np.array_equal(light.turning[field], rough.turning[field])
    assert light.turning.alpha == pytest.approx(0.5 * rough.turning.alpha)
    assert light.tipping.gamma == pytest.approx(0.5 * rough.tipping.gamma)
