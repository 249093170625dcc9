"""Follow points through a whole programme: back to the first slab, or forward from it.

Positions are in mm: x and y from the middle of the plan, z from 0 (lower face) to the slab's height.
"""

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from numba import prange

from ..compiled import compiled
from . import moves
from .press import press_back, press_forward
from .smear import smear_point

if TYPE_CHECKING:
    from .programme import Programme


@compiled()
def step_back(x, y, z, step, discs, layers):  # type: ignore[no-untyped-def]
    """Undo one step: smear, press, fold; or a flip. Returns x, y, z in mm and the local thinning |dz0/dz|."""
    if step[moves.KIND] == moves.FLIP:
        return -x, y, step[moves.H0] - z, 1.0
    a, b = step[moves.A1], step[moves.B1]
    s = 2.0 * z / step[moves.H1] - 1.0
    x, y, s = smear_point(x, y, s, a, b, discs, layers, int(step[moves.FIRST]), int(step[moves.LAST]), -1.0)
    xi, eta, s, pressed = press_back(x / a, y / b, s, step[moves.STRAIN], step[moves.P_X], step[moves.P_Y])
    high = step[moves.H_FOLDED]
    x, y, z, folded = moves.unfold(
        step[moves.A_FOLDED] * xi, step[moves.B_FOLDED] * eta, 0.5 * (s + 1.0) * high, step
    )
    return x, y, z, folded * pressed * high / step[moves.H1]


@compiled()
def step_forward(x, y, z, step, discs, layers):  # type: ignore[no-untyped-def]
    """Do one step: fold, press, smear; or a flip. The inverse of `step_back`. Returns x, y, z in mm."""
    if step[moves.KIND] == moves.FLIP:
        return -x, y, step[moves.H0] - z
    x, y, z = moves.fold(x, y, z, step)
    xi, eta, s = x / step[moves.A_FOLDED], y / step[moves.B_FOLDED], 2.0 * z / step[moves.H_FOLDED] - 1.0
    xi, eta, s = press_forward(xi, eta, s, step[moves.STRAIN], step[moves.P_X], step[moves.P_Y])
    a, b, first, last = step[moves.A1], step[moves.B1], int(step[moves.FIRST]), int(step[moves.LAST])
    x, y, s = smear_point(a * xi, b * eta, s, a, b, discs, layers, first, last, 1.0)
    return x, y, 0.5 * (s + 1.0) * step[moves.H1]


@compiled()
def trace_back(x, y, z, steps, discs, layers):  # type: ignore[no-untyped-def]
    """Follow one point back through all steps. Returns x, y, z in mm and |dz0/dz| along the way."""
    thinning = 1.0
    for k in range(len(steps) - 1, -1, -1):
        x, y, z, once = step_back(x, y, z, steps[k], discs, layers)
        thinning *= once
    return x, y, z, thinning


@compiled(parallel=True)
def _many_back(points, steps, discs, layers):  # type: ignore[no-untyped-def]
    out = np.empty_like(points)
    for i in prange(len(points)):
        x, y, z, _ = trace_back(points[i, 0], points[i, 1], points[i, 2], steps, discs, layers)
        out[i, 0], out[i, 1], out[i, 2] = x, y, z
    return out


@compiled(parallel=True)
def _many_forward(points, steps, discs, layers):  # type: ignore[no-untyped-def]
    out = np.empty_like(points)
    for i in prange(len(points)):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        for k in range(len(steps)):
            x, y, z = step_forward(x, y, z, steps[k], discs, layers)
        out[i, 0], out[i, 1], out[i, 2] = x, y, z
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
    return np.asarray(_many_back(points, programme.after(folds), programme.discs, programme.layers))


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
    return np.asarray(_many_forward(points, programme.after(folds), programme.discs, programme.layers))
