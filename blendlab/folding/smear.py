"""The hand's unevenness: round patches of melt that each press turns a little.

Inside a disc of radius r, a point at rho = distance/r and relative depth s turns by the angle

    2 * atan(g)      g = (alpha + beta*s) * (1 - rho**2)**2 / 2

about the disc's middle. Distance and depth stay, so volume is kept whatever the angle; it fades to zero
at the rim, so nothing tears. Writing the angle by its half tangent makes the turn rational: no sine is
needed. Discs lie in layers in which none overlap, each layer a coarse grid that names the one disc a
cell may touch, so a point is tried against one disc a layer however many there are.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..compiled import compiled

GRID = 64  # cells along each side of a layer's look-up grid
NO_DISC = -1
# What looks like a hand at unevenness 1, judged by eye on warm and dark recipes at 2 to 6 folds.
LAYERS = 8
TRIES = 60  # discs thrown at a layer of a square slab; those that would overlap are dropped
RIM = 0.6  # part of them that touch an edge and so dissolve the frame a rolling edge would leave
WIDE_RADII, WIDE_TURN = (0.2, 0.7), 1.2
RIM_RADII, RIM_TURN = (0.12, 0.4), 2.0
SHEAR = 0.7  # beta as a part of alpha, which itself is half to all of the turn: every disc moves, none whirls


@dataclass(frozen=True)
class Smear:
    """The discs of one press.

    Attributes
    ----------
    discs : ndarray of float64, shape (n, 5)
        x, y in mm, 1/radius**2 in 1/mm2, alpha and beta in radians.
    layers : ndarray of int16, shape (m, GRID, GRID)
        Index into `discs` of the one disc each cell may touch, or `NO_DISC`.
    """

    discs: npt.NDArray[np.float64]
    layers: npt.NDArray[np.int16]


def _throw(a: float, b: float, rng: np.random.Generator) -> npt.NDArray[np.float64]:
    """Discs thrown at one layer, wholly inside the plan: x, y, radius, spread of alpha, for each."""
    short = min(a, b)
    count = round(TRIES * max(a, b) / short)
    rim = rng.random(count) < RIM
    (r0, r1), (w0, w1) = RIM_RADII, WIDE_RADII
    r = short * np.where(rim, rng.uniform(r0, r1, count), rng.uniform(w0, w1, count))
    x, y = (np.array([[a], [b]]) - r) * rng.uniform(-1, 1, (2, count))
    # A rim disc is pushed against one of the four edges, each as likely as it is long.
    on_end = rng.random(count) < b / (a + b)
    x = np.where(rim & on_end, np.copysign(a - r, x), x)
    y = np.where(rim & ~on_end, np.copysign(b - r, y), y)
    return np.stack([x, y, r, np.where(rim, RIM_TURN, WIDE_TURN)], axis=-1)


def _apart(thrown: npt.NDArray[np.float64], gap: float) -> npt.NDArray[np.float64]:
    """Keep each disc that is further than `gap` from all kept before it."""
    kept: list[npt.NDArray[np.float64]] = []
    for disc in thrown:
        if all(math.dist(disc[:2], k[:2]) > disc[2] + k[2] + gap for k in kept):
            kept.append(disc)
    return np.array(kept)


def _cells(discs: npt.NDArray[np.float64], a: float, b: float, reach: float) -> npt.NDArray[np.int16]:
    """Look-up grid: which disc comes within `reach` of each cell's middle."""
    middles = (np.arange(GRID) + 0.5) * (2 / GRID) - 1
    grid = np.full((GRID, GRID), NO_DISC, np.int16)
    for index, (x, y, r) in enumerate(discs[:, :3]):
        grid[np.hypot(a * middles[:, None] - x, b * middles - y) <= r + reach] = index
    return grid


def smear(a: float, b: float, unevenness: float, rng: np.random.Generator) -> Smear:
    """Draw the patches that one press turns.

    Parameters
    ----------
    a, b : float
        Half sides of the slab, mm.
    unevenness : float
        0 (none) to 1.
    rng : numpy.random.Generator
        The press's own source of chance.

    Returns
    -------
    Smear
        Discs wholly inside the plan; none at unevenness 0.
    """
    discs, grids = [np.zeros((0, 5))], [np.zeros((0, GRID, GRID), np.int16)]
    half_cell = math.hypot(a, b) / GRID
    for _ in range(LAYERS if unevenness > 0.0 else 0):
        kept = _apart(_throw(a, b, rng), 2 * half_cell)
        grid = _cells(kept, a, b, half_cell)
        grid[grid != NO_DISC] += sum(map(len, discs))
        turn = rng.uniform(0.5, 1.0, (2, len(kept))) * rng.choice([-1.0, 1.0], (2, len(kept)))
        alpha, beta = math.sqrt(unevenness) * kept[:, 3] * turn * [[1.0], [SHEAR]]
        discs.append(np.stack([kept[:, 0], kept[:, 1], kept[:, 2] ** -2, alpha, beta], axis=-1))
        grids.append(grid[None])
    return Smear(np.concatenate(discs), np.concatenate(grids))


@compiled()
def turn_patch(x, y, s, disc, way):  # type: ignore[no-untyped-def]
    """Turn a point within one disc; way is 1.0 forward, -1.0 backward.

    Parameters
    ----------
    x, y : float
        Position, mm.
    s : float
        Relative depth in [-1, 1].
    disc : ndarray, shape (5,)
        x, y, 1/radius**2, alpha, beta.
    way : float
        1.0 or -1.0.

    Returns
    -------
    tuple of float
        x and y after the turn.
    """
    u, v = x - disc[0], y - disc[1]
    fade = 1.0 - (u * u + v * v) * disc[2]
    if fade <= 0.0:
        return x, y
    g = way * 0.5 * (disc[3] + disc[4] * s) * fade * fade
    scale = 1.0 / (1.0 + g * g)
    cos, sin = (1.0 - g * g) * scale, 2.0 * g * scale
    return disc[0] + cos * u - sin * v, disc[1] + sin * u + cos * v


@compiled()
def smear_point(x, y, s, a, b, discs, layers, first, last, way):  # type: ignore[no-untyped-def]
    """Take a point through the smear layers first..last, in order (way 1.0) or back (way -1.0).

    Parameters
    ----------
    x, y, s : float
        Position in mm and relative depth.
    a, b : float
        Half sides of the slab, mm.
    discs, layers : ndarray
        As in `Smear`, of a whole programme.
    first, last : int
        The range of layers, last excluded.
    way : float
        1.0 or -1.0.

    Returns
    -------
    tuple of float
        x and y.
    """
    per_x, per_y = 0.5 * GRID / a, 0.5 * GRID / b
    for k in range(last - first):
        layer = first + k if way > 0.0 else last - 1 - k
        i = min(max(int((x + a) * per_x), 0), GRID - 1)
        j = min(max(int((y + b) * per_y), 0), GRID - 1)
        disc = layers[layer, i, j]
        if disc != NO_DISC:
            x, y = turn_patch(x, y, s, discs[disc], way)
    return x, y
