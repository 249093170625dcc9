"""Follow points through a whole programme: back to the first slab, or forward from it.

Positions are in mm: x and y from the middle of the plan, z from 0 (lower face) to the slab's height.

One point's way is a chain in which every link waits for the last. Points therefore go in blocks, side by
side through each layer of the smear and each press, which keeps the processor busy: half the time or less.
"""

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from numba import prange

from ..runtime.compiled import compiled
from . import moves
from .press import press_back, press_forward
from .smear import smear_block

if TYPE_CHECKING:
    from .programme import Programme


BLOCK = 64  # points that go side by side


@compiled()
def block_back(points, thinning, steps, discs, layers):  # type: ignore[no-untyped-def]
    """Follow a block of points back through all steps, in place.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        Positions, mm.
    thinning : ndarray, shape (n, 2)
        Multiplied by how many times more depth was passed there than is here, at most and at least.
    steps, discs, layers : ndarray
        As in `Programme`.
    """
    for k in range(len(steps) - 1, -1, -1):
        step = steps[k]
        if step[moves.KIND] == moves.FLIP:
            _flip(points, step)
            continue
        a, b, h, high = step[moves.A1], step[moves.B1], step[moves.H1], step[moves.H_FOLDED]
        points[:, 2] = 2.0 * points[:, 2] / h - 1.0
        smear_block(points, a, b, discs, layers, int(step[moves.FIRST]), int(step[moves.LAST]), -1.0)
        for n in range(len(points)):
            xi, eta, s, pressed = press_back(
                points[n, 0] / a,
                points[n, 1] / b,
                points[n, 2],
                step[moves.STRAIN],
                step[moves.P_X],
                step[moves.P_Y],
            )
            x, y, z = step[moves.A_FOLDED] * xi, step[moves.B_FOLDED] * eta, 0.5 * (s + 1.0) * high
            points[n, 0], points[n, 1], points[n, 2], most, least = moves.unfold(x, y, z, step)
            thinning[n, 0] *= most * pressed * high / h
            thinning[n, 1] *= least * pressed * high / h


@compiled()
def block_forward(points, steps, discs, layers):  # type: ignore[no-untyped-def]
    """Carry a block of points through all steps, in place: the inverse of `block_back`."""
    for k in range(len(steps)):
        step = steps[k]
        if step[moves.KIND] == moves.FLIP:
            _flip(points, step)
            continue
        a, b, h, high = step[moves.A1], step[moves.B1], step[moves.H1], step[moves.H_FOLDED]
        for n in range(len(points)):
            x, y, z = moves.fold(points[n, 0], points[n, 1], points[n, 2], step)
            xi, eta, s = x / step[moves.A_FOLDED], y / step[moves.B_FOLDED], 2.0 * z / high - 1.0
            xi, eta, s = press_forward(xi, eta, s, step[moves.STRAIN], step[moves.P_X], step[moves.P_Y])
            points[n, 0], points[n, 1], points[n, 2] = a * xi, b * eta, s
        smear_block(points, a, b, discs, layers, int(step[moves.FIRST]), int(step[moves.LAST]), 1.0)
        points[:, 2] = 0.5 * (points[:, 2] + 1.0) * h


@compiled()
def _flip(points, step):  # type: ignore[no-untyped-def]
    """Turn the slab over sideways; twice is not at all."""
    points[:, 0] = -points[:, 0]
    points[:, 2] = step[moves.H0] - points[:, 2]


@compiled(parallel=True)
def _all_back(points, steps, discs, layers):  # type: ignore[no-untyped-def]
    out = points.copy()
    thinning = np.empty((len(points), 2))
    for block in prange((len(points) + BLOCK - 1) // BLOCK):
        here = slice(block * BLOCK, (block + 1) * BLOCK)
        block_back(out[here], thinning[here], steps, discs, layers)
    return out


@compiled(parallel=True)
def _all_forward(points, steps, discs, layers):  # type: ignore[no-untyped-def]
    out = points.copy()
    for block in prange((len(points) + BLOCK - 1) // BLOCK):
        block_forward(out[block * BLOCK : (block + 1) * BLOCK], steps, discs, layers)
    return out


def follow_back(
    points_mm: npt.NDArray[np.float64], programme: "Programme", folds: int
) -> npt.NDArray[np.float64]:
    """Where points of the folded sheet lay in the first melted slab.

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
    points = np.ascontiguousarray(points_mm, np.float64)
    return np.asarray(_all_back(points, programme.after(folds), programme.discs, programme.layers))


def follow_forward(
    points_mm: npt.NDArray[np.float64], programme: "Programme", folds: int
) -> npt.NDArray[np.float64]:
    """Where points of the first melted slab come to lie: the inverse of `follow_back`.

    Parameters
    ----------
    points_mm : ndarray of float64, shape (n, 3)
        Positions in the first slab, mm.
    programme, folds
        As for `follow_back`.

    Returns
    -------
    ndarray of float64, shape (n, 3)
        Positions in the sheet after `folds` cycles, mm.
    """
    points = np.ascontiguousarray(points_mm, np.float64)
    return np.asarray(_all_forward(points, programme.after(folds), programme.discs, programme.layers))
