import numpy as np
import pytest

from blendlab.photo.charge_shares import of_charge
from blendlab.photo.share_fit import Fit

CERTAIN = np.ones(1)


def fitted(shares: list[float], spread: float, gain: float = 0.0) -> Fit:
    own = np.array(shares)
    return Fit(own, np.where(own > 0, spread, 0.0), np.full(3, gain), 1e-4 * np.eye(3), 2.0)


def test_a_sure_fit_stands() -> None:
    found = of_charge([fitted([0.6, 0.4, 0.0], 1e-6)], CERTAIN, 0.2)
    np.testing.assert_allclose(found.shares, [0.6, 0.4, 0.0], atol=1e-6)
    np.testing.assert_allclose(found.spread, [1e-6, 1e-6, 0.0], rtol=1e-3)


def test_counts_have_their_say_by_how_likely_they_are() -> None:
    fits = [fitted([0.8, 0.2], 1e-6, 0.1), fitted([0.7, 0.3], 1e-6, 0.2)]
    found = of_charge(fits, np.array([0.6, 0.2]), 0.2)
    assert found.shares[0] == pytest.approx(0.775, abs=0.01)
    assert found.gains == pytest.approx(0.125)
    # Of two values d apart with probabilities p and 1 - p the variance is p (1 - p) d^2.
    assert found.spread == pytest.approx(np.sqrt(0.75 * 0.25) * 0.1, rel=0.02)
    assert found.gain_covariance[0, 0] == pytest.approx(1e-4 + 0.75 * 0.25 * 0.1**2)


def test_a_trace_that_an_unlikely_count_brings_is_left_out() -> None:
    fits = [fitted([0.8, 0.2, 0.0], 0.01), fitted([0.5, 0.2, 0.3], 0.01)]
    found = of_charge(fits, np.array([0.95, 0.05]), 0.2)
    assert found.shares[2] == found.spread[2] == 0
    assert found.shares.sum() == pytest.approx(1)


def test_one_flake_is_all_of_it() -> None:
    assert of_charge([fitted([0.0, 1.0], 0.05)], CERTAIN, 3.0).shares.tolist() == [0.0, 1.0]


def test_a_strange_photo_is_trusted_less() -> None:
    near, far = (of_charge([fitted([0.8, 0.2], 0.08)], CERTAIN, strange) for strange in (0.5, 4.0))
    assert 0.5 < far.shares[0] < near.shares[0] < 0.8
    assert far.spread[0] > 1.5 * near.spread[0]


@pytest.mark.parametrize("kinds", [2, 4])
def test_shares_come_nearest_to_random_mixes(kinds: int) -> None:
    """Drawn from the prior itself and read with normal errors, no other pull is better."""
    rng = np.random.default_rng(kinds)
    true = rng.dirichlet(np.ones(kinds), 4000)
    noise = 0.1 * rng.standard_normal(true.shape)
    read = true + noise - noise.mean(axis=1, keepdims=True)
    spread = 0.1 * np.sqrt(1 - 1 / kinds)
    known = (of_charge([fitted([0.7, *[0.3 / (kinds - 1)] * (kinds - 1)], spread)], CERTAIN, 0.2)).shares[0]
    weight = (known - 1 / kinds) / (0.7 - 1 / kinds)
    errors = [
        np.square(1 / kinds + pull * weight * (read - 1 / kinds) - true).mean() for pull in (0.9, 1.0, 1.1)
    ]
    assert errors[1] < min(errors[0], errors[2])
    assert errors[1] == pytest.approx(weight * spread**2, rel=0.05)
