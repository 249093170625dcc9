"""A fold-and-press programme: the steps of a sheet's making, drawn once, followed back at any point.

Each cycle is a fold, a press back to the sheet's thickness and the hand's smear. The maker turns the
slab a quarter between folds, so the fold line crosses the last one; pressing lets the slab spread back
across the fold (a slab twice as long as broad spreads over its long sides), so every cycle ends on the
sheet's own plan and the layers thin by two.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..recipe import Folding, Sheet
from .smear import GRID, Smear, smear
from .trace import AXIS, COLUMNS, FIRST, HALF_X, HALF_Y, HEIGHT, LAST, LINE, P_X, P_Y, SIDE, STRAIN

OFF_MIDDLE = 0.05  # spread of the fold line about the middle at unevenness 1, as a part of half the side


@dataclass(frozen=True)
class Programme:
    """The drawn steps of a sheet.

    Attributes
    ----------
    steps : ndarray of float64, shape (cycles, 11)
        One row a cycle: axis folded (0 or 1), side turned over (1 or -1), fold line off the middle in mm,
        half sides and height before and after in mm, the press's strain and shares, and its smear layers.
    discs, layers : ndarray
        The smear discs of all cycles, as in `Smear`.
    half_sides_mm : tuple of float
        Half length, half width of the slab.
    height_mm : float
        Its height.
    """

    steps: npt.NDArray[np.float64]
    discs: npt.NDArray[np.float64]
    layers: npt.NDArray[np.int16]
    half_sides_mm: tuple[float, float]
    height_mm: float

    @property
    def cycles(self) -> int:
        """Number of fold-and-press cycles drawn."""
        return len(self.steps)

    def after(self, folds: int) -> npt.NDArray[np.float64]:
        """Steps of the first cycles only: the same hand, stopped earlier.

        Parameters
        ----------
        folds : int
            0 to `cycles`.

        Returns
        -------
        ndarray
            Rows of `steps`.
        """
        return self.steps[:folds]


def draw_programme(folding: Folding, sheet: Sheet, folds: int, rng: np.random.Generator) -> Programme:
    """Draw the steps of a programme.

    Parameters
    ----------
    folding : Folding
        Drag and unevenness of the hand and press.
    sheet : Sheet
        The slab's size, hot.
    folds : int
        Cycles to draw; the first n do not depend on how many follow.
    rng : numpy.random.Generator
        Each cycle spawns its own from it.

    Returns
    -------
    Programme
        The steps.
    """
    a, b, h = sheet.length_mm / 2, sheet.width_mm / 2, sheet.thickness_mm
    steps = np.zeros((folds, COLUMNS))
    smears: list[Smear] = []
    discs = layers = 0
    for cycle, own in enumerate(rng.spawn(folds)):
        axis = (cycle + (b > a)) % 2
        side = 1.0 if own.random() < 0.5 else -1.0
        spread = OFF_MIDDLE * folding.unevenness * (a, b)[axis]
        line = float(np.clip(own.standard_normal(), -3, 3)) * spread
        patch = smear(a, b, folding.unevenness, own)
        steps[cycle, [AXIS, SIDE, LINE, HALF_X, HALF_Y, HEIGHT]] = axis, side, line, a, b, h
        steps[cycle, [STRAIN, P_X, P_Y]] = 2.0**folding.drag, 1 - axis, axis
        steps[cycle, [FIRST, LAST]] = layers, layers + len(patch.layers)
        patch.layers[patch.layers >= 0] += discs
        discs, layers = discs + len(patch.discs), layers + len(patch.layers)
        smears.append(patch)
    return Programme(
        steps,
        np.concatenate([np.zeros((0, 5)), *(p.discs for p in smears)]),
        np.concatenate([np.zeros((0, GRID, GRID), np.int16), *(p.layers for p in smears)]),
        (a, b),
        h,
    )
