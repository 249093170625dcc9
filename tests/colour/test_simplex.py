"""Shares that sum to 1."""

from math import comb

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.colour import simplex


@pytest.mark.parametrize(("parts", "steps"), [(1, 1), (2, 40), (3, 14), (4, 8)])
def test_a_grid_holds_every_division_once(parts, steps):
    found = simplex.grid(parts, steps)
    assert len(found) == comb(steps + parts - 1, parts - 1)  # stars and bars
    assert len(np.unique(found.round(9), axis=0)) == len(found)
    assert found.min() >= 0
    assert found.sum(axis=-1) == pytest.approx(np.ones(len(found)), abs=1e-12)


@st.composite
def limited_shares(draw):
    parts = draw(st.integers(1, 5))
    numbers = st.lists(st.floats(0, 1), min_size=parts, max_size=parts)
    shares = np.array(draw(numbers)) + 1e-9
    limits = np.array(draw(numbers))
    return shares / shares.sum(), np.minimum(limits + max(0, 1 - limits.sum()), 1)


@given(limited_shares())
def test_shares_are_brought_within_their_limits(case):
    shares, limits = case
    found = simplex.within(shares, limits)
    assert np.all(found <= limits + 1e-12)
    assert np.all(found >= 0)
    assert found.sum() == pytest.approx(1, abs=1e-9)
    if np.all(shares <= limits):
        assert found == pytest.approx(shares, abs=1e-12)
