"""Compiled look-ups in a charge: whose flake a point is in, and what a stretch of melt is made of.

Positions are counted in cells of the charge's lattice from the slab's corner.
"""

import numpy as np
from numba import prange

from ..runtime.compiled import compiled


@compiled()
def two_nearest(u, v, w, seeds, labels):  # type: ignore[no-untyped-def]
    """The nearest flake and the nearest of another sort.

    Parameters
    ----------
    u, v, w : float
        Position, counted in cells from the slab's corner.
    seeds, labels : ndarray
        As in `Charge`.

    Returns
    -------
    tuple
        The two labels (equal where no other sort is near) and the distance to the face between them,
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
    apart = (du * du + dv * dv + dw * dw) ** 0.5
    return label, int(labels[oi, oj, ok]), (other - best) / (2.0 * apart + 1e-12)


@compiled()
def _add_level(u, v, w, weight, levels, shape, cells, out):  # type: ignore[no-untyped-def]
    """Add a level's composition at a point, linearly interpolated, times a weight."""
    kx, ky, kz, start = shape
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
                at = start + (((i + p) * ky + j + q) * kz + k + r) * kinds
                for n in range(kinds):
                    out[n] += part * levels[at + n]


@compiled()
def add_composition(u, v, w, gap, flakes, weight, charge, out):  # type: ignore[no-untyped-def]
    """Add the composition of a stretch of melt to `out`.

    Parameters
    ----------
    u, v, w : float
        Its middle, counted in cells.
    gap : float
        Its length, counted in cells: softens the face between two flakes by as much.
    flakes : float
        How many flakes it crosses, at least 1.
    weight : float
        Factor on what is added.
    charge : tuple
        (seeds, labels, levels, shapes, flakes_seen) of a `Charge`.
    out : ndarray, shape (kinds,)
        Added to.
    """
    seeds, labels, levels, shapes, flakes_seen = charge
    cells = labels.shape
    u = min(max(u, 0.0), cells[0] - 1e-6)
    v = min(max(v, 0.0), cells[1] - 1e-6)
    w = min(max(w, 0.0), cells[2] - 1e-6)
    last = len(flakes_seen) - 1
    upper = 0
    while upper < last and flakes_seen[upper] < flakes:
        upper += 1
    below = flakes_seen[upper - 1] if upper > 0 else 1.0
    part = min(max(np.log(flakes / below) / np.log(flakes_seen[upper] / below), 0.0), 1.0)
    if part > 0.0:
        _add_level(u, v, w, weight * part, levels, shapes[upper], cells, out)
    if part < 1.0 and upper > 0:
        _add_level(u, v, w, weight * (1.0 - part), levels, shapes[upper - 1], cells, out)
    elif part < 1.0:
        own, other, away = two_nearest(u, v, w, seeds, labels)
        inside = min(0.5 + away / (gap + 1e-9), 1.0)
        out[own] += weight * (1.0 - part) * inside
        out[other] += weight * (1.0 - part) * (1.0 - inside)


@compiled(parallel=True)
def nearest_cells(points, seeds):  # type: ignore[no-untyped-def]
    """Flat index of the cell whose seed is nearest to each point; points counted in cells."""
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
