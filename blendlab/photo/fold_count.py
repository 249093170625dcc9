"""Infer the fold count of a photographed sheet: a probability for each count.

The fitted recipe is pressed again several times at every fold count, blurred as by a camera, and described by
the same statistics as the photo. The descriptions of each count make a Gaussian; a few replicates leave it
noisy, so it is smoothed over neighbouring counts, which look alike. How well a count explains the photo's
local colours is weighed in.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp, softmax

from ..folding.charge import lay_charge
from ..look.prepared_sheet import assemble
from ..look.render import render
from ..look.surfaces import top_face
from ..recipe.recipe import Recipe
from ..runtime.progress import ProgressCallback, each, no_progress
from .surrogate_sheets import ANY_PRESS, PressRange, programmes
from .texture_statistics import as_photographed, describe

Floats = npt.NDArray[np.float64]

REPLICATES = 6
# Few folds are drawn by brute force, in a third to a half of the time: up to four folds it moves no statistic
# by more than 0.14 of its spread between replicates, at nine by 3.
BRUTE_FORCE_FOLDS, BRUTE_FORCE_SAMPLES = 4, 16
CHARGES = 1  # shared by the replicates; more without folds, where nothing else differs
SMOOTHING = 0.6  # standard deviation of the kernel over fold counts
OWN_WEIGHT = 0.8  # of a count's own covariance against the mean of all counts
SHRINKAGE = 0.3  # of correlations, which few replicates cannot establish
UNMODELLED = 0.003  # variance of a statistic beyond that of the simulation
# Exponents of the likelihoods of marbling and of colours, whose terms are less independent than assumed. That
# of marbling was raised from 0.45, at which all 80 % sets of 13 photos of tests/bench/photo_proof.py held.
MARBLING_WEIGHT, COLOUR_WEIGHT = 0.6, 0.25
HOPELESS = 5.0  # deficit in log likelihood at which the colours alone rule a count out


def possible_counts(misfit: Floats) -> range:
    """Return the range of fold counts that a photo's colours allow.

    Parameters
    ----------
    misfit : ndarray, shape (counts,)
        How badly the local colours fit 0, 1, 2 … folds, as from `share_fit.fit`.

    Returns
    -------
    range
        From the lowest count to the highest that is worth pressing again, and a neighbour to either side,
        over which `infer` smooths.
    """
    worth = np.flatnonzero(COLOUR_WEIGHT * (misfit - misfit.min()) < HOPELESS)
    return range(max(int(worth[0]) - 1, 0), min(int(worth[-1]) + 2, len(misfit)))


def pressed_again(
    recipes: Mapping[int, Recipe],
    px_per_mm: float,
    blur_px: float,
    seed: int,
    press: PressRange = ANY_PRESS,
    on_progress: ProgressCallback = no_progress,
) -> Floats:
    """Describe replicates of every fold count.

    Parameters
    ----------
    recipes : mapping of int to Recipe
        By fold count, the recipe that fits the photo best.
    px_per_mm : float
        Scale of the rectified photo.
    blur_px : float
        Size of a pixel of the photo itself, in those pixels.

    Returns
    -------
    ndarray of float64, shape (replicates, counts, statistics)
        Descriptions.
    """
    found = [
        [describe(as_photographed(face, blur_px)) for face in _faces(recipe, folds, px_per_mm, seed, press)]
        for folds, recipe in each([*recipes.items()], on_progress)
    ]
    return np.array(found).swapaxes(0, 1)


def _faces(
    recipe: Recipe, folds: int, px_per_mm: float, seed: int, press: PressRange
) -> Iterator[npt.NDArray[np.float32]]:
    """Draw the faces of several replicates of one recipe."""
    count = CHARGES if folds else REPLICATES // 2
    charges = [lay_charge(recipe, rng) for rng in np.random.default_rng([seed, folds]).spawn(count)]
    face = top_face(recipe.sheet, px_per_mm)
    drawn = programmes(recipe.sheet, recipe.folding.move, REPLICATES, seed, press)
    samples = BRUTE_FORCE_SAMPLES if folds <= BRUTE_FORCE_FOLDS else None
    for n, (_, programme) in enumerate(drawn):
        yield render(face, assemble(recipe, charges[n % count], programme), folds, samples).xyz1


@dataclass(frozen=True, eq=False)
class FoldCount:
    """What a photo reveals about the fold count.

    Attributes
    ----------
    probability : ndarray, shape (counts,)
        Of 0, 1, 2 … folds, summing to 1.
    evidence : float
        Logarithm of the mean likelihood, to compare one move with another.
    strangeness : float
        Squared Mahalanobis distance to the nearest fold count, per statistic: about 1 for a sheet, much
        more for anything else.
    """

    probability: Floats
    evidence: float
    strangeness: float
    best: int

    def among(self, counts: range, total: int) -> "FoldCount":
        """Return the same over all counts up to a total, of which only some were possible."""
        probability = np.zeros(total)
        probability[counts.start : counts.stop] = self.probability
        evidence = self.evidence + float(np.log(len(counts) / total))
        return FoldCount(probability, evidence, self.strangeness, counts[self.best])

    @classmethod
    def unknown(cls, counts: int, best: int) -> "FoldCount":
        """Every count equally likely, as for a sheet of one colour; `best` is the one to draw it with."""
        return cls(np.full(counts, 1 / counts), 0.0, 0.0, best)

    def likely(self, part: float = 0.8) -> tuple[int, ...]:
        """Return the smallest set of counts that is at least that likely, in ascending order."""
        order = np.argsort(-self.probability, kind="stable")
        enough = int(np.searchsorted(np.cumsum(self.probability[order]), part)) + 1
        return tuple(sorted(int(n) for n in order[:enough]))


def infer(simulated: Floats, seen: Floats, misfit: Floats) -> FoldCount:
    """Infer the probability of each fold count.

    Parameters
    ----------
    simulated : ndarray, shape (replicates, counts, statistics)
        As from `pressed_again`.
    seen : ndarray, shape (views, counts, statistics)
        Description of the photo in the light fitted at each count; several views where the sheet's
        orientation is unknown.
    misfit : ndarray, shape (counts,)
        How badly the local colours fit each count, as from `share_fit.fit`.

    Returns
    -------
    FoldCount
        With a uniform prior over counts and views.
    """
    means, spreads = _gaussians(simulated)
    miss = (seen - means)[..., None]
    distance = np.sum(miss * np.linalg.solve(spreads, miss), axis=(-2, -1))
    of_views = -0.5 * MARBLING_WEIGHT * (distance + np.linalg.slogdet(spreads)[1])
    log_likelihood = logsumexp(of_views, axis=0) - np.log(len(seen)) - COLOUR_WEIGHT * misfit
    evidence = float(logsumexp(log_likelihood) - np.log(len(means)))
    probability = softmax(log_likelihood)
    strangeness = float(distance.min()) / seen.shape[-1]
    return FoldCount(probability, evidence, strangeness, int(probability.argmax()))


def _gaussians(simulated: Floats) -> tuple[Floats, Floats]:
    """Return mean and covariance of the statistics at every count, smoothed over neighbouring counts."""
    n, counts, size = simulated.shape
    own = simulated.mean(axis=0)
    difference = np.arange(counts)[:, None] - np.arange(counts)
    near = np.exp(-0.5 * (difference / SMOOTHING) ** 2)
    near /= near.sum(axis=1, keepdims=True)
    deviations = simulated - own
    spreads = np.einsum("fg,ngi,ngj->fij", near, deviations, deviations) / (n - 1)
    spreads = OWN_WEIGHT * spreads + (1 - OWN_WEIGHT) * spreads.mean(axis=0)
    diagonal = np.einsum("fii->fi", spreads)[:, :, None] * np.eye(size)
    return near @ own, (1 - SHRINKAGE) * spreads + SHRINKAGE * diagonal + UNMODELLED * np.eye(size)
