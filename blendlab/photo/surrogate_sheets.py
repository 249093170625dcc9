"""Surrogate sheets: light paths traced once and then coloured with any shares.

A surrogate sheet has no colours yet. Its flakes are ranked at random; for every light path of some pixels of
its face, the part that comes from flakes below each rank is stored. Dividing the ranks among kinds by any
shares gives at once what a recipe of those shares would show, so hundreds of shares can be tried.
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

MAX_MATCHED_FOLDS = 10
SHEETS = 6
PIXELS = 200  # of each sheet
ACROSS = 4  # light paths of a pixel
RANKS = 100  # steps of the flakes' ranks; divisions in between are interpolated
PX_PER_MM = 0.5  # of the pixels sampled; about as coarse as a rectified photo with its blur


@dataclass(frozen=True)
class PressRange:
    """What the press of a photographed sheet may have done.

    Attributes
    ----------
    drag, unevenness : tuple of float
        Lowest and highest, 0-1.
    reach_factor : float
        Depth of light over that of the flakes' own numbers.
    """

    drag: tuple[float, float] = (0.05, 0.95)
    unevenness: tuple[float, float] = (0.05, 0.95)
    reach_factor: float = 1.0


ANY_PRESS = PressRange()


@dataclass(frozen=True, eq=False)
class SurrogateSheets:
    """Light paths of several sheets of one fold count.

    Attributes
    ----------
    below : ndarray of float32, shape (RANKS + 1, sheets, pixels, ACROSS)
        Part of every light path that comes from flakes below each rank, 0-1.
    """

    below: npt.NDArray[np.float32]

    def compositions(self, shares: npt.NDArray[np.float64]) -> npt.NDArray[np.float32]:
        """Return the composition of every light path for given shares.

        Parameters
        ----------
        shares : ndarray, shape (kinds,)
            Summing to 1; a kind of no share gets no flakes.

        Returns
        -------
        ndarray of float32, shape (sheets, pixels, ACROSS, kinds)
            Shares along each path.
        """
        cuts = np.concatenate([[0.0], np.cumsum(shares)[:-1], [1.0]]).clip(0.0, 1.0) * RANKS
        step = np.minimum(cuts.astype(int), RANKS - 1)
        part = (cuts - step).astype(np.float32)[:, None, None, None]
        up_to = (1 - part) * self.below[step] + part * self.below[step + 1]
        mixed: npt.NDArray[np.float32] = np.moveaxis(np.diff(up_to, axis=0), 0, -1)
        return mixed


@lru_cache(maxsize=8)
def programmes(
    sheet: Sheet, move: str, count: int, seed: int, press: PressRange = ANY_PRESS
) -> tuple[tuple[Folding, Programme], ...]:
    """Draw programmes whose drag and unevenness are spread evenly over their ranges.

    Returns
    -------
    tuple of (Folding, Programme)
        Each with `MAX_MATCHED_FOLDS` cycles; cached.
    """
    rng = np.random.default_rng([seed, count])
    drags, rough = (
        low + (rng.permutation(count) + rng.random(count)) / count * (high - low)
        for low, high in (press.drag, press.unevenness)
    )
    found = []
    for drag, unevenness, own in zip(drags, rough, rng.spawn(count), strict=True):
        folding = Folding(move, MAX_MATCHED_FOLDS, round(float(drag), 2), round(float(unevenness), 2))
        found.append((folding, draw_programme(folding, sheet, MAX_MATCHED_FOLDS, own)))
    return tuple(found)


@lru_cache(maxsize=4)
def _charges(sheet: Sheet, seed: int) -> tuple[Charge, ...]:
    """Return a charge for every sheet, its flakes labelled by random rank."""
    plain = Recipe("surrogate", sheet, (Flake("any", "#808080", 1.0),))
    found = []
    for rng in np.random.default_rng([seed, 1]).spawn(SHEETS):
        charge = lay_charge(plain, rng, weighed=False)
        ranks = rng.permutation(charge.labels.size) * RANKS // charge.labels.size
        found.append(charge.dealt(ranks.astype(np.uint8).reshape(charge.cells), RANKS))
    return tuple(found)


@lru_cache(maxsize=44)  # some 90 MB
def surrogates(
    sheet: Sheet, move: str, light_depth_mm: float, folds: int, seed: int = 1, press: PressRange = ANY_PRESS
) -> SurrogateSheets:
    """Trace the light paths of several sheets, after 0 to `MAX_MATCHED_FOLDS` folds, back to their flakes."""
    face = top_face(sheet, PX_PER_MM)
    frames = face.frames(0, face.shape[0])
    deep = min(light_depth_mm, sheet.thickness_mm)
    below = np.zeros((RANKS + 1, SHEETS, PIXELS, ACROSS), np.float32)
    pressed = zip(_charges(sheet, seed), programmes(sheet, move, SHEETS, seed, press), strict=True)
    for n, (charge, (_, programme)) in enumerate(pressed):
        sampled = _spread_out(face.shape, np.random.default_rng([seed, 2, n]))
        paths = compositions(frames[sampled], charge, programme, folds, deep, ACROSS)
        below[1:, n] = np.moveaxis(np.cumsum(paths, axis=-1), -1, 0)
    return SurrogateSheets(below / below[-1])


def _spread_out(shape: tuple[int, int], rng: np.random.Generator) -> npt.NDArray[np.int64]:
    """Draw pixel indices evenly over a face (a Latin hypercube)."""
    at = (np.stack([np.arange(PIXELS), rng.permutation(PIXELS)]) + rng.random((2, PIXELS))) / PIXELS
    found: npt.NDArray[np.int64] = np.ravel_multi_index(
        tuple((at * np.array(shape)[:, None]).astype(np.int64)), shape
    )
    return found
