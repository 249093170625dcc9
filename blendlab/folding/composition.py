"""Compiled look-ups in a charge: which kind of flake is at a point, and which kinds a straight line passes.

Positions are counted in cells of the charge's lattice from the slab's corner.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numba import get_num_threads, prange

from ..runtime.compiled import compiled

Floats = npt.NDArray[np.float64]
Seeds = npt.NDArray[np.float32]
Labels = npt.NDArray[np.uint8]

NEAR = 27  # a cell and the cells around it: one of these holds the flake that a point in it belongs to
# Their numbers, the nearest cells first: these beat most of the others.
NEAREST_FIRST = np.argsort([sum((n // place % 3 - 1) ** 2 for place in (9, 3, 1)) for n in range(NEAR)])
CHIP = -2  # less a kind: piece of a passage through a chip of that kind
EDGE = 1e-6  # cells by which points on the slab's upper faces are moved into the last cells


@compiled()
def _never_nearer(other: Floats, than: Floats) -> bool:
    """Return whether `other` is nowhere in the unit cube nearer than another seed is."""
    most = 0.0  # of the difference of the squared distances, which is linear
    for m in range(3):
        most += than[m] * than[m] - other[m] * other[m] + max(2.0 * (other[m] - than[m]), 0.0)
    return most <= 0.0


@compiled(parallel=True)
def rivals_of(seeds: Seeds) -> Labels:
    """Return for every cell which cells around it may hold the flake that a point in it belongs to.

    Returns
    -------
    ndarray of uint8, shape (nx * ny * nz, NEAR + 1)
        Their count, then their numbers: three digits in base 3, each for a step down, none or up.
    """
    nx, ny, nz = seeds.shape[:3]
    out = np.zeros((nx * ny * nz, NEAR + 1), np.uint8)
    for cell in prange(nx * ny * nz):
        i, j, k = cell // (ny * nz), cell // nz % ny, cell % nz
        near = np.full((NEAR, 3), np.inf)
        for n in range(NEAR):
            p, q, r = i + n // 9 - 1, j + n // 3 % 3 - 1, k + n % 3 - 1
            if 0 <= p < nx and 0 <= q < ny and 0 <= r < nz:
                near[n, 0] = seeds[p, q, r, 0] - i
                near[n, 1] = seeds[p, q, r, 1] - j
                near[n, 2] = seeds[p, q, r, 2] - k
        kept = 0
        for n in range(NEAR):
            beaten = near[n, 0] == np.inf
            for m in NEAREST_FIRST:
                if beaten:
                    break
                if m != n and near[m, 0] < np.inf:
                    beaten = _never_nearer(near[n], near[m])
            if not beaten:
                kept += 1
                out[cell, kept] = n
        out[cell, 0] = kept
    return out


class Lattice(NamedTuple):
    """A charge laid out for look-ups, cell by cell.

    Attributes
    ----------
    seeds, labels, rivals, pieces : ndarray, shape (cells, ...)
        As in `Charge`; `pieces` may be empty.
    steps : ndarray, shape (NEAR,)
        From a cell's number to that of each cell around it.
    nx, ny, nz : int
        Cells along the three directions.
    """

    seeds: Seeds
    labels: Labels
    rivals: Labels
    pieces: npt.NDArray[np.int32]
    steps: npt.NDArray[np.int64]
    nx: int
    ny: int
    nz: int


@compiled()
def lattice_of(seeds: Seeds, labels: Labels, rivals: Labels, pieces: npt.NDArray[np.int32]) -> Lattice:
    """Lay out the flakes of a charge for look-ups."""
    nx, ny, nz = labels.shape
    steps = np.empty(NEAR, np.int64)
    for n in range(NEAR):
        steps[n] = ((n // 9 - 1) * ny + n // 3 % 3 - 1) * nz + n % 3 - 1
    return Lattice(seeds.reshape(-1, 3), labels.ravel(), rivals, pieces.ravel(), steps, nx, ny, nz)


class Passages(NamedTuple):
    """Stretches of light paths in pieces of offcuts, with room for more.

    Attributes
    ----------
    rows, pieces : ndarray, shape (room,)
        Path and piece of each; `CHIP` and below in a chip, of any kind.
    weights : ndarray, shape (room,)
        Part of its path.
    ends : ndarray, shape (room, 2, 3)
        In cells.
    filled : ndarray, shape (1,)
        How many there are, which may be more than there is room for.
    """

    rows: npt.NDArray[np.int64]
    pieces: npt.NDArray[np.int64]
    weights: Floats
    ends: Floats
    filled: npt.NDArray[np.int64]


def passages_for(room: int) -> Passages:
    """Return room for passages in each of the blocks that paths are divided into, all empty."""
    blocks = 16 * get_num_threads()
    whole = np.empty((blocks, room), np.int64), np.empty((blocks, room), np.int64), np.empty((blocks, room))
    return Passages(*whole, np.empty((blocks, room, 2, 3)), np.zeros((blocks, 1), np.int64))


@compiled()
def of_block(passages: Passages, block: int) -> Passages:
    """Return those of one block."""
    return Passages(
        passages.rows[block],
        passages.pieces[block],
        passages.weights[block],
        passages.ends[block],
        passages.filled[block],
    )


@compiled(allocates=False)
def _note(
    passages: Passages, row: int, piece: int, weight: float, ends: Floats, low: float, high: float
) -> None:
    """Note the part of a stretch, given by its ends, from low to high."""
    n = passages.filled[0]
    passages.filled[0] += 1
    if n < len(passages.rows):
        passages.rows[n], passages.pieces[n], passages.weights[n] = row, piece, weight
        for axis in range(3):
            start, way = ends[0, axis], ends[1, axis] - ends[0, axis]
            passages.ends[n, 0, axis], passages.ends[n, 1, axis] = start + low * way, start + high * way


@compiled(allocates=False)
def _inside(place: float, cells: int) -> float:
    """Bring a place into the lattice, along one direction."""
    return min(max(place, 0.0), cells - EDGE)


@compiled(allocates=False)
def label_at(u: float, v: float, w: float, lattice: Lattice) -> int:
    """Return the kind of flake at a place, brought into the lattice, or of chip in the store below it."""
    if w < -0.5 * lattice.nz:
        return round(-w / lattice.nz) - 1
    u, v, w = _inside(u, lattice.nx), _inside(v, lattice.ny), _inside(w, lattice.nz)
    cell = (int(u) * lattice.ny + int(v)) * lattice.nz + int(w)
    nearest, best = 1e30, cell
    for n in range(np.int64(lattice.rivals[cell, 0])):
        own = cell + lattice.steps[lattice.rivals[cell, n + 1]]
        du, dv, dw = lattice.seeds[own, 0] - u, lattice.seeds[own, 1] - v, lattice.seeds[own, 2] - w
        if du * du + dv * dv + dw * dw < nearest:
            nearest, best = du * du + dv * dv + dw * dw, own
    return int(lattice.labels[best])


@compiled(allocates=False)
def _leaves(start: float, way: float, cell: int) -> float:
    """Return where a stretch leaves a cell along one direction, as a part of its length; 2 if never."""
    if way > 0.0:
        return (cell + 1.0 - start) / way
    return (cell - start) / way if way < 0.0 else 2.0


@compiled(allocates=False)
def add_stretch(
    ends: Floats,
    weight: float,
    lattice: Lattice,
    near: Floats,
    out: npt.NDArray[np.float32],
    row: int,
    passages: Passages,
) -> None:
    """Add the exact composition of a straight stretch, walking from face to face between flakes.

    Parameters
    ----------
    ends : ndarray, shape (2, 3)
        Its ends, counted in cells; they are brought into the lattice.
    weight : float
        Sum of what is added.
    near : ndarray, shape (NEAR, 3)
        Scratch.
    out : ndarray of float32, shape (rows, kinds)
        Its row `row` is added to.
    passages : Passages
        Takes what is in pieces of offcuts instead.
    """
    if ends[0, 2] < -0.5 * lattice.nz:
        kind = label_at(ends[0, 0], ends[0, 1], ends[0, 2], lattice)
        if len(lattice.pieces) > 0:
            _note(passages, row, CHIP - kind, weight, ends, 0.0, 1.0)
        else:
            out[row, kind] += weight
        return
    labels, rivals, steps = lattice.labels, lattice.rivals, lattice.steps
    nx, ny, nz = lattice.nx, lattice.ny, lattice.nz
    a, b, c = _inside(ends[0, 0], nx), _inside(ends[0, 1], ny), _inside(ends[0, 2], nz)
    da, db, dc = _inside(ends[1, 0], nx) - a, _inside(ends[1, 1], ny) - b, _inside(ends[1, 2], nz) - c
    i, j, k = int(a), int(b), int(c)
    t, since, piece, cut = 0.0, 0.0, -1, len(lattice.pieces) > 0
    while True:
        until_a, until_b, until_c = _leaves(a, da, i), _leaves(b, db, j), _leaves(c, dc, k)
        leaves = max(min(until_a, until_b, until_c, 1.0), t)
        # At t of the way a seed's squared distance, but for a common part, is near[:, 0] + t * near[:, 1].
        cell = (i * ny + j) * nz + k
        count = np.int64(rivals[cell, 0])
        best, least = 0, 1e30
        for n in range(count):
            own = cell + steps[rivals[cell, n + 1]]
            u, v, w = lattice.seeds[own, 0] - a, lattice.seeds[own, 1] - b, lattice.seeds[own, 2] - c
            near[n, 0] = u * u + v * v + w * w
            near[n, 1] = -2.0 * (u * da + v * db + w * dc)
            if near[n, 0] + t * near[n, 1] < least:
                best, least = n, near[n, 0] + t * near[n, 1]
        # Only a flake that is nearer where the stretch leaves the cell can take over on the way.
        least = near[best, 0] + leaves * near[best, 1]
        others = 0
        for n in range(count):
            near[others, 2] = n
            others += near[n, 0] + leaves * near[n, 1] < least
        while True:
            until, after = leaves, -1
            for m in range(others):
                n = int(near[m, 2])
                nearing = near[best, 1] - near[n, 1]
                if nearing > 0.0 and near[n, 0] - near[best, 0] < until * nearing:
                    until, after = (near[n, 0] - near[best, 0]) / nearing, n
            until = max(until, t)
            own = cell + steps[rivals[cell, best + 1]]
            if cut and lattice.pieces[own] != piece:
                if piece >= 0:
                    _note(passages, row, piece, weight * (t - since), ends, since, t)
                since, piece = t, lattice.pieces[own]
            if piece < 0:
                out[row, labels[own]] += weight * (until - t)
            t = until
            if after < 0:
                break
            best = after
        if t >= 1.0:
            if piece >= 0:
                _note(passages, row, piece, weight * (t - since), ends, since, t)
            return
        if until_a <= until_b and until_a <= until_c:
            i = min(max(i + (1 if da > 0.0 else -1), 0), nx - 1)
        elif until_b <= until_c:
            j = min(max(j + (1 if db > 0.0 else -1), 0), ny - 1)
        else:
            k = min(max(k + (1 if dc > 0.0 else -1), 0), nz - 1)


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
