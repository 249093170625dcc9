"""Which flakes come near a picture's colours, how much of each at every fold count, and what none reaches."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt
from scipy.optimize import nnls

from ..colour.pigment import light_of, palette
from ..colour.spaces import Colour, lab_from_xyz1
from ..recipe.flake import with_partners
from ..recipe.recipe import Flake, Sheet
from ..runtime.progress import ProgressCallback, each, no_progress
from .appearance import clusters
from .share_fit import Problem, fit_few, wave_means

Floats = npt.NDArray[np.float64]

KEPT = 6  # flakes that a proposal chooses from
MIN_SHARE_KEPT = 0.04  # a smaller share is not worth a flake
PARTS = (0.1, 0.25, 0.5, 0.75, 0.9)  # of one flake in its blends with another
NO_CAST = (1e-3, 1e-3, 1e-3)  # spreads of the picture's light: its colours are meant as they are
FAR = 10.0  # dE*ab from all that the flakes can show
MIN_MISSING = 0.05  # of the picture, to be worth a word


@dataclass(frozen=True)
class Missing:
    """A colour of a picture that the flakes do not reach.

    Attributes
    ----------
    wanted, nearest : Colour
        The colour, and the nearest that the flakes or blends of two of them show.
    part : float
        Part of the picture that has it, 0-1.
    delta_e_ab : float
        Their distance in CIELAB.
    """

    wanted: Colour
    nearest: Colour
    part: float
    delta_e_ab: float


def likely_flakes(
    pixels: Floats, flakes: Sequence[Flake], sheet: Sheet, blended: bool
) -> tuple[tuple[Flake, ...], Floats]:
    """Choose the flakes that a picture's colours ask for.

    The means of waves over the picture are a non-negative sum of those of single colours: of the flakes and,
    where they are taken for blended, of blends of two.

    Parameters
    ----------
    pixels : ndarray, shape (n, 3)
        The picture's XYZ, Y of white = 1.

    Returns
    -------
    tuple of (tuple of Flake, ndarray)
        At most `KEPT` flakes, and their shares, summing to 1.
    """
    mixes, shown = (some[: None if blended else len(flakes)] for some in _colours(flakes, sheet))
    weights, _ = nnls(wave_means(shown[:, None]).T, wave_means(pixels), maxiter=50 * len(mixes))
    shares = weights @ mixes
    kept = np.sort(np.argsort(-shares, kind="stable")[:KEPT])
    kept = kept[shares[kept] >= MIN_SHARE_KEPT * shares.sum()]
    return with_partners((flakes[n] for n in kept), flakes), shares[kept] / shares[kept].sum()


def shares_by_count(
    pixels: Floats,
    flakes: tuple[Flake, ...],
    start: Floats,
    sheet: Sheet,
    counts: Sequence[int],
    on_progress: ProgressCallback = no_progress,
) -> dict[int, Floats]:
    """Fit shares to a picture's colours at each of several fold counts.

    Parameters
    ----------
    pixels : ndarray, shape (n, 3)
        The picture's XYZ.
    start : ndarray, shape (kinds,)
        Shares to start from, as from `likely_flakes`.

    Returns
    -------
    dict of int to ndarray of float64, shape (kinds,)
        Shares by fold count of the fewest flakes that explain the colours, summing to 1.
    """
    problem = Problem(wave_means(pixels), palette(flakes, finish=sheet.finish), sheet, "half", NO_CAST)
    found, here = {}, start
    for folds in each(counts, on_progress):
        here = fit_few(problem, folds, np.maximum(here, MIN_SHARE_KEPT), np.zeros(3)).shares
        found[folds] = here
    return found


def missing(pixels: Floats, flakes: Sequence[Flake], sheet: Sheet) -> Missing | None:
    """Return the colour for which another flake would help most, None where all are near.

    Parameters
    ----------
    pixels : ndarray, shape (n, 3)
        The picture's XYZ, as it is: the eye sharpens edges, and sees colours there that no flake has.
    """
    colours, parts = clusters(lab_from_xyz1(pixels))
    _, shown = _colours(flakes, sheet)
    reached = lab_from_xyz1(shown)
    far = np.linalg.norm(colours[:, None] - reached, axis=-1)
    off = far.min(axis=1)
    worst = int((parts * off * (off > FAR)).argmax())
    # Neighbouring clusters are one colour to the maker.
    alike = np.linalg.norm(colours - colours[worst], axis=1) < FAR
    part = float(parts[alike].sum())
    if off[worst] <= FAR or part < MIN_MISSING:
        return None
    pair = (Colour.from_lab(colours[worst]), Colour.from_lab(reached[far[worst].argmin()]))
    return Missing(*pair, part, float(off[worst]))


def _colours(flakes: Sequence[Flake], sheet: Sheet) -> tuple[Floats, Floats]:
    """Return compositions and XYZ of the flakes and of blends of any two."""
    kinds = np.eye(len(flakes))
    pairs = [part * a + (1 - part) * b for a, b in combinations(kinds, 2) for part in PARTS]
    mixes = np.concatenate([kinds, np.array(pairs).reshape(-1, len(flakes))])
    return mixes, light_of(mixes.astype(np.float32), palette(flakes, finish=sheet.finish)).astype(np.float64)
