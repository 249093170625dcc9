"""Rolling up, twisting and squaring a log."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.folding.roll import roll_back, square_to_disc, turns_of, unroll
from blendlab.folding.step_tables import ROLL, Step
from blendlab.runtime.records import records

from .forward import disc_to_square, roll_forward, roll_up

LENGTH, H = 200.0, 6.0
RADIUS = math.sqrt(LENGTH * H / math.pi)


@given(st.floats(-1, 1), st.floats(-1, 1))
def test_the_disc_is_squared_and_rounded_again(u: float, v: float) -> None:
    r, phi = square_to_disc(u, v, 1.0, 1.0)
    assert r <= 1.0
    assert disc_to_square(r, phi, 1.0, 1.0) == pytest.approx((u, v), abs=1e-12)


def test_the_square_has_the_discs_area_everywhere() -> None:
    """Shirley & Chiu 1997: the concentric map has the constant Jacobian pi/4 for a square of half side 1."""
    rng = np.random.default_rng(0)
    step = 1e-6
    for u, v in rng.uniform(-0.95, 0.95, (200, 2)):
        if abs(abs(u) - abs(v)) < 1e-3:
            continue  # the map has a kink on the diagonals

        def place(u: float, v: float) -> np.ndarray:
            r, phi = square_to_disc(u, v, 1.0, 1.0)
            return np.array([r * math.cos(phi), r * math.sin(phi)])

        along = (place(u + step, v) - place(u - step, v)) / (2 * step)
        across = (place(u, v + step) - place(u, v - step)) / (2 * step)
        assert abs(along[0] * across[1] - along[1] * across[0]) == pytest.approx(math.pi / 4, rel=1e-6)


@pytest.mark.parametrize(("length", "h"), [(200.0, 6.0), (20.0, 10.0), (900.0, 1.0), (41.0, 6.5)])
def test_the_strip_fills_the_disc_once_and_is_found_again(length: float, h: float) -> None:
    rng = np.random.default_rng(1)
    count = 4000
    points = np.stack([rng.uniform(0, length, count), rng.uniform(0, h, count)], axis=-1)
    rolled = np.array([roll_up(*point, length, h) for point in points])
    radius = math.sqrt(length * h / math.pi)
    assert rolled[:, 0].max() <= radius * (1 + 1e-12)
    found = np.array([unroll(*place, length, h)[:2] for place in rolled])
    np.testing.assert_allclose(found, points, atol=1e-6 * length)
    # Even in area: the square of the radius and the angle are spread evenly over the disc.
    x, y = rolled[:, 0] * np.cos(rolled[:, 1]), rolled[:, 0] * np.sin(rolled[:, 1])
    rings, _, _ = np.histogram2d(
        rolled[:, 0] ** 2 / radius**2, np.arctan2(y, x) / math.pi, bins=(8, 8), range=((0, 1), (-1, 1))
    )
    expected = count / 64
    assert ((rings - expected) ** 2 / expected).sum() < 63 + 5 * math.sqrt(126)


def test_a_roll_has_as_many_turns_as_its_strip_can_make() -> None:
    """A strip L long and h thick rolled solid has radius sqrt(L*h/pi), so about sqrt(L/(pi*h)) turns."""
    assert turns_of(LENGTH, H) == round(math.sqrt(LENGTH / (math.pi * H))) == 3
    assert turns_of(1.0, 10.0) == 1
    _, first = roll_up(1e-6, H / 2, LENGTH, H)
    _, last = roll_up(LENGTH - 1e-6, H / 2, LENGTH, H)
    assert (last - first) / (2 * math.pi) == pytest.approx(3.2, abs=0.01)  # three turns and the lap


def test_neighbours_on_the_strip_stay_neighbours_in_the_roll() -> None:
    along = np.linspace(0.0, LENGTH, 40_001)
    for up in (0.05, 3.0, 5.95):
        rolled = np.array([roll_up(at, up, LENGTH, H) for at in along])
        x, y = rolled[:, 0] * np.cos(rolled[:, 1]), rolled[:, 0] * np.sin(rolled[:, 1])
        steps = np.hypot(np.diff(x), np.diff(y))
        inside = slice(2000, -2000)  # the tapered ends are drawn out without limit
        assert steps[inside].max() < 6 * (along[1] - along[0])


def test_the_upper_face_lies_inward_and_the_lower_outward() -> None:
    inner, _ = roll_up(150.0, 0.0, LENGTH, H)
    outer, _ = roll_up(150.0, H, LENGTH, H)
    assert outer > inner
    log = math.sqrt(LENGTH * H)
    (step,) = records(Step, [Step(ROLL, H, h_folded=log)])
    on_top = roll_back(3.0, 0.0, log, LENGTH / 2, step)
    assert on_top[1] == pytest.approx(0.0, abs=1e-9)  # what shows is the old lower face


@pytest.mark.parametrize("angle_deg", [90.0, -250.0, 720.0])
def test_a_twist_turns_one_end_against_the_other_by_its_angle(angle_deg: float) -> None:
    log, width = math.sqrt(LENGTH * H), 120.0
    twist = math.radians(angle_deg) / width
    (step,) = records(Step, [Step(ROLL, H, h_folded=log, twist=twist, phase=0.4)])
    ends = []
    for w in (-width / 2, width / 2):
        u, z = roll_forward(35.0, w, 2.0, LENGTH / 2, step)
        assert roll_back(u, w, z, LENGTH / 2, step)[:2] == pytest.approx((35.0, 2.0))
        ends.append(square_to_disc(u, z - log / 2, log / 2, RADIUS))
    assert ends[0][0] == pytest.approx(ends[1][0])
    turned = math.degrees(ends[1][1] - ends[0][1]) - angle_deg
    assert math.remainder(turned, 360.0) == pytest.approx(0.0, abs=1e-9)
