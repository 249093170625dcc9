"""Pieces of offcuts among chips strewn on a slab: where each was cut, and its points in the older sheet."""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from ..recipe.slab_size import Size
from ..runtime.records import column
from .cuts import Cuts, drawn_cuts
from .scatter import chip_cells
from .step_tables import SCATTER, Step, StepTables

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


class StrewnPieces(NamedTuple):
    """The chips of one kind, an offcut, pressed into a face.

    Attributes
    ----------
    step : Step
        The strewing.
    first_mm : float
        Height of the first slab.
    seeds : ndarray, shape (nx, ny, 2)
        Middles of all chips of the face, in cells.
    own : ndarray of bool, shape (nx, ny)
        Which of them are of the kind.
    pieces : ndarray of int, shape (nx, ny)
        The piece that each of these is or is a part of.
    """

    kind: int
    step: Step
    first_mm: float
    seeds: Floats
    own: npt.NDArray[np.bool_]
    pieces: Integers
    cuts: Cuts

    def pieces_at(self, stored_mm: Floats) -> tuple[npt.NDArray[np.bool_], Integers]:
        """Tell which points in the store are in these chips, and the piece of each that is.

        Parameters
        ----------
        stored_mm : ndarray, shape (n, 3)
            In the store of this kind, as from `follow_back`.
        """
        plan = 2 * np.array([self.step.a1, self.step.b1])
        cells = _nearest((stored_mm[:, :2] / plan + 0.5) * np.array(self.own.shape), self.seeds)
        inside = self.own.ravel()[cells]
        return inside, self.pieces.ravel()[cells[inside]]

    def into_old(self, stored_mm: Floats, pieces: Integers) -> Floats:
        """Return where points of some pieces, given in the store, were in the older sheet, mm."""
        off = stored_mm[:, 2] + (1.0 + self.kind) * self.first_mm
        z = self.step.h1 * (1.0 + 2.0 * off / self.first_mm)
        return self.cuts.into_old(np.column_stack([stored_mm[:, :2], z]), pieces)


def _nearest(places: Floats, seeds: Floats) -> Integers:
    """Return the flat index of the cell whose seed is nearest to each place, both counted in cells."""
    nx, ny = seeds.shape[:2]
    home = np.clip(places.astype(np.int64), 0, [nx - 1, ny - 1])
    best, found = np.full(len(places), np.inf), np.zeros(len(places), np.int64)
    for i, j in np.ndindex(3, 3):
        x, y = home[:, 0] + i - 1, home[:, 1] + j - 1
        there = (x >= 0) & (x < nx) & (y >= 0) & (y < ny)
        x, y = np.clip(x, 0, nx - 1), np.clip(y, 0, ny - 1)
        far = np.where(there, ((seeds[x, y] - places) ** 2).sum(axis=-1), np.inf)
        nearer = far < best
        best[nearer], found[nearer] = far[nearer], (x * ny + y)[nearer]
    return found


def strewn_pieces(
    tables: StepTables,
    sizes_mm: Floats,
    sheets_mm: Sequence[Size | None],
    rng: np.random.Generator,
) -> tuple[StrewnPieces, ...]:
    """Draw where the chips of all strewings were cut, for the kinds that are offcuts.

    Parameters
    ----------
    sizes_mm : ndarray, shape (kinds, 3)
        Of a flake of each kind.
    sheets_mm : sequence of tuple or None
        Size of the sheet that each kind is cut from.
    """
    found = []
    steps: Any = tables.steps
    for step in steps[column(steps, "kind") == SCATTER]:
        chips: Any = tables.chips[step.first_chip : step.first_chip + step.chips_x * step.chips_y]
        cells = (int(step.chips_x), int(step.chips_y))
        seeds = np.stack([column(chips, "u"), column(chips, "v")], axis=-1)
        for kind, sheet_mm in enumerate(sheets_mm):
            own = column(chips, "kind") == kind
            if sheet_mm is None or not own.any():
                continue
            plan, size_mm = 2 * np.array([step.a1, step.b1]), sizes_mm[kind]
            middles, pieces = _middles(seeds, chip_cells(size_mm[:2], plan, cells), plan, np.array(cells))
            thick = float(column(chips, "thick")[own][0])
            count = len(middles)
            cuts = drawn_cuts(
                np.full(count, kind),
                np.column_stack([middles, np.full(count, step.h1 - thick / 2)]),
                np.tile(size_mm, (count, 1)),
                np.full(count, thick / size_mm[2]),
                np.tile(sheet_mm, (count, 1)),
                rng,
            )
            first_mm, shape = float(tables.steps[0].h0), (*cells, 2)
            grids = seeds.reshape(shape), own.reshape(cells), pieces.reshape(cells)
            found.append(StrewnPieces(kind, Step(*step), first_mm, *grids, cuts))
    return tuple(found)


def _middles(seeds: Floats, block: Integers, plan_mm: Floats, cells: Integers) -> tuple[Floats, Integers]:
    """Return the middles of pieces on the plan, mm, shape (pieces, 2), and the piece of each cell."""
    used, pieces = np.unique(block, return_inverse=True)
    held = np.bincount(pieces, minlength=len(used))
    means = np.stack([np.bincount(pieces, seeds[:, axis]) / held for axis in range(2)], axis=-1)
    return (means / cells - 0.5) * plan_mm, pieces.astype(np.int64)
