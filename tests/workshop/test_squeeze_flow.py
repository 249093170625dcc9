"""Closing times compared with published solutions and with solutions by finite differences."""

from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.sparse import diags, identity, kron
from scipy.sparse.linalg import spsolve

from blendlab.checks import InputError
from blendlab.workshop.squeeze_flow import Melt, Squeeze

AREA, FROM, TO = 0.2**2, 0.012, 0.006
RADIUS = sqrt(AREA / pi)


@pytest.mark.parametrize("force", [1000.0, 300.0, 100.0])
def test_a_melt_that_sticks_closes_as_stefan_found(force):
    """Stefan 1874, Sitzungsber. Akad. Wiss. Wien 69:713, integrated; to twelve digits."""
    eta = 1e4
    filled = Squeeze(AREA, FROM, TO, drag=1, filled=True).seconds(Melt(eta), force)
    assert filled == pytest.approx(3 * pi * eta * RADIUS**4 / (4 * force) * (TO**-2 - FROM**-2), rel=1e-12)
    volume = AREA * TO
    spreads = Squeeze(AREA, FROM, TO, drag=1).seconds(Melt(eta), force)
    assert spreads == pytest.approx(3 * eta * volume**2 / (8 * pi * force) * (TO**-4 - FROM**-4), rel=1e-12)


def test_closing_by_hand_takes_minutes_and_by_clamp_one():
    """By hand calculation: 200 x 200 mm, 12 to 6 mm, 10⁴ Pa·s, plates filled and a charge that spreads."""
    filled, spreads = (Squeeze(AREA, FROM, TO, 1, filled) for filled in (True, False))
    minutes = [[way.seconds(Melt(1e4), n) / 60 for n in (1000, 300, 100)] for way in (filled, spreads)]
    assert minutes[0] == pytest.approx([1.326, 4.421, 13.263], abs=5e-4)
    assert minutes[1] == pytest.approx([0.829, 2.763, 8.289], abs=5e-4)


@given(st.floats(0.2, 1.0), st.floats(1e3, 1e5), st.floats(50, 2e4))
def test_a_melt_that_thins_closes_as_scott_found(n, m, force):
    """Scott 1931, Trans. Inst. Rubber Ind. 7:169: F = 2π m ((2n + 1)/n)ⁿ Vⁿ Rⁿ⁺³/((n + 3) h²ⁿ⁺¹)."""
    fast = (force * (n + 3) / (2 * pi * m * RADIUS ** (n + 3))) ** (1 / n) * n / (2 * n + 1)
    power = (n + 1) / n
    seconds = (TO**-power - FROM**-power) / power / fast
    assert Squeeze(AREA, FROM, TO, 1, True).seconds(Melt(m, n), force) == pytest.approx(seconds, rel=1e-10)


@pytest.mark.parametrize("n", [0.3, 0.5, 0.7, 1.0])
def test_half_the_gap_takes_leider_and_birds_half_time(n):
    """Leider & Bird 1974, Ind. Eng. Chem. Fundam. 13:336, from memory, with b half the gap at first:

    t½ = n Kₙ (πR²m/F)^(1/n) (R/b)^(1 + 1/n), Kₙ = (2^(1 + 1/n) − 1)/2n · (3 + n)^(−1/n) · (2n + 1)/(n + 1)
    """
    m, force, b = 8e3, 400.0, FROM / 2
    k = (2 ** (1 + 1 / n) - 1) / (2 * n) * (3 + n) ** (-1 / n) * (2 * n + 1) / (n + 1)
    half = n * k * (pi * RADIUS**2 * m / force) ** (1 / n) * (RADIUS / b) ** (1 + 1 / n)
    assert Squeeze(AREA, FROM, FROM / 2, 1, True).seconds(Melt(m, n), force) == pytest.approx(half, rel=1e-10)


@given(st.floats(1e3, 1e5), st.floats(50, 2e4))
def test_a_melt_that_slips_is_stretched_alike_both_ways(eta, force):
    """Equal biaxial viscosity 6η (Chatraei, Macosko & Winter 1981, J. Rheol. 25:433, from memory)."""
    filled = Squeeze(AREA, FROM, TO, 0, True).seconds(Melt(eta), force)
    biaxial = 0.5 * np.log(FROM / TO)  # strain of either side
    assert filled == pytest.approx(6 * eta * biaxial * AREA / force, rel=1e-12)
    spreads = Squeeze(AREA, FROM, TO, 0).seconds(Melt(eta), force)
    assert spreads == pytest.approx(3 * eta * AREA * TO / force * (1 / TO - 1 / FROM), rel=1e-12)


def force_by_differences(melt, speed, height, radius, drag, rings=400, levels=400):
    """Force of a sticking or half slipping melt from its stresses: a stress gradient is sought at each ring
    for which the velocity, summed up from the liner to the middle, carries the melt that has to leave."""
    r = (np.arange(rings) + 0.5) / rings * radius
    z = (np.arange(levels) + 0.5) / levels * height / 2
    leaves = drag * speed * r / (2 * height)  # mean speed of what is sheared
    low, high = np.zeros(rings), np.full(rings, 1e14)
    for _ in range(80):
        gradient = np.sqrt(np.maximum(low, 1e-6) * high)
        slope = (np.outer(gradient, z) / melt.consistency_pa_sn) ** (1 / melt.index)
        velocity = np.cumsum(slope[:, ::-1], axis=1)[:, ::-1] * (z[1] - z[0])
        more = (velocity - slope * (z[1] - z[0]) / 2).mean(axis=1) < leaves
        low, high = np.where(more, gradient, low), np.where(more, high, gradient)
    pressure = np.cumsum(high[::-1])[::-1] * (r[1] - r[0]) - high * (r[1] - r[0]) / 2
    return float(np.sum(pressure * 2 * pi * r) * (r[1] - r[0]))


@pytest.mark.parametrize("n", [0.5, 0.7, 1.0])
@pytest.mark.parametrize("drag", [1.0, 0.6])
def test_the_force_is_that_of_finite_differences(n, drag):
    melt, speed, height = Melt(2e4, n), 5e-5, 0.009
    squeeze = Squeeze(AREA, FROM, TO, drag, True)
    stretched = (1 - drag) * pi * 2e4 * 3 ** ((n + 1) / 2) * (speed / height) ** n * RADIUS**2
    by_differences = force_by_differences(melt, speed, height, RADIUS, drag) + stretched
    closed = float(squeeze.resistance(melt, np.array(height))) * speed**n
    assert closed == pytest.approx(by_differences, rel=2e-3)


def test_the_time_is_that_of_a_stepped_solution():
    """The height followed through time by Runge-Kutta, its speed from the force by differences."""
    melt, force = Melt(2e4, 0.6), 800.0

    def falls(_, height):
        radius = sqrt(AREA * TO / height[0] / pi)
        one = force_by_differences(melt, 1e-5, height[0], radius, 1.0, 120, 200)
        return [-1e-5 * (force / one) ** (1 / melt.index)]

    def at_the_spacers(_, height):
        return height[0] - TO

    at_the_spacers.terminal = True
    solved = solve_ivp(falls, (0, 1e5), [FROM], events=at_the_spacers, rtol=1e-5)
    seconds = Squeeze(AREA, FROM, TO, 1).seconds(melt, force)
    assert seconds == pytest.approx(solved.t_events[0][0], rel=5e-3)


def test_a_square_counted_as_a_disc_takes_an_eighth_too_long():
    """Reynolds' equation on a square by finite differences: F = 0.4217 η V L⁴/h³, a disc 0.4775."""
    cells = 120
    second = diags([1.0, -2.0, 1.0], [-1, 0, 1], shape=(cells - 1, cells - 1)) * cells**2
    laplace = kron(identity(cells - 1), second) + kron(second, identity(cells - 1))
    pressure = spsolve(laplace.tocsc(), np.full((cells - 1) ** 2, -12.0))  # ∇²p = −12 η V/h³
    square = pressure.sum() / cells**2
    assert square == pytest.approx(0.4217, abs=2e-4)
    disc = float(Squeeze(1.0, 2.0, 1.0, 1, True).resistance(Melt(1.0), np.array(1.0)))
    assert disc / square == pytest.approx(1.13, abs=0.005)


@given(st.floats(0, 1), st.floats(0.3, 1), st.floats(1.1, 3))
def test_slip_force_and_a_shorter_way_all_close_sooner(drag, n, times):
    melt, squeeze = Melt(1e4, n), Squeeze(AREA, FROM, TO, drag)
    seconds = squeeze.seconds(melt, 300)
    assert squeeze.seconds(melt, 300 * times) == pytest.approx(seconds * times ** (-1 / n), rel=1e-9)
    assert Squeeze(AREA, FROM / 1.2, TO, drag).seconds(melt, 300) < seconds
    assert Squeeze(AREA, TO, TO, drag).seconds(melt, 300) == 0


@pytest.mark.parametrize("force", [0, -5, float("nan")])
def test_no_force_closes_nothing(force):
    with pytest.raises(
        InputError, match=r"force on the press in N must be a number above 0, got .*; say what"
    ):
        Squeeze(AREA, FROM, TO).seconds(Melt(1e4), force)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Melt(0.0), "consistency_pa_sn of a melt must be a number above 0, got 0.0"),
        (lambda: Melt(1e4, 1.5), "power-law index must be a number from 0.1 to 1"),
        (lambda: Squeeze(AREA, 0.005, TO), "start no lower than the spacers"),
        (lambda: Squeeze(AREA, FROM, TO, 2.0), "drag must be a number from 0 to 1"),
    ],
)
def test_impossible_melts_and_charges_are_refused_in_words(make, words):
    with pytest.raises(InputError) as refusal:
        make()
    assert words in str(refusal.value)
