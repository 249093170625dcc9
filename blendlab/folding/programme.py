"""A fold-and-press programme: the steps of a sheet's making, drawn once, followed back at any point.

Each cycle is a fold, a press down to the spacers and the hand's smear. Where one move is repeated the
maker turns the slab a quarter between, so the fold line crosses the last one; pressing lets the slab spread
back to the proportions of the first (a slab twice as long as broad spreads over its long sides).
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..recipe.recipe import Folding, Sheet
from ..recipe.slab_size import LAYERS, ROLLED, Cycle, Size
from . import moves
from .panels import columns, pile
from .smear import DISC, GRID, Smear, smear

OFF_MIDDLE = 0.05  # spread of a fold line about its place at unevenness 1, as a part of half the side
TWO_LINES = {"edges-in": 2, "thirds": 2}
OFF_PHASE = 0.8  # spread of the way a roll lies under the press at unevenness 1, radians


@dataclass(frozen=True)
class Programme:
    """The drawn steps of a sheet.

    Attributes
    ----------
    steps : ndarray of float64, shape (rows, moves.WIDTH)
        One row a cycle, and one for each time the slab is turned over.
    ends : tuple of int
        How many rows the first 0, 1, 2 ... cycles take.
    sizes_mm : tuple of (float, float, float)
        Length, width and height of the slab after each of these.
    discs, layers : ndarray
        The smear discs of all cycles, as in `Smear`.
    """

    steps: npt.NDArray[np.float64]
    ends: tuple[int, ...]
    sizes_mm: tuple[Size, ...]
    discs: npt.NDArray[np.float64]
    layers: npt.NDArray[np.int16]

    @property
    def cycles(self) -> int:
        """Number of fold-and-press cycles drawn."""
        return len(self.ends) - 1

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
        return self.steps[: self.ends[folds]]

    def thinning(self, folds: int) -> float:
        """How many times thinner each fold of melt has become in the first cycles, all presses together."""
        pressed = self.after(folds)
        pressed = pressed[pressed[:, moves.KIND] != moves.FLIP]
        return float(np.prod(pressed[:, moves.H_FOLDED] / pressed[:, moves.H1]))


def draw_programme(folding: Folding, sheet: Sheet, folds: int, rng: np.random.Generator) -> Programme:
    """Draw the steps of a programme.

    Parameters
    ----------
    folding : Folding
        The moves, the spacers, drag and unevenness of the hand and press.
    sheet : Sheet
        The first slab's size, hot.
    folds : int
        Cycles to draw; the first n do not depend on how many follow. A list of moves has no more than its
        presses.
    rng : numpy.random.Generator
        Each cycle spawns its own from it.

    Returns
    -------
    Programme
        The steps.
    """
    plan = folding.cycles(sheet.size_mm, min(folds, folding.most_folds))
    rows: list[npt.NDArray[np.float64]] = []
    ends, smears = [0], []
    discs = layers = 0
    for cycle, own in zip(plan, rng.spawn(len(plan)), strict=True):
        row = _row(cycle, folding, own)
        patch = _smear(cycle, folding.unevenness, own)
        row[[moves.FIRST, moves.LAST]] = layers, layers + len(patch.layers)
        patch.layers[patch.layers >= 0] += discs
        discs, layers = discs + len(patch.discs), layers + len(patch.layers)
        smears.append(patch)
        before, after = cycle.flips
        rows += [_flip(cycle.before_mm)] * before + [row] + [_flip(cycle.after_mm)] * after
        ends.append(len(rows))
    return Programme(
        np.array(rows).reshape(-1, moves.WIDTH),
        tuple(ends),
        (sheet.size_mm, *(cycle.after_mm for cycle in plan)),
        *_joined(smears),
    )


def _row(cycle: Cycle, folding: Folding, rng: np.random.Generator) -> npt.NDArray[np.float64]:
    """Draw one cycle's row, its smear left out."""
    row = np.zeros(moves.WIDTH)
    row[[moves.AXIS, moves.SIDE]] = cycle.axis, 1.0 if rng.random() < 0.5 else -1.0
    _set_sizes(row, cycle)
    row[moves.STRAIN : moves.STRAIN + 3] = cycle.thinning**folding.drag, *_shares(cycle)
    missed = np.clip(rng.standard_normal(TWO_LINES.get(cycle.fold, 1)), -3, 3) * folding.unevenness
    if cycle.fold in ROLLED:
        twist = math.radians(cycle.twist_deg) / cycle.before_mm[1 - cycle.axis]
        row[[moves.KIND, moves.TWIST, moves.PHASE]] = moves.ROLL, twist, missed[0] * OFF_PHASE
    elif cycle.fold == "corners-in":
        row[moves.KIND] = moves.CORNERS
    else:
        a = cycle.before_mm[cycle.axis] / 2
        row[moves.KIND] = moves.PANELS
        row[moves.OWN :] = columns(pile(cycle.fold, a, missed * OFF_MIDDLE * a), LAYERS[cycle.fold])
    return row


def _smear(cycle: Cycle, unevenness: float, rng: np.random.Generator) -> Smear:
    """Draw the patches a press turns: the further it presses, the more; none where nothing spreads."""
    halvings = math.log2(max(cycle.thinning, 1.0))
    return smear(cycle.after_mm[0] / 2, cycle.after_mm[1] / 2, unevenness * halvings, rng)


def _flip(size: Size) -> npt.NDArray[np.float64]:
    """Row of a slab that is turned over."""
    row = np.zeros(moves.WIDTH)
    row[[moves.KIND, moves.H0]] = moves.FLIP, size[2]
    return row


def _set_sizes(row: npt.NDArray[np.float64], cycle: Cycle) -> None:
    """Enter half sides and height before, folded and pressed."""
    columns_of = {moves.A0: cycle.before_mm, moves.A_FOLDED: cycle.folded_mm, moves.A1: cycle.after_mm}
    for first, size in columns_of.items():
        row[first : first + 3] = size[0] / 2, size[1] / 2, size[2]


def _shares(cycle: Cycle) -> tuple[float, float]:
    """How the widening of a press is shared between length and width."""
    if cycle.thinning <= 1.0:
        return 0.5, 0.5
    p_x = math.log(cycle.after_mm[0] / cycle.folded_mm[0]) / math.log(cycle.thinning)
    p_x = min(max(p_x, 0.0), 1.0)
    return p_x, 1.0 - p_x


def _joined(smears: list[Smear]) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.int16]]:
    """Put the smear discs of all cycles into one table each."""
    return (
        np.concatenate([np.zeros((0, DISC)), *(patch.discs for patch in smears)]),
        np.concatenate([np.zeros((0, GRID, GRID), np.int16), *(patch.layers for patch in smears)]),
    )
