"""The mixes of a few flakes that come nearest to a wanted colour.

Every set of up to three flakes (or more, where there are few) is tried on a grid of shares; the most
promising sets are refined by moving share from one flake to another in ever smaller steps; the best few
are kept. The grid and the steps are in units of strength rather than mass, or a little black would fall
between two points.
"""

from dataclasses import dataclass
from itertools import combinations
from math import comb
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..runtime.progress import ProgressCallback, each, no_progress, within
from . import simplex
from .difference import delta_e00
from .means import Averaging
from .spaces import Colour, Floats

WHOLE = 1 - 1e-12  # shares that sum to this make up a sheet

_GRID_STEPS = {1: 1, 2: 40, 3: 14, 4: 8}
_TRIED = 12_000  # sets of one size that are all tried; beyond this, the best smaller sets are extended
_REFINED = 240  # sets that are refined
_STARTS = 2  # grid points of each set from which refinement starts
_FIRST_STEP, _LAST_STEP = 0.06, 1e-7
_MIN_GAIN = 0.01  # CIEDE2000 gained by a whole step; less does not count
_AT_ONCE = 2_000  # grid points computed together: few enough to stay in the processor's cache
_NO_WORSE = 0.05  # of CIEDE2000: a flake is left out where that costs no more

Sets = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Field:
    """The search problem.

    Parameters
    ----------
    average : Averaging
        The mean to match, of all flakes that may be used.
    strength, limits : ndarray, shape (flakes,)
        Weight of a share, and the largest share, of each flake.
    """

    wanted: Colour
    average: Averaging
    strength: Floats
    limits: Floats

    def distance(self, sets: Sets, shares: Floats) -> Floats:
        """CIEDE2000 of shares of shape (sets, ways, size) of the flakes in each set, shape (sets, ways)."""
        return delta_e00(self.average.lab_of(shares @ self.average.amounts[sets]), self.wanted.lab)

    def shares(self, sets: Sets, weights: Floats) -> Floats:
        """Shares, within limits, of flakes with given weights, shape (sets, ways, size)."""
        parts = weights / self.strength[sets][:, None, :]
        return simplex.within(parts / parts.sum(axis=-1, keepdims=True), self.limits[sets][:, None, :])

    def weights(self, sets: Sets, shares: Floats) -> Floats:
        """Weight of each flake, summing to 1: the inverse of `shares`."""
        counts = shares * self.strength[sets][:, None, :]
        weights: Floats = counts / counts.sum(axis=-1, keepdims=True)
        return weights


class Find(NamedTuple):
    """A mix that was found: its CIEDE2000, which flakes, and their shares."""

    distance: float
    members: tuple[int, ...]
    shares: Floats


def best(field: Field, most: int, keep: int, on_progress: ProgressCallback = no_progress) -> list[Find]:
    """Return the nearest mixes of all sizes; one more flake must bring a visible gain."""
    found: list[Find] = []
    sets: Sets = np.zeros((1, 0), dtype=np.intp)
    sizes = min(most, len(field.limits))
    for size in range(1, sizes + 1):
        sets = _sets(field, size, sets)
        before, after = _part(size - 1, sizes), _part(size, sizes)
        half = (after - before) / 2
        near, starts = _on_grid(field, sets, within(on_progress, before, half))
        order = np.argsort(near, kind="stable")
        sets = sets[order]
        fit = field.limits[sets].sum(axis=-1) >= WHOLE
        tried = sets[fit][:_REFINED]
        distances, shares = _refined(
            field, tried, starts[order][fit][:_REFINED], within(on_progress, before + half, half)
        )
        for row in np.argsort(distances, kind="stable"):
            members = tuple(tried[row].tolist())
            if not any(
                f.distance <= distances[row] + _NO_WORSE and set(f.members) <= set(members) for f in found
            ):
                found.append(Find(float(distances[row]), members, shares[row]))
    found.sort(key=lambda find: (round(find.distance, 2), len(find.members)))
    return found[:keep]


def _sets(field: Field, size: int, smaller: Sets) -> Sets:
    """Sets of flakes to try, shape (sets, size).

    `smaller` holds the sets with one flake less, nearest first, extended where trying all takes long.
    """
    count = len(field.limits)
    if comb(count, size) <= _TRIED:
        return np.array(list(combinations(range(count), size)), dtype=np.intp)
    nearest = smaller[: _TRIED // count].tolist()
    wider = [{*part, more} for part in nearest for more in range(count) if more not in part]
    wider.append(
        set(np.argsort(-field.limits)[:size].tolist())
    )  # if any set makes up the whole sheet, this one does
    return np.array(sorted({tuple(sorted(each)) for each in wider}), dtype=np.intp)


def _part(size: int, sizes: int) -> float:
    """Part of the work done once sets of a size are finished: each size takes about four times the last."""
    return (4.0**size - 1) / (4.0**sizes - 1)


def _on_grid(field: Field, sets: Sets, on_progress: ProgressCallback) -> tuple[Floats, Floats]:
    """Smallest distance of each set on a grid, and the shares at its best points, (sets, starts, size)."""
    size = sets.shape[1]
    weights = simplex.grid(size, _GRID_STEPS[size])[None]
    starts = min(_STARTS, weights.shape[1])
    near, shares = np.empty(len(sets)), np.empty((len(sets), starts, size))
    at_once = max(_AT_ONCE // weights.shape[1], 1)
    for first in each(range(0, len(sets), at_once), on_progress):
        part = slice(first, first + at_once)
        tried = field.shares(sets[part], weights)
        distance = field.distance(sets[part], tried)
        best = np.argsort(distance, axis=-1, kind="stable")[:, :starts]
        near[part] = np.take_along_axis(distance, best[:, :1], axis=-1)[:, 0]
        shares[part] = np.take_along_axis(tried, best[..., None], axis=1)
    return near, shares


def _refined(
    field: Field, sets: Sets, starts: Floats, on_progress: ProgressCallback
) -> tuple[Floats, Floats]:
    """Move share between flakes while it helps, in ever smaller steps; return the best of each set's starts.

    A pattern search (Hooke & Jeeves 1961, J. ACM 8:212): each flake to each, then on along the last gain.
    """
    count, ways, size = starts.shape
    rows, shares = np.repeat(sets, ways, axis=0), starts.reshape(count * ways, 1, size)
    near, step = field.distance(rows, shares)[:, 0], np.full(len(rows), _FIRST_STEP)
    gain = np.zeros_like(shares)
    shifts = (np.eye(size)[None] - np.eye(size)[:, None]).reshape(-1, size)
    while len(at := np.flatnonzero(step > _LAST_STEP)):
        on_progress(1 - len(at) / len(step))
        weights = field.weights(rows[at], shares[at])
        moves = np.concatenate([step[at, None, None] * shifts, gain[at]], axis=1)
        tried = field.shares(rows[at], np.maximum(weights + moves, 0.0))
        distance = field.distance(rows[at], tried)
        best = np.argmin(distance, axis=-1)[:, None]
        reached = np.take_along_axis(distance, best, axis=-1)[:, 0]
        better = reached < near[at] - _MIN_GAIN * step[at]
        won, best = at[better], best[better, :, None]
        gain[at] = 0.0
        gain[won] = 2 * np.take_along_axis(moves[better], best, axis=1)
        shares[won] = np.take_along_axis(tried[better], best, axis=1)
        near[won] = reached[better]
        step[at[~better]] /= 2
    near, shares = near.reshape(count, ways), shares.reshape(count, ways, size)
    winner = np.argmin(near, axis=-1)
    return near[np.arange(count), winner], shares[np.arange(count), winner]
