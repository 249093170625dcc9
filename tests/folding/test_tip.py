"""Tipping: the part of the smear that makes the sheets of the slab wavy."""

import numpy as np
import pytest

from blendlab.folding.smear import LAYERS, smear, smear_block, tip_patch

A, B = 90.0, 60.0


def tipping(seed: int = 0, unevenness: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    """The discs of the last layer, and of which edge each lies on: -1 none, 0 an end, 1 a side."""
    drawn = smear(A, B, unevenness, np.random.default_rng(seed))
    assert len(drawn.grids) == LAYERS + 1
    discs = drawn.tipping[np.unique(drawn.grids[-1][drawn.grids[-1] >= 0])]
    edge = np.where(np.isclose(abs(discs.x), A), 0, np.where(np.isclose(abs(discs.y), B), 1, -1))
    return discs, edge


def test_discs_are_inside_the_plan_or_are_split_by_one_edge_along_which_they_move() -> None:
    discs, edge = tipping()
    radius = discs.inverse_r2**-0.5
    assert {-1, 0, 1} == set(edge)
    reach_x, reach_y = abs(discs.x) + radius, abs(discs.y) + radius
    assert np.all(reach_x[edge != 0] <= A + 1e-9)
    assert np.all(reach_y[edge != 1] <= B + 1e-9)
    for field in ("across", "shift"):
        assert np.all(discs[edge == 0][f"{field}_x"] == 0.0)  # at an end nothing moves along x
        assert np.all(discs[edge == 1][f"{field}_y"] == 0.0)


@pytest.mark.parametrize("index", range(8))
def test_a_tip_keeps_volume_and_is_undone(index: int) -> None:
    disc = tipping()[0][index]
    radius = disc.inverse_r2**-0.5
    rng = np.random.default_rng(index)
    step = 1e-5
    for u, v, s in rng.uniform(-0.6, 0.6, (20, 3)):
        x, y = disc.x + u * radius, disc.y + v * radius
        columns = []
        for axis in range(3):
            ends = []
            for sign in (1, -1):
                shift = np.array([radius, radius, 1.0]) * (np.arange(3) == axis) * sign * step
                there = np.array(tip_patch(*(np.array([x, y, s]) + shift), disc, 1.0))
                ends.append(there / [radius, radius, 1.0])
            columns.append((ends[0] - ends[1]) / (2 * step))
        assert np.linalg.det(np.array(columns)) == pytest.approx(1.0, abs=1e-6)
        assert tip_patch(*tip_patch(x, y, s, disc, 1.0), disc, -1.0) == pytest.approx((x, y, s))


def test_the_faces_stay_level_and_the_inside_moves() -> None:
    disc = tipping()[0][0]
    for s in (-1.0, 1.0):
        assert tip_patch(disc.x + 1.0, disc.y + 1.0, s, disc, 1.0) == (disc.x + 1.0, disc.y + 1.0, s)
    *_, s = tip_patch(disc.x + 0.3 * disc.shift_x, disc.y + 0.3 * disc.shift_y, 0.0, disc, 1.0)
    assert abs(s) > 0.02


def test_nothing_leaves_the_slab() -> None:
    drawn = smear(A, B, 2.5, np.random.default_rng(4))
    points = np.random.default_rng(5).uniform((-A, -B, -1), (A, B, 1), (3000, 3))
    there, scratch = points.copy(), np.empty((2, len(points)), np.int64)
    smear_block(there, A, B, drawn, 1.0, scratch)
    assert np.all(abs(there) <= np.array([A, B, 1.0]) * (1 + 1e-12))
    smear_block(there, A, B, drawn, -1.0, scratch)
    np.testing.assert_allclose(there, points, atol=1e-9)
