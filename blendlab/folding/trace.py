"""Follow points through a whole programme: back to the first slab, or forward from it.

Positions are in mm: x and y from the middle of the plan, z from 0 (lower face) to the slab's height.
"""

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from numba import prange

from ..compiled import compiled
from .moves import half_back, half_forward
from .press import press_back, press_forward
from .smear import smear_point

if TYPE_CHECKING:
    from .programme import Programme

# Columns of a programme's step table.
AXIS, SIDE, LINE, HALF_X, HALF_Y, HEIGHT, STRAIN, P_X, P_Y, FIRST, LAST = range(11)
COLUMNS = 11


@compiled()
def cycle_back(x, y, z, step, discs, layers):  # type: ignore[no-untyped-def]
    """Undo one cycle: smear, press, fold. Returns x, y, z in mm and the local thinning |dz0/dz|."""
    a, b, h = step[HALF_X], step[HALF_Y], step[HEIGHT]
    s = 2.0 * z / h - 1.0
    x, y = smear_point(x, y, s, a, b, discs, layers, int(step[FIRST]), int(step[LAST]), -1.0)
    xi, eta, s, thinning = press_back(x / a, y / b, s, step[STRAIN], step[P_X], step[P_Y])
    z = (s + 1.0) * h
    if step[AXIS] == 0.0:
        t, z = half_back(0.5 * a * xi * step[SIDE], z, a, h, step[LINE])
        return t * step[SIDE], b * eta, z, 2.0 * thinning
    t, z = half_back(0.5 * b * eta * step[SIDE], z, b, h, step[LINE])
    return a * xi, t * step[SIDE], z, 2.0 * thinning


@compiled()
def cycle_forward(x, y, z, step, discs, layers):  # type: ignore[no-untyped-def]
    """Do one cycle: fold, press, smear. The inverse of `cycle_back`. Returns x, y, z in mm."""
    a, b, h = step[HALF_X], step[HALF_Y], step[HEIGHT]
    if step[AXIS] == 0.0:
        t, z = half_forward(x * step[SIDE], z, a, h, step[LINE])
        xi, eta = t * step[SIDE] * 2.0 / a, y / b
    else:
        t, z = half_forward(y * step[SIDE], z, b, h, step[LINE])
        xi, eta = x / a, t * step[SIDE] * 2.0 / b
    xi, eta, s = press_forward(xi, eta, z / h - 1.0, step[STRAIN], step[P_X], step[P_Y])
    first, last = int(step[FIRST]), int(step[LAST])
    x, y = smear_point(a * xi, b * eta, s, a, b, discs, layers, first, last, 1.0)
    return x, y, 0.5 * (s + 1.0) * h


@compiled()
def trace_back(x, y, z, steps, discs, layers):  # type: ignore[no-untyped-def]
    """Follow one point back through all steps. Returns x, y, z in mm and |dz0/dz| along the way."""
    thinning = 1.0
    for k in range(len(steps) - 1, -1, -1):
        x, y, z, once = cycle_back(x, y, z, steps[k], discs, layers)
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
            x, y, z = cycle_forward(x, y, z, steps[k], discs, layers)
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
