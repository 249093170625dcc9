"""Light paths from a surface into the plastic: what each is made of, all along it.

Light enters the plastic and returns from as deep as it reaches. A path's composition is the integral of the
kinds of flake it passes. Where a path would leave the slab it slides along the face, so a thin slab is seen
down to its lower face and no further.
"""

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numba import prange

from ..folding.charge import Charge
from ..folding.composition import NEAR, Lattice, Passages, add_stretch, lattice_of, of_block, passages_for
from ..folding.path_trace import MAX_CUTS, ZERO, Pieces, on_parabola, paths_back, room_for
from ..folding.programme import Programme
from ..folding.scatter import add_chips
from ..folding.step_tables import StepTables
from ..recipe.slab_size import Size
from ..runtime.compiled import compiled, is_kept

Floats = npt.NDArray[np.float64]
Compositions = npt.NDArray[np.float32]

STRAIGHT = 0.004  # flakes by which a parabola may bulge from its chord, times the piece's part of its path
INTO = 1e-6  # part of a path that is skipped, so that it does not begin on the face, where folds may meet
GROUP = 32  # paths that are followed side by side, which keeps the processor busy
MAX_SLIDES = 6  # faces that a path may meet
PATHS_AT_ONCE = 8192  # bounds how long others wait for the cores


@compiled(allocates=False)
def _lay(paths: Floats, n: int, half: Size, pieces: Pieces, count: int, own: int) -> int:
    """Lay out path n as pieces, cut where it meets a face; return the new number of pieces."""
    pieces.cuts_left[own] = MAX_CUTS
    low = 0.0
    while low < 1.0:
        high = 1.0
        for axis in range(3):
            way = paths[n, axis + 3]
            for face in (-half[axis], half[axis]):
                meets = (face - paths[n, axis]) / way if way != 0.0 else 2.0
                if low < meets < high:
                    high = meets
        for point in range(3):
            t = max(low + 0.5 * point * (high - low), INTO)
            for axis in range(3):
                place = paths[n, axis] + t * paths[n, axis + 3]
                pieces.points[count, point, axis] = min(max(place, -half[axis]), half[axis])
            pieces.points[count, point, 2] += half[2]
        pieces.spans[count, 0], pieces.spans[count, 1], pieces.owners[count] = low, high, own
        pieces.stands_for[count] = 1.0
        count += 1
        low = high
    return count


class Walk(NamedTuple):
    """A charge as paths are walked along in it, with scratch.

    Attributes
    ----------
    mean : ndarray, shape (kinds,)
        Shares of the whole sheet.
    per_mm, corner : tuple of float
        Cells per mm, and the middle of the plan from the slab's corner, mm.
    """

    lattice: Lattice
    mean: Floats
    per_mm: Size
    corner: Size
    near: Floats
    chord: Floats


@compiled()
def mean_of(charge: Charge, tables: StepTables) -> Floats:
    """Return the shares of a whole sheet, shape (kinds,)."""
    mean = np.zeros(charge.kinds)
    for label in charge.labels.ravel():
        mean[label] += 1.0 / charge.labels.size
    add_chips(mean, tables)
    return mean


@compiled()
def walk_in(charge: Charge, mean: Floats) -> Walk:
    """Prepare a walk."""
    lattice = lattice_of(charge.seeds, charge.labels, charge.rivals, charge.pieces)
    per_mm = lattice.nx / charge.length_mm, lattice.ny / charge.width_mm, lattice.nz / charge.height_mm
    corner = 0.5 * charge.length_mm, 0.5 * charge.width_mm, 0.0
    return Walk(lattice, mean, per_mm, corner, np.empty((NEAR, 3)), np.empty((2, 3)))


@compiled(allocates=False)
def _walk(pieces: Pieces, n: int, walk: Walk, out: Compositions, row: int, passages: Passages) -> None:
    """Add the composition of piece n, in cells: along as many chords as its parabola needs.

    A chord crosses the arc it stands for, at two thirds of its bulge: one between its ends would lie on one
    side of the arc, and the errors would add up over the layers of a path.
    """
    points, mean, chord = pieces.points, walk.mean, walk.chord
    bend = 0.0
    for axis in range(3):
        bend += (points[n, 1, axis] - 0.5 * (points[n, 0, axis] + points[n, 2, axis])) ** 2
    # A piece that stands for m layers deviates from the mean as the mean of m layers does.
    part, own = pieces.spans[n, 1] - pieces.spans[n, 0], 1.0 / math.sqrt(pieces.stands_for[n])
    for kind in range(len(mean)):
        out[row, kind] += part * (1.0 - own) * mean[kind]
    part *= own
    chords = 1
    while pieces.chips[n] < 0 and bend * part * part > (STRAIGHT * chords * chords) ** 2:
        chords += 1
    for m in range(chords):
        for axis in range(3):
            start = on_parabola(points, n, m / chords, axis)
            end = on_parabola(points, n, (m + 1.0) / chords, axis)
            bulge = on_parabola(points, n, (m + 0.5) / chords, axis) - 0.5 * (start + end)
            chord[0, axis], chord[1, axis] = start + bulge * 2.0 / 3.0, end + bulge * 2.0 / 3.0
        add_stretch(chord, part / chords, walk.lattice, walk.near, out, row, passages)


@compiled()
def led_back(
    pieces: Pieces,
    count: int,
    tables: StepTables,
    walk: Walk,
    out: Compositions,
    row: int,
    passages: Passages,
) -> None:
    """Add up the compositions of paths laid out as pieces; the first path's are those of a row."""
    count = paths_back(pieces, count, tables, walk.per_mm)
    for n in range(count):
        for point in range(3):
            for axis in range(3):
                place = pieces.points[n, point, axis]
                pieces.points[n, point, axis] = (place + walk.corner[axis]) * walk.per_mm[axis]
        _walk(pieces, n, walk, out, row + pieces.owners[n], passages)


@compiled()
def groups_of(block: int, blocks: int, paths: int) -> tuple[int, int]:
    """Return the first path of a block and the one past its last: whole groups, as evenly as they go."""
    groups = (paths + GROUP - 1) // GROUP
    return block * groups // blocks * GROUP, min((block + 1) * groups // blocks * GROUP, paths)


@compiled()
def _follow(
    paths: Floats,
    first: int,
    last: int,
    slab_mm: Size,
    tables: StepTables,
    walk: Walk,
    out: Compositions,
    passages: Passages,
) -> None:
    """Add up the compositions of paths first..last-1."""
    half = 0.5 * slab_mm[0], 0.5 * slab_mm[1], 0.5 * slab_mm[2]
    pieces = room_for(GROUP, GROUP * (MAX_SLIDES + 1))
    for start in range(first, last, GROUP):
        count = ZERO
        for n in range(start, min(start + GROUP, last)):
            count = _lay(paths, n, half, pieces, count, n - start)
        led_back(pieces, count, tables, walk, out, start, passages)


@compiled(parallel=True)
def all_followed(
    paths: Floats, slab_mm: Size, tables: StepTables, charge: Charge, by_block: Passages
) -> Compositions:
    """Follow light paths as `followed` does; what is in pieces of offcuts goes to `by_block` instead."""
    out = np.zeros((len(paths), charge.kinds), np.float32)
    blocks, mean = len(by_block.filled), mean_of(charge, tables)
    for block in prange(blocks):
        first, last = groups_of(block, blocks, len(paths))
        if first < last:
            walk = walk_in(charge, mean)
            _follow(paths, first, last, slab_mm, tables, walk, out, of_block(by_block, block))
    return out


def is_warm() -> bool:
    """Return whether light paths were followed before, in any run of this version.

    If not, the first picture waits for the compiler.
    """
    return is_kept(all_followed)


def followed(paths: Floats, charge: Charge, programme: Programme, folds: int) -> Compositions:
    """Follow light paths back to the flakes they pass.

    Parameters
    ----------
    paths : ndarray of float64, shape (n, 6)
        Where each begins, from the middle of the slab, and its vector to where light turns back, mm.
    folds : int
        How many cycles were done, at most those drawn.

    Returns
    -------
    ndarray of float32, shape (n, kinds)
        Shares along each path, summing to 1.
    """
    slab_mm, tables, none = programme.sizes_mm[folds], programme.after(folds), passages_for(0)
    found = [np.zeros((0, charge.kinds), np.float32)]
    for first in range(0, len(paths), PATHS_AT_ONCE):
        found.append(all_followed(paths[first : first + PATHS_AT_ONCE], slab_mm, tables, charge, none))
    whole: Compositions = np.concatenate(found)
    return (
        whole if charge.kinds > 1 else np.ones_like(whole)
    )  # where adding up parts could introduce rounding
