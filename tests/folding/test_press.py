"""The press: Stefan's profile, volume, the rolling edge, and back again."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.folding.press import across_the_edge, press_back

from .forward import press_forward

STREAMLINE_TURNS = 3**-0.5  # |s| at which s*(1 - s**2) is largest: there melt moves along with the edge

inside = st.floats(-1, 1)
off_the_edge = st.floats(-0.999, 0.999)  # on the edge itself two depths are one and the same point
shares = st.sampled_from((0.0, 0.3, 0.5, 1.0))
strains = st.floats(1, 4)  # E; even three layers pressed to one with full drag stay below


def back(points, strain, p_x):
    """xi0, eta0, s0 and the way round the edges of each point, shape (n, 4)."""
    return np.array([press_back(*point, strain, p_x, 1 - p_x) for point in points])


def forward(points, strain, p_x):
    return np.array([press_forward(*point, strain, p_x, 1 - p_x) for point in points])


def places(count, seed=0, most=1.0):
    return np.random.default_rng(seed).uniform(-most, most, (count, 3))


def velocity(drag, p_x, points, closing):
    """Mean velocity of melt between plates one apart that close by `closing`; below 0 they open again."""
    height = 1.0 - closing
    press = forward if closing > 0 else back
    after = press(points, max(height, 1 / height) ** drag, p_x)[:, :3]
    after[:, :2] *= height ** -np.array([p_x, 1 - p_x])
    after[:, 2] = 0.5 * (after[:, 2] + 1) * height
    before = np.concatenate([points[:, :2], 0.5 * (points[:, 2:] + 1)], axis=1)
    return (after - before) / closing


@pytest.mark.parametrize("closing", [1e-5, -1e-5])
@pytest.mark.parametrize("drag", [0.0, 0.4, 1.0])
@pytest.mark.parametrize("p_x", [0.5, 1.0])
def test_a_small_press_flows_as_stefan_says(drag, p_x, closing):
    """Stefan 1874: v_r = 3 V r z(h - z)/h**3, v_z = -V(3z**2/h**2 - 2z**3/h**3), where melt sticks.

    Between plates that slip each layer just widens: v_r = V r/2h, v_z = -V z/h. `drag` is the part that
    sticks; widening along one side only doubles the radial law.
    """
    points = places(200, most=0.9)
    x, y, z = points[:, 0], points[:, 1], 0.5 * (points[:, 2] + 1)
    outward = drag * 6 * z * (1 - z) + (1 - drag)  # times V r/2h
    down = drag * (3 * z**2 - 2 * z**3) + (1 - drag) * z
    expected = np.stack([p_x * x * outward, (1 - p_x) * y * outward, -down], axis=1)
    limit = 2 * velocity(drag, p_x, points, closing / 2) - velocity(drag, p_x, points, closing)
    assert limit == pytest.approx(expected, abs=1e-8)


@given(off_the_edge, off_the_edge, inside, strains, shares)
def test_pressed_and_followed_back_a_point_is_where_it_was(xi, eta, s, strain, p_x):
    there = press_forward(xi, eta, s, strain, p_x, 1 - p_x)
    assert max(map(abs, there)) <= 1
    assert press_back(*there, strain, p_x, 1 - p_x)[:3] == pytest.approx((xi, eta, s), abs=1e-9)


@pytest.mark.parametrize("p_x", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("strain", [1.4, 2.0, 3.0])
def test_back_and_forward_again_is_the_identity(strain, p_x):
    points = places(20_000)
    first = back(points, strain, p_x)[:, :3]
    assert np.abs(first).max() <= 1
    away = np.abs(forward(first, strain, p_x) - points).max(axis=1)
    assert away.max() < 1e-9
    assert np.quantile(away, 0.99) < 1e-13


def test_close_to_where_the_edge_turns_melt_rolls_round_many_times_and_still_comes_back():
    # Only within some 1e-5 of the half side from that line do the rounds outnumber those that are followed.
    rng = np.random.default_rng(4)
    points = np.stack(
        [
            1 - 10 ** rng.uniform(-4.5, -3, 500),
            rng.uniform(-1, 1, 500),
            STREAMLINE_TURNS + rng.uniform(-0.01, 0.01, 500),
        ],
        axis=1,
    )
    away = np.abs(forward(back(points, 2.0, 1.0)[:, :3], 2.0, 1.0) - points)
    assert away.max() < 1e-9


@pytest.mark.parametrize("p_x", [0.5, 1.0])
def test_the_press_keeps_volume_also_over_the_edge(p_x):
    strain, step = 2.0, 1e-6
    points = places(4000, most=0.999)
    columns = []
    for axis in range(3):
        moved = [points.copy(), points.copy()]
        moved[0][:, axis] += step
        moved[1][:, axis] -= step
        columns.append((back(moved[0], strain, p_x) - back(moved[1], strain, p_x))[:, :3] / (2 * step))
    volume = np.linalg.det(np.stack(columns, axis=-1))
    kept = np.abs(volume - 1) < 1e-3  # fails where a difference straddles an event, so tells nothing there
    deeper = 1 + points[:, 2] ** 2 * (strain - 1)
    grown = deeper**1.5 / strain**0.5
    rolled = np.abs(points[:, :2] * grown[:, None] ** [p_x, 1 - p_x]).max(axis=1) > 1
    assert kept[~rolled].all()
    assert kept[rolled].mean() > 0.999
    assert rolled.mean() > 0.1


def across_all(depths):
    return np.array([across_the_edge(s) for s in depths])


@given(inside)
def test_melt_rolls_over_on_its_own_streamline(s):
    other = across_the_edge(s)
    assert other * (1 - other**2) == pytest.approx(s * (1 - s**2), abs=1e-12)
    assert across_the_edge(other) == pytest.approx(s, abs=1e-7)
    assert (abs(s) - STREAMLINE_TURNS) * (abs(other) - STREAMLINE_TURNS) <= 1e-12  # from core to face or back


def test_what_leaves_the_core_at_the_edge_covers_the_faces():
    s = np.linspace(1e-3, STREAMLINE_TURNS - 1e-3, 200)
    step = 1e-6
    widths = (across_all(s + step) - across_all(s - step)) / (2 * step)
    into, out_of = 1 - 3 * across_all(s) ** 2, 1 - 3 * s**2  # speed relative to the edge
    assert widths * into == pytest.approx(out_of, abs=1e-6)


@given(inside, inside, inside, strains, shares)
def test_the_press_has_no_sides(xi, eta, s, strain, p_x):
    plain = press_back(xi, eta, s, strain, p_x, 1 - p_x)
    mirrored = press_back(-xi, eta, -s, strain, p_x, 1 - p_x)
    turned = press_back(eta, xi, s, strain, 1 - p_x, p_x)
    assert mirrored[:3] == pytest.approx((-plain[0], plain[1], -plain[2]), abs=1e-12)
    assert turned[:3] == pytest.approx((plain[1], plain[0], plain[2]), abs=1e-12)


@given(inside, inside, inside)
def test_a_press_that_drags_nothing_only_widens(xi, eta, s):
    assert press_back(xi, eta, s, 1.0, 0.5, 0.5) == (xi, eta, s, 0)
    assert press_forward(xi, eta, s, 1.0, 0.5, 0.5) == (xi, eta, s)


@given(inside, inside, st.floats(1, 2), shares)
def test_points_that_went_the_same_way_round_the_edges_stay_together(xi, s, strain, p_x):
    step = 1e-7 if s < 0 else -1e-7
    here, there = (press_back(xi, 0.5 * xi, d, strain, p_x, 1 - p_x) for d in (s, s + step))
    if here[3] == there[3] < 8:  # has come round at most one edge
        assert np.abs(np.subtract(here[:3], there[:3])).max() < 1e-3


def test_two_presses_are_one():
    points = places(2000, seed=8)
    once = back(points, 3.0, 0.5)[:, :3]
    twice = back(back(points, 2.0, 0.5)[:, :3], 1.5, 0.5)[:, :3]
    assert twice == pytest.approx(once, abs=1e-9)


def test_faces_are_made_out_of_the_core():
    """Fountain flow (Rose 1961): pressed to half with full drag, new face comes from the depth."""
    xi = np.linspace(0.01, 0.99, 99)
    face = np.stack([xi, np.zeros(99), np.ones(99)], axis=1)
    depth = back(face, 2.0, 1.0)[:, 2]
    old = xi <= 0.5  # the face that stuck to the liner while the slab grew to twice its length
    assert depth[old] == pytest.approx(1, abs=1e-12)
    assert np.all(np.abs(depth[~old]) < STREAMLINE_TURNS)
