"""Shares that sum to 1: even grids of them, and limits on each."""

from itertools import combinations

import numpy as np

from .spaces import Floats


def grid(parts: int, steps: int) -> Floats:
    """All ways to divide `steps` equal steps among some parts, shape (ways, parts).

    Examples
    --------
    >>> grid(2, 2).tolist()
    [[0.0, 1.0], [0.5, 0.5], [1.0, 0.0]]
    """
    # Stars and bars: each choice of positions for the bars is one way.
    bars = np.array(list(combinations(range(steps + parts - 1), parts - 1)), dtype=int)
    edges = np.pad(bars + 1, ((0, 0), (1, 1)), constant_values=0)
    edges[:, -1] = steps + parts
    return (np.diff(edges, axis=-1) - 1) / steps


def within(shares: Floats, most: Floats) -> Floats:
    """Bring shares within their limits; what one cannot take goes to the others in proportion.

    Parameters
    ----------
    shares : ndarray, shape (..., parts)
        0 or more, summing to 1.
    most : ndarray, shape (..., parts)
        Limit of each, summing to 1 or more; broadcasts with `shares`.

    Returns
    -------
    ndarray, shape (..., parts)
        Shares within their limits, summing to 1; unchanged where they already were.

    Examples
    --------
    >>> within(np.array([0.5, 0.3, 0.2]), np.array([0.3, 1.0, 1.0])).round(3).tolist()
    [0.3, 0.42, 0.28]
    """
    if np.all(shares <= most):
        return shares
    kept = np.minimum(shares, most)
    for _ in range(shares.shape[-1]):  # each round fills at least one part, or is the last
        over = 1 - kept.sum(axis=-1, keepdims=True)
        room = most - kept
        weight = np.where(room > 0, kept, 0.0)
        weight = np.where(weight.sum(axis=-1, keepdims=True) > 0, weight, room)
        total = weight.sum(axis=-1, keepdims=True)
        kept = np.minimum(kept + over * weight / np.where(total > 0, total, 1.0), most)
    return kept
