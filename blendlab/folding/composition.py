"""Compiled look-ups in a charge: which flake a point is in, and what a stretch of melt is made of.

Positions are counted in cells of the charge's lattice from the slab's corner.
"""

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from numba import prange

from ..runtime.compiled import compiled

if TYPE_CHECKING:
    from .charge import Charge, Level

Floats = npt.NDArray[np.float64]
Seeds = npt.NDArray[np.float32]
Labels = npt.NDArray[np.uint8]


@compiled()
def two_kinds_near(u: float, v: float, w: float, seeds: Seeds, labels: Labels) -> tuple[int, int, float]:
    """Find the nearest flake and the nearest of another kind.

    Parameters
    ----------
    u, v, w : float
        Position, counted in cells from the slab's corner.
    seeds, labels : ndarray
        As in `Charge`.

    Returns
    -------
    tuple
        The two labels (equal where no other kind is near) and the distance to the face between them,
        counted in cells.
    """
    nx, ny, nz = labels.shape
    i0, j0, k0 = int(u), int(v), int(w)
    best = other = 1e30
    bi = bj = bk = oi = oj = ok = 0
    label = -1
    for i in range(max(i0 - 1, 0), min(i0 + 2, nx)):
        for j in range(max(j0 - 1, 0), min(j0 + 2, ny)):
            for k in range(max(k0 - 1, 0), min(k0 + 2, nz)):
                du, dv, dw = seeds[i, j, k, 0] - u, seeds[i, j, k, 1] - v, seeds[i, j, k, 2] - w
                far = du * du + dv * dv + dw * dw
                if far < best:
                    if label >= 0 and labels[i, j, k] != label:
                        other, oi, oj, ok = best, bi, bj, bk
                    best, bi, bj, bk = far, i, j, k
                    label = labels[i, j, k]
                elif far < other and labels[i, j, k] != label:
                    other, oi, oj, ok = far, i, j, k
    if other >= 1e30:
        return label, label, 1e3
    du = seeds[bi, bj, bk, 0] - seeds[oi, oj, ok, 0]
    dv = seeds[bi, bj, bk, 1] - seeds[oi, oj, ok, 1]
    dw = seeds[bi, bj, bk, 2] - seeds[oi, oj, ok, 2]
    distance = (du * du + dv * dv + dw * dw) ** 0.5
    return label, int(labels[oi, oj, ok]), (other - best) / (2.0 * distance + 1e-12)


@compiled()
def _add_level(
    place: tuple[float, float, float], weight: float, level: "Level", charge: "Charge", out: Seeds
) -> None:
    """Add a level's composition at a place, linearly interpolated, times a weight."""
    u, v, w = place
    kx, ky, kz = level.kx, level.ky, level.kz
    cells = charge.labels.shape
    x = min(max(u * kx / cells[0] - 0.5, 0.0), kx - 1.0)
    y = min(max(v * ky / cells[1] - 0.5, 0.0), ky - 1.0)
    z = min(max(w * kz / cells[2] - 0.5, 0.0), kz - 1.0)
    i, j, k = min(int(x), max(kx - 2, 0)), min(int(y), max(ky - 2, 0)), min(int(z), max(kz - 2, 0))
    x, y, z = x - i, y - j, z - k
    kinds = len(out)
    for p in range(min(2, kx)):
        for q in range(min(2, ky)):
            for r in range(min(2, kz)):
                part = weight * (x if p else 1 - x) * (y if q else 1 - y) * (z if r else 1 - z)
                at = level.start + (((i + p) * ky + j + q) * kz + k + r) * kinds
                for n in range(kinds):
                    out[n] += part * charge.compositions[at + n]


@compiled()
def add_composition(
    place: tuple[float, float, float],
    gap: float,
    flakes: float,
    weight: float,
    charge: "Charge",
    out: Seeds,
) -> None:
    """Add the composition of a stretch of melt to `out`.

    Parameters
    ----------
    place : tuple of float
        Its middle, counted in cells.
    gap : float
        Its length, counted in cells: softens the face between two flakes by as much.
    flakes : float
        How many flakes it crosses, at least 1.
    weight : float
        Factor on what is added.
    charge : Charge
        The first slab.
    out : ndarray of float32, shape (kinds,)
        Added to.
    """
    cells, levels = charge.labels.shape, charge.levels
    u = min(max(place[0], 0.0), cells[0] - 1e-6)
    v = min(max(place[1], 0.0), cells[1] - 1e-6)
    w = min(max(place[2], 0.0), cells[2] - 1e-6)
    last = len(levels) - 1
    upper = 0
    while upper < last and levels[upper].flakes_seen < flakes:
        upper += 1
    below = levels[upper - 1].flakes_seen if upper > 0 else 1.0
    part = min(max(np.log(flakes / below) / np.log(levels[upper].flakes_seen / below), 0.0), 1.0)
    if part > 0.0:
        _add_level((u, v, w), weight * part, levels[upper], charge, out)
    if part < 1.0 and upper > 0:
        _add_level((u, v, w), weight * (1.0 - part), levels[upper - 1], charge, out)
    elif part < 1.0:
        own, other, away = two_kinds_near(u, v, w, charge.seeds, charge.labels)
        inside = min(0.5 + away / (gap + 1e-9), 1.0)
        out[own] += weight * (1.0 - part) * inside
        out[other] += weight * (1.0 - part) * (1.0 - inside)


@compiled(parallel=True)
def nearest_cells(points: Floats, seeds: Seeds) -> npt.NDArray[np.int64]:
    """Return the flat index of the cell whose seed is nearest to each point; points counted in cells."""
    nx, ny, nz = seeds.shape[:3]
    out = np.empty(len(points), np.int64)
    for n in prange(len(points)):
        u, v, w = points[n]
        i0, j0, k0 = int(u), int(v), int(w)
        best = 1e30
        for i in range(max(i0 - 1, 0), min(i0 + 2, nx)):
            for j in range(max(j0 - 1, 0), min(j0 + 2, ny)):
                for k in range(max(k0 - 1, 0), min(k0 + 2, nz)):
                    du, dv, dw = seeds[i, j, k, 0] - u, seeds[i, j, k, 1] - v, seeds[i, j, k, 2] - w
                    far = du * du + dv * dv + dw * dw
                    if far < best:
                        best = far
                        out[n] = (i * ny + j) * nz + k
    return out
