"""How far a face can be planed or sanded before the look changes."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..colour.difference import delta_e00
from .contrast import seen_lab
from .prepared_sheet import PreparedSheet
from .render import render
from .surfaces import planed

PLANED_PX = 120  # longer side of the pictures that are compared
STEPS = 14  # default number of depths
SHALLOWEST = 1 / 200  # of the slab's thickness: the first of them


@dataclass(frozen=True, eq=False)
class Planing:
    """How the look changes with the depth planed off.

    Attributes
    ----------
    depths_mm : ndarray of float64, shape (n,)
        Depth planed off, from 0 on.
    likeness : ndarray of float64, shape (n,)
        Correlation of the colours of the planed face with those of the untouched one, as the eye sees both: 1
        while the marbling is where it was, 0 once none of it is left.
    delta_e : ndarray of float64, shape (n,)
        Mean dE00 between the two, place by place.
    half_mm : float or None
        Where likeness first falls to a half, mm; None where it never does.
    """

    depths_mm: npt.NDArray[np.float64]
    likeness: npt.NDArray[np.float64]
    delta_e: npt.NDArray[np.float64]
    half_mm: float | None


def planing(prepared: PreparedSheet, folds: int, depths_mm: Sequence[float] | None = None) -> Planing:
    """Follow the look of the upper face as it is planed away.

    Parameters
    ----------
    depths_mm : sequence of float, optional
        Depths planed off, mm, rising from above 0 to less than the slab's thickness; by default fine near the
        face and coarse towards the middle of the slab.

    Returns
    -------
    Planing
        Depth 0 first. A face of one colour counts as unchanged.
    """
    sheet = prepared.sheet_after(folds)
    if depths_mm is None:
        through = sheet.thickness_mm
        depths_mm = np.geomspace(SHALLOWEST * through, through / 2, STEPS).tolist()
    scale = PLANED_PX / max(sheet.size_mm)
    depths = np.array([0.0, *depths_mm])
    labs = [
        seen_lab(render(planed(sheet, scale, depth), prepared, folds).xyz1, 1 / scale)
        for depth in depths.tolist()
    ]
    likeness = np.array([_likeness(labs[0], lab) for lab in labs])
    delta_e = np.array([float(delta_e00(labs[0], lab).mean()) for lab in labs])
    return Planing(depths, likeness, delta_e, _falls_to(0.5, depths, likeness))


def _likeness(one: npt.NDArray[np.float64], other: npt.NDArray[np.float64]) -> float:
    """Correlation of two pictures' CIELAB, all three channels together."""
    a, b = (lab.reshape(-1, 3) - lab.reshape(-1, 3).mean(axis=0) for lab in (one, other))
    spread = float(np.sqrt((a * a).sum() * (b * b).sum()))
    return float((a * b).sum()) / spread if spread > 1e-9 else 1.0


def _falls_to(mark: float, depths: npt.NDArray[np.float64], values: npt.NDArray[np.float64]) -> float | None:
    """Return the depth at which values first fall to a mark, linear between two depths."""
    below = np.flatnonzero(values <= mark)
    if not below.size:
        return None
    n = int(below[0])
    part = (values[n - 1] - mark) / (values[n - 1] - values[n])
    return float(depths[n - 1] + part * (depths[n] - depths[n - 1]))
