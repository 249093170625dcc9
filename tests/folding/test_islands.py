from math import exp, log

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from blendlab.checks import InputError
from blendlab.folding.islands import folds_behind, stretched

ratios, aspects = st.floats(0.05, 100), st.floats(1, 20)


@given(ratios)
def test_a_round_flake_is_stretched_as_eshelby_found(ratio):
    """A circle in pure shear: Schmid & Podladchikov 2003, Geophys. J. Int. 155:269, from memory."""
    assert stretched(ratio, 1e-5) / 1e-5 == pytest.approx(2 / (1 + ratio), rel=1e-4)


@given(aspects, st.floats(0, 8))
def test_a_flake_like_its_melt_goes_along(aspect, strain):
    assert stretched(1, strain, aspect) == pytest.approx(strain, abs=1e-9)


@given(ratios, aspects, st.floats(0.1, 6))
def test_the_closed_form_is_the_rate_integrated(ratio, aspect, strain):
    """Beside Runge-Kutta on the rate of Bilby, Eshelby & Kundu 1975, Tectonophysics 28:265, from memory."""

    def rate(_, own):
        long = aspect * exp(2 * own[0])
        return [(long + 1) ** 2 / (long**2 + 2 * ratio * long + 1)]

    ends = solve_ivp(rate, (0, strain), [0.0], rtol=1e-9, atol=1e-11).y[0, -1]
    assert stretched(ratio, strain, aspect) == pytest.approx(ends, abs=1e-6)


@given(st.floats(1, 100), aspects, st.floats(0, 20))
def test_a_stiff_flake_stays_behind_by_no_more_than_its_bound(ratio, aspect, strain):
    behind = strain - stretched(ratio, strain, aspect)
    assert -1e-9 <= behind <= (ratio - 1) / 2 * (1 - (aspect - 1) / (aspect + 1)) + 1e-9


@pytest.mark.parametrize(("ratio", "behind"), [(1.0, 0.0), (3.0, 1 / log(2)), (5.0, 2 / log(2))])
def test_after_many_folds_the_lag_is_a_count_of_folds(ratio, behind):
    """(λ − 1)/2 of strain, a round flake: 1.44 folds for three times the viscosity."""
    assert folds_behind(ratio, 16) == pytest.approx(behind, abs=2e-3)


def test_a_hard_grain_does_not_stretch():
    assert folds_behind(1000, 5) == pytest.approx(5, abs=0.02)


@given(st.floats(1, 1000), st.integers(0, 15))
def test_the_lag_grows_with_folds_and_never_past_them(ratio, folds):
    now, later = folds_behind(ratio, folds), folds_behind(ratio, folds + 1)
    assert 0 <= now <= later + 1e-9
    assert now <= folds


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ((-1.0, 1.0, 1.0), "viscosity ratio must be a number from 0 to 1000, got -1.0"),
        ((2.0, 1.0, 0.5), "aspect of a flake must be a number from 1 to 10000, got 0.5"),
    ],
)
def test_impossible_flakes_are_refused_in_words(wrong, words):
    with pytest.raises(InputError) as refusal:
        stretched(*wrong)
    assert words in str(refusal.value)
