"""Follow points of a folded sheet back through a whole programme to the first slab.

Positions are in mm: x and y from the middle of the plan, z from 0 (lower face) to the slab's height.

One point's way is a chain in which every link waits for the last. Points therefore go in blocks, side by
side through each layer of the smear and each press, which keeps the processor busy: half the time or less.
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
from .smear import Smear, smear_block
from .step_tables import CORNERS, FLIP, PANELS, Pile, Step, StepTables

if TYPE_CHECKING:
    from .programme import Programme

Floats = npt.NDArray[np.float64]

BLOCK = 64  # points that go side by side


@compiled()
def unfold(x: float, y: float, z: float, step: Step, pile: Pile) -> tuple[float, float, float, float, float]:
    """Undo a fold.

    Parameters
    ----------
    x, y, z : float
        Position in the folded slab, mm.
    step : Step
        The fold.
    pile : Pile
        Its panels, where it has any.

    Returns
    -------
    tuple of float
        x, y, z in the slab before; and how many times more depth was passed there than is here, at most and
        at least: it depends on how a way up through the fold bends later.
    """
    if step.kind == CORNERS:
        x, y, z = corners_back(x, y, z, step.a0, step.h0, step.side)
        return x, y, z, 1.0, 1.0
    crossed = step.axis == 1
    t, w = (y, x) if crossed else (x, y)
    t *= step.side
    if step.kind == PANELS:
        t, z, most = panels_back(t, z, step.h0, pile)
        least = most
    else:
        t, z, most, least = roll_back(t, w, z, step.b0 if crossed else step.a0, step)
    t *= step.side
    if crossed:
        return w, t, z, most, least
    return t, w, z, most, least


@compiled()
def smear_of(step: Step, tables: StepTables) -> Smear:
    """Return the discs that one step's press turns and tips."""
    return Smear(tables.turning, tables.tipping, tables.grids[step.first_grid : step.end_grid])


@compiled()
def pile_of(step: Step, tables: StepTables) -> Pile:
    """Return the panels of one step's fold."""
    return Pile(tables.columns[step.first_column : step.end_column], tables.plies)


@compiled()
def flip(points: Floats, step: Step) -> None:
    """Turn the slab over sideways; twice is not at all."""
    points[:, 0] = -points[:, 0]
    points[:, 2] = step.h0 - points[:, 2]


@compiled()
def block_back(points: Floats, thinning: Floats, tables: StepTables) -> None:
    """Follow a block of points back through all steps, in place.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        Positions, mm.
    thinning : ndarray, shape (n, 2)
        Multiplied by how many times more depth was passed there than is here, at most and at least.
    tables : StepTables
        The steps, as from `Programme.after`.
    """
    for k in range(len(tables.steps) - 1, -1, -1):
        step = tables.steps[k]
        if step.kind == FLIP:
            flip(points, step)
            continue
        a, b, h, high = step.a1, step.b1, step.h1, step.h_folded
        points[:, 2] = 2.0 * points[:, 2] / h - 1.0
        smear_block(points, a, b, smear_of(step, tables), -1.0)
        pile = pile_of(step, tables)
        for n in range(len(points)):
            xi, eta, s, pressed = press_back(
                points[n, 0] / a, points[n, 1] / b, points[n, 2], step.strain, step.p_x, step.p_y
            )
            x, y, z = step.a_folded * xi, step.b_folded * eta, 0.5 * (s + 1.0) * high
            points[n, 0], points[n, 1], points[n, 2], most, least = unfold(x, y, z, step, pile)
            thinning[n, 0] *= most * pressed * high / h
            thinning[n, 1] *= least * pressed * high / h


@compiled(parallel=True)
def _all_back(points: Floats, tables: StepTables) -> Floats:
    out = points.copy()
    thinning = np.empty((len(points), 2))
    for block in prange((len(points) + BLOCK - 1) // BLOCK):
        here = slice(block * BLOCK, (block + 1) * BLOCK)
        block_back(out[here], thinning[here], tables)
    return out


def follow_back(points_mm: Floats, programme: "Programme", folds: int) -> Floats:
    """Return where points of the folded sheet were in the first melted slab.

    Parameters
    ----------
    points_mm : ndarray of float64, shape (n, 3)
        Positions in the sheet after `folds` cycles, within it.
    programme : Programme
        The steps.
    folds : int
        0 to the programme's cycles.

    Returns
    -------
    ndarray of float64, shape (n, 3)
        Positions in the first slab, mm.
    """
    return _all_back(np.ascontiguousarray(points_mm, np.float64), programme.after(folds))
