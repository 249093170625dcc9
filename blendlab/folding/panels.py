"""Folding along straight lines, or cutting and stacking: panels of the slab laid on each other.

Along the folded direction t runs from -a to a. Each panel of it comes to lie at shift + way*t: turned over
(way -1, upper face down) or as it was (way 1). Where lines miss their places the pile is not equally deep
everywhere: columns of k layers stand beside each other. They are levelled to the m layers of an even fold
by stretching each column by k/m along t and as much the other way in depth, which keeps volume.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from ..runtime.compiled import compiled

MAX_COLUMNS = MAX_LAYERS = 3  # two fold lines make no more
# A column: its ends, slope m/k and offset of the place before levelling, k/m, k, way and shift of each layer.
START, END, SLOPE, OFFSET, FLAT, DEEP, WAY, SHIFT = range(8)
COLUMN = WAY + 2 * MAX_LAYERS
TABLE = MAX_COLUMNS * COLUMN
NARROWEST = 1e-12  # columns narrower than this part of the side come from rounding only


@dataclass(frozen=True)
class Panel:
    """A part of the slab between two fold lines.

    Attributes
    ----------
    start_mm, end_mm : float
        Its ends along the folded direction.
    way : int
        -1 where it is turned over, 1 where it lies as it was.
    shift_mm : float
        It comes to lie at shift + way*t.
    """

    start_mm: float
    end_mm: float
    way: int
    shift_mm: float

    @property
    def lies_mm(self) -> tuple[float, float]:
        """Its ends where it comes to lie, in rising order."""
        ends = (self.shift_mm + self.way * self.start_mm, self.shift_mm + self.way * self.end_mm)
        return min(ends), max(ends)


def over(start_mm: float, end_mm: float, line_mm: float) -> Panel:
    """Return the panel between two places, folded over a line."""
    return Panel(start_mm, end_mm, -1, 2 * line_mm)


def pile(fold: str, a: float, off_mm: Sequence[float] | npt.NDArray[np.float64]) -> tuple[Panel, ...]:
    """Lay out the panels of a fold, the lowest first.

    Parameters
    ----------
    fold : str
        half, edges-in, thirds or cut-and-stack.
    a : float
        Half the side that is folded, mm.
    off_mm : array_like
        How far each fold line misses its place, mm: one for half and cut-and-stack, else two.

    Returns
    -------
    tuple of Panel
        They cover the side once.
    """
    off = float(off_mm[0])
    if fold == "half":
        return Panel(-a, off, 1, 0.0), over(off, a, off)
    if fold == "cut-and-stack":
        return Panel(-a, off, 1, 0.0), Panel(off, a, 1, -(a + off))
    place = a / 2 if fold == "edges-in" else a / 3
    left, right = off - place, place + float(off_mm[1])
    return Panel(left, right, 1, 0.0), over(right, a, right), over(-a, left, left)


def columns(panels: Iterable[Panel], layers: int) -> npt.NDArray[np.float64]:
    """Level a pile of panels.

    Parameters
    ----------
    panels : iterable of Panel
        The lowest first.
    layers : int
        m, the layers of an even fold.

    Returns
    -------
    ndarray of float64, shape (TABLE,)
        What `panels_back` and `panels_forward` take; places of the levelled pile run from -a/m to a/m.
    """
    stack = tuple(panels)
    whole = sum(panel.end_mm - panel.start_mm for panel in stack)
    edges = sorted({end for panel in stack for end in panel.lies_mm})
    table = np.zeros((MAX_COLUMNS, COLUMN))
    table[:, START] = math.inf  # columns left over are never reached
    at, n = -0.5 * whole / layers, 0
    for low, high in pairwise(edges):
        if high - low < NARROWEST * whole:
            continue
        middle = 0.5 * (low + high)
        here = [panel for panel in stack if panel.lies_mm[0] < middle < panel.lies_mm[1]]
        slope = layers / len(here)
        end = at + (high - low) / slope
        table[n, :WAY] = at, end, slope, low - slope * at, 1 / slope, len(here)
        table[n, WAY : WAY + 2 * len(here)] = [v for panel in here for v in (panel.way, panel.shift_mm)]
        at, n = end, n + 1
    return table.ravel()


@compiled()
def panels_back(u, z, h, table):  # type: ignore[no-untyped-def]
    """Unfold a point of the levelled pile.

    Parameters
    ----------
    u, z : float
        Position in the pile, mm.
    h : float
        Height of the slab before the fold, mm.
    table : ndarray, shape (TABLE,)
        As from `columns`.

    Returns
    -------
    tuple of float
        t and z in the slab before, and |dz0/dz|.
    """
    j = 0
    while j + COLUMN < TABLE and u > table[j + COLUMN + START]:
        j += COLUMN
    z *= table[j + FLAT]
    i = min(int(z / h), int(table[j + DEEP]) - 1)
    way, shift = table[j + WAY + 2 * i], table[j + SHIFT + 2 * i]
    z -= i * h
    t = way * (table[j + SLOPE] * u + table[j + OFFSET] - shift)
    return t, (z if way > 0.0 else h - z), table[j + FLAT]


@compiled()
def panels_forward(t, z, h, table):  # type: ignore[no-untyped-def]
    """Fold a point of the slab: the inverse of `panels_back`, with the same parameters.

    Parameters
    ----------
    t, z : float
        Position before the fold, mm, z in [0, h].
    h, table
        As for `panels_back`.

    Returns
    -------
    tuple of float
        Place along the pile and height in it.
    """
    # The column and layer whose material holds t; the nearest where rounding leaves it between two.
    nearest, u, up = math.inf, 0.0, 0.0
    for j in range(0, TABLE, COLUMN):
        for i in range(int(table[j + DEEP])):
            way, shift = table[j + WAY + 2 * i], table[j + SHIFT + 2 * i]
            place = (shift + way * t - table[j + OFFSET]) * table[j + FLAT]
            miss = max(table[j + START] - place, place - table[j + END], 0.0)
            if miss < nearest:
                nearest, u = miss, place
                up = (i * h + (z if way > 0.0 else h - z)) * table[j + SLOPE]
    return u, up
