"""Baseline: folds along straight lines, presses and smears undone in plain NumPy, from the same tables."""

import numpy as np

from blendlab.folding import moves, panels
from blendlab.folding.programme import Programme
from blendlab.folding.smear import GRID, NO_DISC

MAX_EVENTS = 8  # a handful of points in a million turn at the edge more often


def back(points: np.ndarray, programme: Programme) -> np.ndarray:
    """Follow points back through all steps; their positions in the first slab, mm."""
    x, y, z = points.T.copy()
    for step in programme.steps[::-1]:
        a, b = step[moves.A1], step[moves.B1]
        s = 2 * z / step[moves.H1] - 1
        for layer in range(int(step[moves.LAST]) - 1, int(step[moves.FIRST]) - 1, -1):
            tips = layer == int(step[moves.LAST]) - 1
            _smear(x, y, s, a, b, programme.discs, programme.layers[layer], tips)
        xi, eta, s = _press(x / a, y / b, s, step[moves.STRAIN], step[moves.P_X], step[moves.P_Y])
        x, y, z = xi * step[moves.A_FOLDED], eta * step[moves.B_FOLDED], (s + 1) / 2 * step[moves.H_FOLDED]
        along = y if step[moves.AXIS] == 1 else x
        t, z = _panels(along * step[moves.SIDE], z, step[moves.H0], step[moves.OWN :])
        x, y = (x, t * step[moves.SIDE]) if step[moves.AXIS] == 1 else (t * step[moves.SIDE], y)
    return np.stack([x, y, z], axis=-1)


def _smear(
    x: np.ndarray,
    y: np.ndarray,
    s: np.ndarray,
    a: float,
    b: float,
    discs: np.ndarray,
    grid: np.ndarray,
    tips: bool,
) -> None:
    """Undo one layer of the smear, in place."""
    i = np.clip(((x + a) * (GRID / 2 / a)).astype(np.int64), 0, GRID - 1)
    j = np.clip(((y + b) * (GRID / 2 / b)).astype(np.int64), 0, GRID - 1)
    index = grid[i, j]
    hit = np.flatnonzero(index != NO_DISC)
    disc = discs[index[hit]].T
    u, v, deep = x[hit] - disc[0], y[hit] - disc[1], s[hit]
    fade = np.maximum(1 - (u * u + v * v) * disc[2] - (deep * deep if tips else 0), 0)
    g = -0.5 * (disc[3] if tips else disc[3] + disc[4] * deep) * fade * fade
    sin = 2 * g / (1 + g * g)
    if tips:
        xi = disc[4] * u + disc[5] * v
        shift = -sin * g * xi - sin * deep
        x[hit] += disc[6] * shift
        y[hit] += disc[7] * shift
        s[hit] += sin * xi - sin * g * deep
    else:
        x[hit] += -sin * g * u - sin * v
        y[hit] += sin * u - sin * g * v


def _press(
    xi: np.ndarray, eta: np.ndarray, s: np.ndarray, strain: float, p_x: float, p_y: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Undo a press that spreads over one side: the flow in closed form, and over the edge."""
    along, p = (xi, p_x) if p_x > 0 else (eta, p_y)
    left = np.full(len(along), strain)
    for _ in range(MAX_EVENTS):
        w = s * s
        d = 1 - w + w * left
        grown = (d * np.sqrt(d / left)) ** p
        out = np.flatnonzero(np.abs(along) * grown > 1)
        if not out.size:
            break
        w, e, far = w[out], left[out], np.abs(along[out]) ** (-2 / p)
        for _ in range(60):
            d = 1 - w + w * e
            step = (d**3 - far * e) / (3 * w * d * d - far)
            e = e - step
            if np.all(np.abs(step) < 1e-14 * e):
                break
        inner = s[out] * np.sqrt(e / (1 - w + w * e))
        s[out] = np.copysign(0.5 * (np.sqrt(4 - 3 * inner**2) - np.abs(inner)), inner)
        along[out] = np.sign(along[out])
        left[out] /= np.maximum(e, 1)
    w = s * s
    d = 1 - w + w * left
    along *= (d * np.sqrt(d / left)) ** p
    return xi, eta, s * np.sqrt(left / d)


def _panels(u: np.ndarray, z: np.ndarray, h: float, table: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Unfold a levelled pile."""
    columns = table.reshape(-1, panels.COLUMN)
    column = columns[np.searchsorted(columns[1:, panels.START], u)].T
    z = z * column[panels.FLAT]
    layer = np.minimum((z / h).astype(np.int64), column[panels.DEEP].astype(np.int64) - 1)
    way, shift = (
        np.take_along_axis(column, (first + 2 * layer)[None], axis=0)[0]
        for first in (panels.WAY, panels.SHIFT)
    )
    z = z - layer * h
    t = way * (column[panels.SLOPE] * u + column[panels.OFFSET] - shift)
    return t, np.where(way > 0, z, h - z)
