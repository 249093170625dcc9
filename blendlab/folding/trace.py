"""Follow points of a folded sheet back through a whole programme to the first slab.

Positions are in mm: x and y from the middle of the plan, z from 0 (lower face) to the slab's height.

Each step of one point waits for the step before. Points therefore go in blocks, side by side through each
layer of the smear and each press, which keeps the processor busy and halves the time or better.
"""

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from numba import prange

from ..runtime.compiled import compiled
from .corners_in import corners_back
from .panels import panels_back
from .press import press_back
from .roll import roll_back
from .scatter import chip_kind, strewn_back
from .smear import Smear, smear_block
from .step_tables import CORNERS, FLIP, PANELS, SCATTER, Pile, Step, StepTables

if TYPE_CHECKING:
    from .programme import Programme

Floats = npt.NDArray[np.float64]

BLOCK = 64  # points that go side by side


@compiled(allocates=False)
def unfold(x: float, y: float, z: float, step: Step, pile: Pile) -> tuple[float, float, float, int]:
    """Undo a fold.

    Parameters
    ----------
    x, y, z : float
        Position in the folded slab, mm.

    Returns
    -------
    tuple
        x, y, z in the slab before; and a whole number for the piece of the fold: the map is smooth among
        points with the same number, and tears or bends between different ones.
    """
    if step.kind == CORNERS:
        return corners_back(x, y, z, step.a0, step.h0, step.side)
    crossed = step.axis == 1
    t, w = (y, x) if crossed else (x, y)
    t *= step.side
    if step.kind == PANELS:
        t, z, piece = panels_back(t, z, step.h0, pile)
    else:
        t, z, piece = roll_back(t, w, z, step.b0 if crossed else step.a0, step)
    t *= step.side
    if crossed:
        return w, t, z, piece
    return t, w, z, piece


@compiled(allocates=False)
def undo(x: float, y: float, s: float, step: Step, pile: Pile) -> tuple[float, float, float, int]:
    """Undo a press and the fold before it, or a strewing.

    Parameters
    ----------
    x, y, s : float
        Position in the pressed slab before its smear, mm and relative depth.

    Returns
    -------
    tuple
        x, y, z in the slab before, mm; and a whole number for the smooth piece of the map, as in `unfold`.
    """
    if step.kind == SCATTER:
        return strewn_back(x, y, s, step, pile.chips)
    xi, eta, s, way = press_back(x / step.a1, y / step.b1, s, step.strain, step.p_x, step.p_y)
    high = 0.5 * (s + 1.0) * step.h_folded
    x, y, z, piece = unfold(step.a_folded * xi, step.b_folded * eta, high, step, pile)
    return x, y, z, 65536 * way + piece


@compiled()
def smear_of(step: Step, tables: StepTables) -> Smear:
    """Return the discs that one step's press turns and tips."""
    return Smear(tables.turning, tables.tipping, tables.grids[step.first_grid : step.end_grid])


@compiled()
def pile_of(step: Step, tables: StepTables) -> Pile:
    """Return the panels of one step's fold, or the chips of its strewing."""
    end_chip = step.first_chip + step.chips_x * step.chips_y
    chips = tables.chips[step.first_chip : end_chip]
    return Pile(tables.columns[step.first_column : step.end_column], tables.plies, chips)


@compiled()
def flip(points: Floats, step: Step) -> None:
    """Turn the slab over sideways; twice is not at all."""
    points[:, 0] = -points[:, 0]
    points[:, 2] = step.h0 - points[:, 2]


@compiled(allocates=False)
def depth_in_store(z: float, kind: int, step: Step, tables: StepTables) -> float:
    """Return the height, in the store under the first slab, of a point of a chip at height z in its slab, mm.

    A kind's store is a quarter of the first slab high: half as far from the face as in the slab. Along the
    plan, a point stays where it is in the chip.
    """
    h0: float = tables.steps[0].h0
    return -(1.0 + kind) * h0 + 0.5 * (z / step.h1 - 1.0) * h0


@compiled()
def block_back(points: Floats, tables: StepTables) -> None:
    """Follow a block of points, mm, shape (n, 3), back through all steps, in place."""
    chips, stored = np.full(len(points), -1, np.int64), np.empty((len(points), 3))
    scratch = np.empty((2, len(points)), np.int64)
    for k in range(len(tables.steps) - 1, -1, -1):
        step = tables.steps[k]
        if step.kind == FLIP:
            flip(points, step)
            continue
        points[:, 2] = 2.0 * points[:, 2] / step.h1 - 1.0
        smear_block(points, step.a1, step.b1, smear_of(step, tables), -1.0, scratch)
        pile = pile_of(step, tables)
        for n in range(len(points)):
            x, y, z, code = undo(points[n, 0], points[n, 1], points[n, 2], step, pile)
            points[n, 0], points[n, 1], points[n, 2] = x, y, z
            if step.kind == SCATTER and chips[n] < 0 and chip_kind(code) >= 0:
                chips[n] = chip_kind(code)
                stored[n, 0], stored[n, 1] = x, y
                stored[n, 2] = depth_in_store(z, chips[n], step, tables)
    for n in range(len(points)):
        if chips[n] >= 0:
            points[n] = stored[n]


@compiled(parallel=True)
def _all_back(points: Floats, tables: StepTables) -> Floats:
    out = points.copy()
    for block in prange((len(points) + BLOCK - 1) // BLOCK):
        block_back(out[block * BLOCK : (block + 1) * BLOCK], tables)
    return out


def follow_back(points_mm: Floats, programme: "Programme", folds: int) -> Floats:
    """Return where points of the folded sheet were in the first melted slab.

    Parameters
    ----------
    points_mm : ndarray of float64, shape (n, 3)
        Positions in the sheet after `folds` cycles, within it.
    folds : int
        0 to the programme's cycles.

    Returns
    -------
    ndarray of float64, shape (n, 3)
        Positions in the first slab, or in the store of chips under it, mm.
    """
    return _all_back(np.ascontiguousarray(points_mm, np.float64), programme.after(folds))
