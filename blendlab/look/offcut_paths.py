"""Light paths through pieces of offcuts, and on into the sheets that these were cut from.

A light path passes a piece straight on the scale of the piece, and so passes the older sheet. What it passes
there is followed back in the same way as in the new sheet, as pieces of the same light path: all of a path's
stretches share its bound on cuts and are followed as closely as they matter to the whole path. One sheet is
followed after the other, so compiled code knows of no offcuts.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numba import prange

from ..folding.charge import Charge
from ..folding.composition import CHIP, Passages, of_block, passages_for
from ..folding.old_sheet import Laid, OldSheet
from ..folding.path_trace import CRUMB, MAX_CUTS, ZERO, room_for
from ..folding.programme import Programme
from ..folding.step_tables import StepTables
from ..folding.trace import follow_back
from ..runtime.compiled import compiled
from .light_paths import GROUP, Walk, all_followed, groups_of, led_back, mean_of, walk_in

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Compositions = npt.NDArray[np.float32]

PATHS_AT_ONCE = 8192  # bounds memory
USUAL_PASSAGES = 24  # of a path, for which there is room at first


class Stretches(NamedTuple):
    """Straight stretches of light paths, in the order of their paths.

    Attributes
    ----------
    rows : ndarray of int, shape (n,)
        Path of each.
    weights : ndarray, shape (n,)
        Part of its path.
    points_mm : ndarray, shape (n, 3, 3)
        Start, middle and end, as for `follow_back`.
    """

    rows: Integers
    weights: Floats
    points_mm: Floats


@compiled()
def _follow_stretches(
    begins: Integers,
    stretches: Stretches,
    first: int,
    last: int,
    tables: StepTables,
    walk: Walk,
    out: Compositions,
    passages: Passages,
) -> None:
    """Add up the compositions of rows first..last-1; row n has the stretches from begins[n] on."""
    most = 0
    for start in range(first, last, GROUP):
        most = max(most, begins[min(start + GROUP, last)] - begins[start])
    pieces = room_for(GROUP, most)
    for start in range(first, last, GROUP):
        count = ZERO
        for n in range(start, min(start + GROUP, last)):
            pieces.cuts_left[n - start] = MAX_CUTS
            for m in range(begins[n], begins[n + 1]):
                pieces.points[count] = stretches.points_mm[m]
                pieces.spans[count, 0], pieces.spans[count, 1] = 0.0, stretches.weights[m]
                pieces.owners[count], pieces.stands_for[count] = n - start, 1.0
                count += 1
        led_back(pieces, count, tables, walk, out, start, passages)


@compiled(parallel=True)
def _all_stretches(
    begins: Integers, stretches: Stretches, tables: StepTables, charge: Charge, by_block: Passages
) -> Compositions:
    rows = len(begins) - 1
    out = np.zeros((rows, charge.kinds), np.float32)
    blocks, mean = len(by_block.filled), mean_of(charge, tables)
    for block in prange(blocks):
        first, last = groups_of(block, blocks, rows)
        if first < last:
            walk = walk_in(charge, mean)
            _follow_stretches(begins, stretches, first, last, tables, walk, out, of_block(by_block, block))
    return out


def followed_through(paths: Floats, laid: Laid, programme: Programme, folds: int) -> Compositions:
    """Follow light paths back to the leaves they pass, through all offcuts.

    Parameters
    ----------
    paths, programme, folds
        As for `light_paths.followed`.

    Returns
    -------
    ndarray of float32, shape (n, leaves)
        Shares along each path, summing to 1.
    """
    slab_mm, tables, charge = programme.sizes_mm[folds], programme.after(folds), laid.charge
    count = len(laid.leaves.flakes)
    if count == 1:  # where adding up parts could introduce rounding
        return np.ones((len(paths), 1), np.float32)
    found = [np.zeros((0, count), np.float32)]
    for first in range(0, len(paths), PATHS_AT_ONCE):
        some = paths[first : first + PATHS_AT_ONCE]

        def follow(by_block: Passages, some: Floats = some) -> Compositions:
            return all_followed(some, slab_mm, tables, charge, by_block)

        found.append(_followed_on(laid, len(some), follow))
    return np.concatenate(found)


def _followed_on(laid: Laid, rows: int, follow: Callable[[Passages], Compositions]) -> Compositions:
    """Follow paths back to a charge, and on to its leaves; shape (rows, leaves)."""
    own, passages = _with_room(rows, follow)
    found = np.zeros((rows, len(laid.leaves.flakes)), np.float32)
    kinds, points_mm = _origins(passages, laid)
    for kind, sheet in enumerate(laid.sheets):
        columns, seen = laid.leaves.columns[kind], own[:, kind]
        mine = np.flatnonzero(kinds == kind)
        if sheet is None:
            np.add.at(seen, passages.rows[mine], passages.weights[mine].astype(np.float32))
        else:
            weights = passages.weights[mine]
            tiny = weights < CRUMB  # such stretches hold what the whole sheet holds
            np.add.at(seen, passages.rows[mine[tiny]], weights[tiny].astype(np.float32))
            mine = mine[~tiny]
            mine = mine[np.argsort(passages.rows[mine], kind="stable")]
            stretches = Stretches(passages.rows[mine], passages.weights[mine], points_mm[mine])
            _add_sheet(sheet, stretches, columns, found)
        found[:, columns] += seen[:, None] * laid.leaves.parts[kind, columns].astype(np.float32)
    return found


def _add_sheet(sheet: OldSheet, stretches: Stretches, columns: Integers, found: Compositions) -> None:
    """Add the compositions of stretches through an older sheet, whose leaves have some columns."""
    rows, begins = np.unique(stretches.rows, return_index=True)
    if not rows.size:
        return
    begins = np.append(begins, len(stretches.rows))
    tables = sheet.programme.after(sheet.folds)

    def follow(by_block: Passages) -> Compositions:
        return _all_stretches(begins, stretches, tables, sheet.laid.charge, by_block)

    found[rows[:, None], columns] += _followed_on(sheet.laid, len(rows), follow)


def _with_room(rows: int, follow: Callable[[Passages], Compositions]) -> tuple[Compositions, Passages]:
    """Follow paths with as much room as their passages need; return these as one block."""
    by_block = passages_for(0)
    blocks = len(by_block.filled)
    room = USUAL_PASSAGES * (rows // blocks + GROUP)
    while len(by_block.rows[0]) < room:
        by_block = passages_for(room)
        own = follow(by_block)
        room = int(by_block.filled.max())
    counts = by_block.filled[:, 0]
    whose, pieces, weights, ends = (
        np.concatenate([part[:n] for part, n in zip(each, counts, strict=True)]) for each in by_block[:4]
    )
    return own, Passages(whose, pieces, weights, ends, counts)


def _origins(passages: Passages, laid: Laid) -> tuple[Integers, Floats]:
    """Return the kinds of passages, and their start, middle and end in the older sheets, shape (n, 3, 3).

    Kinds that are no offcuts have no points in any.
    """
    start, end = np.moveaxis(passages.ends, 1, 0)
    corner = np.array(laid.charge.size_mm) * [0.5, 0.5, 0.0]
    along = [each / laid.charge.cells_per_mm - corner for each in (start, (start + end) / 2, end)]
    kinds, points = CHIP - passages.pieces, np.zeros((len(passages.rows), 3, 3))
    cut = np.flatnonzero(passages.pieces >= 0)
    pieces = passages.pieces[cut]
    kinds[cut] = laid.cuts.kinds[pieces]
    for n, each in enumerate(along):
        points[cut, n] = laid.cuts.into_old(each[cut], pieces)
    for chips in laid.strewn:
        own = np.flatnonzero((passages.pieces < 0) & (kinds == chips.kind))
        inside, pieces = chips.pieces_at(along[1][own])
        for n, each in enumerate(along):
            points[own[inside], n] = chips.into_old(each[own[inside]], pieces)
    return kinds, points


def sampled_through(
    paths: Floats, phases: Floats, samples: int, laid: Laid, programme: Programme, folds: int
) -> Compositions:
    """Sample light paths at points evenly along each, by plain look-ups through all offcuts.

    Parameters
    ----------
    paths, phases, samples, programme, folds
        As for `brute_force.sampled`.

    Returns
    -------
    ndarray of float32, shape (n, leaves)
        Shares along each path, summing to 1.
    """
    half, count = np.array(programme.sizes_mm[folds]) / 2, len(laid.leaves.flakes)
    t = (np.arange(samples) + np.resize(phases, len(paths))[:, None]) / samples
    points = np.clip(paths[:, None, :3] + t[..., None] * paths[:, None, 3:], -half, half)
    points[..., 2] += half[2]
    leaves = laid.leaves_at(follow_back(points.reshape(-1, 3), programme, folds)).reshape(t.shape)
    cells = np.bincount(
        (np.arange(len(paths))[:, None] * count + leaves).ravel(), minlength=len(paths) * count
    )
    return (cells.reshape(-1, count) / samples).astype(np.float32)
