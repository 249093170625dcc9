"""How many folds a photographed sheet has had: a probability for each count.

The fitted recipe is pressed again by several hands at every fold count, looked at as a camera would, and
described by the same numbers as the photo. Each count then has a Gaussian of descriptions; counts next to
each other look alike, so each borrows from its neighbours what few hands cannot tell. How well the count
explains the photo's local colours is weighed in.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp, softmax

from ..colour.pigment import palette, reach_mm
from ..folding.charge import lay_charge
from ..look.prepared_sheet import PreparedSheet
from ..look.render import render
from ..look.surfaces import top_face
from ..recipe.recipe import Recipe
from ..runtime.progress import ProgressCallback, each, no_progress
from .surrogate_sheets import hands
from .texture_statistics import as_photographed, describe

Floats = npt.NDArray[np.float64]

HANDS = 6
CHARGES = 1  # first slabs that the hands share; more without folds, where nothing else differs
SAMPLES = 9
NEIGHBOURS = 0.6  # folds over which means and spreads are smoothed
OWN = 0.8  # weight of a count's own spread against that of all counts
SHRINK = 0.3  # part of correlations between statistics that few hands cannot establish
UNSEEN = 0.003  # variance of a statistic that no simulation shows
# Exponents of the likelihoods of marbling and of colours: both take their parts for more independent than
# they are. Set on 46 photos of tests/bench/photo_proof.py drawn from another seed, so that sets are honest.
TRUST_MARBLING, TRUST_COLOURS = 0.45, 0.25


def pressed_again(
    recipes: Sequence[Recipe],
    px_per_mm: float,
    blur_px: float,
    seed: int,
    on_progress: ProgressCallback = no_progress,
) -> Floats:
    """Describe simulated sheets of every fold count.

    Parameters
    ----------
    recipes : sequence of Recipe
        For 0, 1, 2 … folds, the recipe that fits a photo best if it has had as many.
    px_per_mm : float
        Scale of the straightened photo.
    blur_px : float
        Size of a pixel of the photo itself, in those pixels.
    seed : int
        Start of the chances.
    on_progress : callable
        Hears what part is done.

    Returns
    -------
    ndarray of float64, shape (hands, counts, statistics)
        Descriptions.
    """
    found = [
        [describe(as_photographed(face, blur_px)) for face in _faces(recipe, folds, px_per_mm, seed)]
        for folds, recipe in each([*enumerate(recipes)], on_progress)
    ]
    return np.array(found).swapaxes(0, 1)


def _faces(recipe: Recipe, folds: int, px_per_mm: float, seed: int) -> Iterator[npt.NDArray[np.float32]]:
    """Faces of sheets of one recipe by several hands."""
    pigments = palette(recipe.flakes)
    reach = min(reach_mm(pigments, recipe.shares), recipe.sheet.thickness_mm)
    count = CHARGES if folds else HANDS // 2
    charges = [lay_charge(recipe, rng) for rng in np.random.default_rng([seed, folds]).spawn(count)]
    face = top_face(recipe.sheet, px_per_mm)
    for n, (_, programme) in enumerate(hands(recipe.sheet, recipe.folding.move, HANDS, seed)):
        prepared = PreparedSheet(recipe, charges[n % count], programme, pigments, reach)
        yield render(face, prepared, folds, SAMPLES).xyz1


@dataclass(frozen=True, eq=False)
class FoldCount:
    """What a photo says about the fold count.

    Attributes
    ----------
    probability : ndarray, shape (counts,)
        Of 0, 1, 2 … folds, summing to 1.
    evidence : float
        Logarithm of the mean likelihood, to weigh one move against another.
    strangeness : float
        How far the photo lies from its nearest fold count, as a mean over the statistics of squared
        spreads: about 1 for a sheet, much more for what is none.
    """

    probability: Floats
    evidence: float
    strangeness: float

    @property
    def best(self) -> int:
        """The likeliest count."""
        return int(self.probability.argmax())

    def likely(self, part: float = 0.8) -> tuple[int, ...]:
        """The fewest counts that together are at least that likely, in rising order."""
        order = np.argsort(-self.probability, kind="stable")
        enough = int(np.searchsorted(np.cumsum(self.probability[order]), part)) + 1
        return tuple(sorted(int(n) for n in order[:enough]))


def infer(simulated: Floats, seen: Floats, misfit: Floats) -> FoldCount:
    """Weigh the fold counts.

    Parameters
    ----------
    simulated : ndarray, shape (hands, counts, statistics)
        As from `pressed_again`.
    seen : ndarray, shape (views, statistics)
        Description of the photo; several where it is not known which way round the sheet lies.
    misfit : ndarray, shape (counts,)
        How badly the local colours fit each count, as from `shares.fit`.

    Returns
    -------
    FoldCount
        Every count, and every view, is as likely beforehand.
    """
    means, spreads = _gaussians(simulated)
    miss = (seen[:, None] - means)[..., None]
    distance = np.sum(miss * np.linalg.solve(spreads, miss), axis=(-2, -1))
    of_views = -0.5 * TRUST_MARBLING * (distance + np.linalg.slogdet(spreads)[1])
    log_likelihood = logsumexp(of_views, axis=0) - np.log(len(seen)) - TRUST_COLOURS * misfit
    evidence = float(logsumexp(log_likelihood) - np.log(len(means)))
    return FoldCount(softmax(log_likelihood), evidence, float(distance.min()) / seen.shape[-1])


def _gaussians(simulated: Floats) -> tuple[Floats, Floats]:
    """Mean and covariance of the statistics at every count, smoothed over neighbouring counts."""
    n, counts, size = simulated.shape
    own = simulated.mean(axis=0)
    apart = np.arange(counts)[:, None] - np.arange(counts)
    near = np.exp(-0.5 * (apart / NEIGHBOURS) ** 2)
    near /= near.sum(axis=1, keepdims=True)
    strayed = simulated - own
    spreads = np.einsum("fg,ngi,ngj->fij", near, strayed, strayed) / (n - 1)
    spreads = OWN * spreads + (1 - OWN) * spreads.mean(axis=0)
    diagonal = np.einsum("fii->fi", spreads)[:, :, None] * np.eye(size)
    return near @ own, (1 - SHRINK) * spreads + SHRINK * diagonal + UNSEEN * np.eye(size)
