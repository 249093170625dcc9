"""Light paths of many sheets, each followed back to the flakes it crosses.

A stand-in sheet has no colours yet. Its flakes are ranked at random, and of every light path of pixels here
and there on its face it is known what part comes from flakes below any rank. Dealing the ranks to sorts by
any shares then gives at once what a recipe of these shares would show, so shares can be tried by the hundred.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from ..folding.charge import Charge, lay_charge
from ..folding.programme import Programme, draw_programme
from ..look.render import compositions
from ..look.surfaces import top_face
from ..recipe.recipe import Flake, Folding, Recipe, Sheet

MAX_FOLDS = 10
SHEETS = 6
PIXELS = 200  # of each sheet
ACROSS = 4  # light paths of a pixel, and points along each
RANKS = 100  # steps of the flakes' ranks; between them a deal is interpolated
PX_PER_MM = 0.5  # a straightened photo's pixel and the blur about it
# What hands and presses may do; how they did is not known from a photo.
DRAG = (0.05, 0.95)
UNEVENNESS = (0.05, 0.95)


@dataclass(frozen=True, eq=False)
class StandIns:
    """Light paths of several sheets of one fold count.

    Attributes
    ----------
    below : ndarray of float32, shape (RANKS + 1, sheets, pixels, ACROSS)
        Part of every light path that comes from flakes below each rank, from 0 to 1.
    """

    below: npt.NDArray[np.float32]

    def compositions(self, shares: npt.NDArray[np.float64]) -> npt.NDArray[np.float32]:
        """Composition of every light path for given shares.

        Parameters
        ----------
        shares : ndarray, shape (kinds,)
            Summing to 1; a sort of no share is dealt no flake.

        Returns
        -------
        ndarray of float32, shape (sheets, pixels, ACROSS, sorts)
            Shares along each path.
        """
        cuts = np.concatenate([[0.0], np.cumsum(shares)[:-1], [1.0]]).clip(0.0, 1.0) * RANKS
        step = np.minimum(cuts.astype(int), RANKS - 1)
        part = (cuts - step).astype(np.float32)[:, None, None, None]
        up_to = (1 - part) * self.below[step] + part * self.below[step + 1]
        mixed: npt.NDArray[np.float32] = np.moveaxis(np.diff(up_to, axis=0), 0, -1)
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
        Each with `MAX_FOLDS` cycles; kept for the next call.
    """
    rng = np.random.default_rng([seed, count])
    drags, rough = ((rng.permutation(count) + rng.random(count)) / count for _ in range(2))
    found = []
    for d, u, own in zip(drags, rough, rng.spawn(count), strict=True):
        drag, unevenness = (low + at * (high - low) for at, (low, high) in ((d, DRAG), (u, UNEVENNESS)))
        folding = Folding(move, MAX_FOLDS, round(float(drag), 2), round(float(unevenness), 2))
        found.append((folding, draw_programme(folding, sheet, MAX_FOLDS, own)))
    return tuple(found)


@lru_cache(maxsize=4)
def _slabs(sheet: Sheet, seed: int) -> tuple[Charge, ...]:
    """A charge for every sheet, its flakes ranked at random and dealt by rank."""
    plain = Recipe("stand-in", sheet, (Flake("any", "#808080", 1.0),))
    found = []
    for rng in np.random.default_rng([seed, 1]).spawn(SHEETS):
        charge = lay_charge(plain, rng, weighed=False)
        ranks = rng.permutation(charge.labels.size) * RANKS // charge.labels.size
        found.append(charge.dealt(ranks.astype(np.uint8).reshape(charge.cells), RANKS))
    return tuple(found)


@lru_cache(maxsize=44)  # some 90 MB
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
        0 to `MAX_FOLDS`.
    seed : int
        Start of their chances.

    Returns
    -------
    StandIns
        Kept for the next call.
    """
    face = top_face(sheet, PX_PER_MM)
    frames = face.frames(0, face.shape[0])
    deep = min(reach_mm, sheet.thickness_mm)
    below = np.zeros((RANKS + 1, SHEETS, PIXELS, ACROSS), np.float32)
    pressed = zip(_slabs(sheet, seed), hands(sheet, move, SHEETS, seed), strict=True)
    for n, (charge, (_, programme)) in enumerate(pressed):
        shown = _spread_out(face.shape, np.random.default_rng([seed, 2, n]))
        paths = compositions(frames[shown], charge, programme, folds, deep, ACROSS * ACROSS)
        below[1:, n] = np.moveaxis(np.cumsum(paths, axis=-1), -1, 0)
    return StandIns(below / below[-1])


def _spread_out(shape: tuple[int, int], rng: np.random.Generator) -> npt.NDArray[np.int64]:
    """Indices of pixels thrown evenly over a face (a Latin hypercube)."""
    at = (np.stack([np.arange(PIXELS), rng.permutation(PIXELS)]) + rng.random((2, PIXELS))) / PIXELS
    found: npt.NDArray[np.int64] = np.ravel_multi_index(
        tuple((at * np.array(shape)[:, None]).astype(np.int64)), shape
    )
    return found
