"""The unevenness of a press: round patches of melt that it turns or tips a little.

Inside a disc of radius r, a point at rho = distance/r and relative depth s turns by the angle

    2 * atan(g)      g = (alpha + beta*s) * (1 - rho**2)**2 / 2

about the disc's middle. Distance and depth do not change, so volume is kept whatever the angle; it fades to
zero at the rim, so nothing tears. Discs of a last layer tip instead, about a horizontal axis, which makes the
layers of the slab wavy: with xi the distance across that axis over r, the pair (xi, s) turns by

    2 * atan(g)      g = gamma * (1 - rho**2 - s**2)**2 / 2

within the flat ellipsoid rho**2 + s**2 < 1, so volume is kept and the faces stay level. A tipping disc may
be cut in half by an edge of the slab if its axis is square to that edge. Writing an angle by its half
tangent makes the turn rational: no sine is needed. The discs of one layer do not overlap, and each layer has
a coarse grid that names the one disc a cell may touch, so a point is tried against one disc a layer however
many there are.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from ..runtime.compiled import compiled
from ..runtime.records import records

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Grid = npt.NDArray[np.int16]

GRID = 64  # cells along each side of a layer's look-up grid
NO_DISC = -1
# Chosen by eye, on warm and dark recipes at 2 to 6 folds, so that unevenness 1 looks like a press by hand.
LAYERS = 8  # that turn; one more tips
TRIES = 60  # discs tried in a layer of a square slab; those that would overlap are dropped
RIM = 0.6  # part of them that touch an edge and so break up the frame a rolling edge would leave
SPLIT = 0.4  # part of those that tip which an edge cuts in half
WIDE_RADII, WIDE_TURN = (0.2, 0.7), 1.2
RIM_RADII, RIM_TURN = (0.12, 0.4), 2.0
TIP = 2.5
SHEAR = 0.7  # beta as a part of alpha


class Turning(NamedTuple):
    """A disc that turns about its middle."""

    x: float  # its middle, mm
    y: float
    inverse_r2: float  # 1/radius**2, 1/mm2
    alpha: float  # radians
    beta: float


class Tipping(NamedTuple):
    """A disc that tips about a level axis through its middle."""

    x: float  # its middle, mm
    y: float
    inverse_r2: float  # 1/radius**2, 1/mm2
    gamma: float  # radians
    across_x: float  # direction across the axis, over the radius
    across_y: float
    shift_x: float  # the same direction times the radius
    shift_y: float


class Smear(NamedTuple):
    """The discs of one press, as compiled code reads them.

    Attributes
    ----------
    turning : record array of Turning
        All discs that turn.
    tipping : record array of Tipping
        All discs that tip.
    grids : ndarray of int16, shape (m, GRID, GRID)
        For each layer the index of the one disc each cell may touch, or `NO_DISC`; discs of the last tip.
    """

    turning: Sequence[Turning]
    tipping: Sequence[Tipping]
    grids: Grid


def _throw(a: float, b: float, at_edge: float, out: float, rng: np.random.Generator) -> Floats:
    """Draw discs of one layer: for each x, y, radius, whether it is at an edge, whether that is an end.

    The part `at_edge` of them is at an edge and reaches beyond it by `out` times their radius.
    """
    short = min(a, b)
    count = round(TRIES * max(a, b) / short)
    rim = rng.random(count) < at_edge
    (r0, r1), (w0, w1) = RIM_RADII, WIDE_RADII
    r = short * np.where(rim, rng.uniform(r0, r1, count), rng.uniform(w0, w1, count))
    x, y = (np.array([[a], [b]]) - r) * rng.uniform(-1, 1, (2, count))
    # A rim disc is moved to one of the four edges, with a chance in proportion to its length.
    on_end = rng.random(count) < b / (a + b)
    x = np.where(rim & on_end, np.copysign(a - (1 - out) * r, x), x)
    y = np.where(rim & ~on_end, np.copysign(b - (1 - out) * r, y), y)
    return np.stack([x, y, r, rim, on_end], axis=-1)


@compiled()
def _without_overlap(thrown: Floats, gap: float) -> Floats:
    """Keep each disc that is further than `gap` from all kept before it."""
    kept = np.empty_like(thrown)
    count = 0
    for disc in thrown:
        free = True
        for other in kept[:count]:
            if math.hypot(disc[0] - other[0], disc[1] - other[1]) <= disc[2] + other[2] + gap:
                free = False
                break
        if free:
            kept[count] = disc
            count += 1
    return kept[:count]


@compiled()
def _grid(discs: Floats, a: float, b: float, margin: float) -> Grid:
    """Look up which disc comes within `margin` of each cell's middle."""
    middles = (np.arange(GRID) + 0.5) * (2 / GRID) - 1
    grid = np.full((GRID, GRID), NO_DISC, np.int16)
    for index in range(len(discs)):
        x, y, r = discs[index, 0], discs[index, 1], discs[index, 2]
        for i in range(GRID):
            if abs(a * middles[i] - x) <= r + margin:
                for j in range(GRID):
                    if math.hypot(a * middles[i] - x, b * middles[j] - y) <= r + margin:
                        grid[i, j] = index
    return grid


def _strengths(count: int, kinds: int, rng: np.random.Generator) -> Floats:
    """Half to all of the full strength, either way, shape (kinds, discs): every disc moves, none whirls."""
    strengths = rng.uniform(0.5, 1.0, (kinds, count))
    strengths[rng.random((kinds, count)) < 0.5] *= -1.0
    return strengths


def _turning(thrown: Floats, most: float, rng: np.random.Generator) -> list[Turning]:
    """Give discs their turns, `most` of the widest."""
    x, y, r, rim, _ = thrown.T
    alpha, beta = most * np.where(rim, RIM_TURN, WIDE_TURN) * _strengths(len(thrown), 2, rng)
    return [Turning(*disc) for disc in np.stack([x, y, r**-2, alpha, SHEAR * beta], axis=-1).tolist()]


def _tipping(thrown: Floats, most: float, rng: np.random.Generator) -> list[Tipping]:
    """Give discs their tips, `most` of the widest; one at an edge tips along it."""
    x, y, r, rim, on_end = thrown.T
    (gamma,) = most * TIP * _strengths(len(thrown), 1, rng)
    angle = rng.uniform(0.0, np.pi, len(thrown))
    across_x, across_y = np.where(rim, [1 - on_end, on_end], [np.cos(angle), np.sin(angle)])
    values = [x, y, r**-2, gamma, across_x / r, across_y / r, across_x * r, across_y * r]
    return [Tipping(*disc) for disc in np.stack(values, axis=-1).tolist()]


def smear(a: float, b: float, unevenness: float, rng: np.random.Generator) -> Smear:
    """Draw the patches that one press turns and tips.

    Parameters
    ----------
    a, b : float
        Half sides of the slab, mm.
    unevenness : float
        0 (none) to 1 for a press to half the height; more for one that goes further.
    rng : numpy.random.Generator
        The press's own source of chance.

    Returns
    -------
    Smear
        Turning discs wholly inside the plan, then tipping ones, some of them cut in half by an edge; none at
        unevenness 0.
    """
    turning: list[Turning] = []
    tipping: list[Tipping] = []
    grids = np.full((LAYERS + 1 if unevenness > 0.0 else 0, GRID, GRID), NO_DISC, np.int16)
    half_cell, most = math.hypot(a, b) / GRID, math.sqrt(max(unevenness, 0.0))
    for layer, grid in enumerate(grids):
        tips = layer == LAYERS
        thrown = _throw(a, b, SPLIT, 1.0, rng) if tips else _throw(a, b, RIM, 0.0, rng)
        kept = _without_overlap(thrown, 2 * half_cell)
        grid[:] = _grid(kept, a, b, half_cell)
        grid[grid != NO_DISC] += 0 if tips else len(turning)
        if tips:
            tipping += _tipping(kept, most, rng)
        else:
            turning += _turning(kept, most, rng)
    return Smear(records(Turning, turning), records(Tipping, tipping), grids)


@compiled(allocates=False)
def _turn(u: float, v: float, g: float) -> tuple[float, float]:
    """Return how far a pair of numbers moves in a turn by the angle whose half tangent is g."""
    sin = 2.0 * g / (1.0 + g * g)
    less = sin * g  # 1 - cos
    return -less * u - sin * v, sin * u - less * v


@compiled(allocates=False)
def turn_patch(x: float, y: float, s: float, disc: Turning, way: float) -> tuple[float, float]:
    """Turn a point within one disc; way is 1.0 forward, -1.0 backward.

    Parameters
    ----------
    x, y : float
        Position, mm.
    s : float
        Relative depth in [-1, 1].
    """
    u, v = x - disc.x, y - disc.y
    fade = max(1.0 - (u * u + v * v) * disc.inverse_r2, 0.0)
    du, dv = _turn(u, v, way * 0.5 * (disc.alpha + disc.beta * s) * fade * fade)
    return x + du, y + dv


@compiled(allocates=False)
def tip_patch(x: float, y: float, s: float, disc: Tipping, way: float) -> tuple[float, float, float]:
    """Tip a point within one disc about its horizontal axis; parameters as for `turn_patch`."""
    u, v = x - disc.x, y - disc.y
    fade = max(1.0 - (u * u + v * v) * disc.inverse_r2 - s * s, 0.0)
    shift, rise = _turn(disc.across_x * u + disc.across_y * v, s, way * 0.5 * disc.gamma * fade * fade)
    return x + disc.shift_x * shift, y + disc.shift_y * shift, s + rise


@compiled(allocates=False)
def smear_block(points: Floats, a: float, b: float, patches: Smear, way: float, scratch: Integers) -> None:
    """Take points through a press's smear (way 1.0), or back through it (way -1.0), in place.

    Whether a point is in a disc is as good as random, and a processor that guesses wrong loses more time than
    the turn takes. So the points in discs of a layer are listed first, without a branch.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        x and y in mm and relative depth.
    a, b : float
        Half sides of the slab, mm.
    patches : Smear
        The discs; `grids` holds the layers of this press only.
    scratch : ndarray, shape (2, n or more)
        Overwritten.
    """
    count, across, along = len(patches.grids), 0.5 * GRID / a, 0.5 * GRID / b
    whose, discs = scratch[0], scratch[1]
    for k in range(count):
        layer = k if way > 0.0 else count - 1 - k
        grid, within = patches.grids[layer], 0
        for n in range(len(points)):
            i = min(max(int((points[n, 0] + a) * across), 0), GRID - 1)
            j = min(max(int((points[n, 1] + b) * along), 0), GRID - 1)
            whose[within], discs[within] = n, grid[i, j]
            within += grid[i, j] != NO_DISC
        for m in range(within):
            n, disc = whose[m], discs[m]
            x, y, s = points[n, 0], points[n, 1], points[n, 2]
            if layer == count - 1:
                points[n, 0], points[n, 1], points[n, 2] = tip_patch(x, y, s, patches.tipping[disc], way)
            else:
                points[n, 0], points[n, 1] = turn_patch(x, y, s, patches.turning[disc], way)
