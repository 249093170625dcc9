"""Points of many sheets, each followed back to the flake it came from.

A stand-in sheet has no colours yet: it only knows, for light paths of pixels here and there on its face,
which flakes of the first slab they cross. Dealing the flakes to sorts by any shares then gives at once
what a recipe of these shares would show, so shares can be tried by the hundred.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from ..folding.charge import Charge, lay_charge
from ..folding.composition import nearest_cells
from ..folding.programme import Programme, draw_programme
from ..folding.trace import follow_back
from ..recipe import Flake, Folding, Recipe, Sheet

MOST_FOLDS = 10
SHEETS = 6
PIXELS = 200  # of each sheet
ACROSS = 4  # light paths of a pixel, two by two
DEEP = (3, 4, 6, 8, 10, 12, 14, 16, 16, 16, 16)  # points along each after 0, 1, 2 … folds, as layers thin
PATH_MM = 0.3  # how broad a light path is: light spreads sideways, too
PIXEL_MM = 2.0  # a straightened photo's pixel and the blur about it
# What hands and presses may do; how they did is not known from a photo.
DRAG = (0.05, 0.95)
UNEVENNESS = (0.05, 0.95)


@dataclass(frozen=True, eq=False)
class StandIns:
    """Flakes along the light paths of several sheets of one fold count.

    Attributes
    ----------
    cells : ndarray of int32, shape (sheets, pixels, ACROSS, points along a path)
        Flake that each point came from.
    ranks : ndarray of float64, shape (flakes,)
        For dealing: a chance of each flake, evenly spread over 0..1.
    """

    cells: npt.NDArray[np.int32]
    ranks: npt.NDArray[np.float64]

    def compositions(self, shares: npt.NDArray[np.float64]) -> npt.NDArray[np.float32]:
        """Composition of every light path for given shares.

        Parameters
        ----------
        shares : ndarray, shape (sorts,)
            Summing to 1; a sort of no share is dealt no flake.

        Returns
        -------
        ndarray of float32, shape (sheets, pixels, ACROSS, sorts)
            Shares along each path.
        """
        sort_of = np.searchsorted(np.cumsum(shares)[:-1], self.ranks, side="right")
        deep = self.cells.shape[-1]
        one = np.eye(len(shares), dtype=np.float32) / np.float32(deep)
        pure = one[sort_of]  # each flake's own composition, its part of a path
        mixed: npt.NDArray[np.float32] = pure[self.cells[..., 0]]
        for k in range(1, deep):
            mixed = mixed + pure[self.cells[..., k]]
        return mixed


@lru_cache(maxsize=8)
def hands(sheet: Sheet, move: str, count: int, seed: int) -> tuple[tuple[Folding, Programme], ...]:
    """Several hands at work on a sheet, drag and unevenness spread evenly over what may be.

    Parameters
    ----------
    sheet : Sheet
        The slab.
    move : str
        How it is folded, one of `handwork.MOVES`.
    count : int
        How many hands.
    seed : int
        Another seed gives other hands.

    Returns
    -------
    tuple of (Folding, Programme)
        Each with `MOST_FOLDS` cycles; kept for the next call.
    """
    rng = np.random.default_rng([seed, count])
    drags, rough = ((rng.permutation(count) + rng.random(count)) / count for _ in range(2))
    found = []
    for d, u, own in zip(drags, rough, rng.spawn(count), strict=True):
        drag, unevenness = (low + at * (high - low) for at, (low, high) in ((d, DRAG), (u, UNEVENNESS)))
        folding = Folding(move, MOST_FOLDS, round(float(drag), 2), round(float(unevenness), 2))
        found.append((folding, draw_programme(folding, sheet, MOST_FOLDS, own)))
    return tuple(found)


@lru_cache(maxsize=4)
def _slabs(sheet: Sheet, seed: int) -> tuple[tuple[Charge, ...], npt.NDArray[np.float64]]:
    """A charge of nameless flakes for every sheet, and the ranks of them all for dealing."""
    plain = Recipe("stand-in", sheet, (Flake("any", "#808080", 1.0),))
    rngs = np.random.default_rng([seed, 1]).spawn(SHEETS)
    charges = tuple(lay_charge(plain, rng) for rng in rngs)
    count = charges[0].labels.size
    return charges, np.concatenate([(rng.permutation(count) + 0.5) / count for rng in rngs])


@lru_cache(maxsize=256)
def stand_ins(sheet: Sheet, move: str, reach_mm: float, folds: int, seed: int = 1) -> StandIns:
    """Follow the light paths of several sheets back to their flakes.

    Parameters
    ----------
    sheet : Sheet
        The slab.
    move : str
        How it was folded.
    reach_mm : float
        How deep light goes.
    folds : int
        0 to `MOST_FOLDS`.
    seed : int
        Start of their chances.

    Returns
    -------
    StandIns
        Kept for the next call.
    """
    charges, ranks = _slabs(sheet, seed)
    corner = np.array([sheet.length_mm / 2, sheet.width_mm / 2, 0.0])
    deep = DEEP[folds]
    cells = np.empty((SHEETS, PIXELS, ACROSS, deep), np.int32)
    pressed = zip(charges, hands(sheet, move, SHEETS, seed), strict=True)
    for n, (charge, (_, programme)) in enumerate(pressed):
        own = np.random.default_rng([seed, 2, n])
        points = _light_paths(sheet, min(reach_mm, sheet.thickness_mm), deep, own)
        start = (follow_back(points, programme, folds) + corner) * charge.cells_per_mm
        inside = np.clip(start, 0.0, np.array(charge.cells) - 1e-6)
        found = nearest_cells(inside, charge.seeds) + n * charge.labels.size
        cells[n] = found.reshape(PIXELS, ACROSS, deep)
    return StandIns(cells, ranks)


def _light_paths(
    sheet: Sheet, reach_mm: float, deep: int, rng: np.random.Generator
) -> npt.NDArray[np.float64]:
    """Points along the light paths of pixels thrown evenly over the face, shape (n, 3)."""
    half = np.array([sheet.length_mm, sheet.width_mm]) / 2
    rough = np.stack([np.arange(PIXELS) + rng.random(PIXELS), rng.permutation(PIXELS) + rng.random(PIXELS)])
    middle = (2 * rough.T / PIXELS - 1) * (half - (PIXEL_MM + PATH_MM) / 2)
    quarter = (np.indices((2, 2)).reshape(2, -1).T + rng.random((PIXELS, ACROSS, 2))) / 2 - 0.5
    path = middle[:, None] + quarter * PIXEL_MM
    points = np.empty((PIXELS, ACROSS, deep, 3))
    points[..., :2] = path[:, :, None] + rng.uniform(-0.5, 0.5, (PIXELS, ACROSS, deep, 2)) * PATH_MM
    points[..., 2] = (
        sheet.thickness_mm - (np.arange(deep) + rng.random((PIXELS, ACROSS, deep))) / deep * reach_mm
    )
    return points.reshape(-1, 3)
