"""Infer the fold count of a photographed sheet: a probability for each count.

The fitted recipe is pressed again several times at every fold count, blurred as by a camera, and described by
the same statistics as the photo. The descriptions of each count make a Gaussian about their mean, with the
covariance of all counts, as a few replicates cannot tell those of neighbouring counts apart. How well a count
explains the photo's local colours is weighed in. Counts that may be right are then pressed some more.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp, softmax

from ..folding.charge import lay_charge
from ..look.prepared_sheet import assemble
from ..look.render import render
from ..look.surfaces import top_face
from ..recipe.recipe import Recipe
from ..runtime.progress import ProgressCallback, each, no_progress, within
from .surrogate_sheets import ANY_PRESS, PressRange, programmes
from .texture_statistics import MARBLING, as_photographed, describe_all

Floats = npt.NDArray[np.float64]

# Replicates of a count: at first, and of one that may still be right in all.
FIRST_REPLICATES, REPLICATES = 3, 6
# Few folds are drawn by brute force, in a third to a half of the time: up to four folds it moves no statistic
# by more than 0.14 of its spread between replicates, at nine by 3.
BRUTE_FORCE_FOLDS, BRUTE_FORCE_SAMPLES = 4, 16
SHRINKAGE = 0.6  # of correlations, which few replicates cannot establish
UNMODELLED = 0.02  # variance of a statistic beyond that of the simulation: presses and cameras differ
# Exponents of the likelihoods of marbling and of colours, whose terms are less independent than assumed.
# Set, like the two above, on 24 own photos and 6 plain ones of seed 2033 of tests/bench/photo_proof.py.
MARBLING_WEIGHT, COLOUR_WEIGHT = 0.9, 0.3
# By which log likelihoods are divided for a photo as strange as 1; power of the strangeness; least.
# Set by likelihood and by what sets hold, on own and plain photos of seed 2033: 86 and 82 % of 22 each.
TEMPERATURE, TEMPERATURE_POWER, MIN_TEMPERATURE = 7.0, 1.5, 0.3
HOPELESS = 5.0  # deficit in log likelihood at which the colours alone rule a count out
WORTH_MORE = 0.003  # probability from which a count is pressed some more


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


@dataclass(frozen=True)
class Pressing:
    """How replicates are pressed, and photographed.

    Attributes
    ----------
    px_per_mm : float
        Scale of the rectified photo.
    blur_px : float
        Size of a pixel of the photo itself, in those pixels.
    """

    px_per_mm: float
    blur_px: float
    seed: int
    press: PressRange = ANY_PRESS

    def faces(self, recipe: Recipe, folds: int, which: range) -> Iterator[npt.NDArray[np.float32]]:
        """Draw faces of some of the `REPLICATES` of a recipe."""
        own = np.random.default_rng([self.seed, folds]).spawn(REPLICATES)
        face = top_face(recipe.sheet, self.px_per_mm)
        drawn = programmes(recipe.sheet, recipe.folding.move, REPLICATES, self.seed, self.press)
        samples = BRUTE_FORCE_SAMPLES if folds <= BRUTE_FORCE_FOLDS else None
        for n in which:
            prepared = assemble(recipe, lay_charge(recipe, own[n]), drawn[n][1])
            yield as_photographed(render(face, prepared, folds, samples).xyz1, self.blur_px)

    def described(self, recipe: Recipe, folds: int, which: range) -> Floats:
        """Describe those faces: shape (replicates, statistics)."""
        return np.array([describe_all(face) for face in self.faces(recipe, folds, which)])


def pressed_again(
    pressing: Pressing,
    recipes: Mapping[int, Recipe],
    seen: Floats,
    misfit: Floats,
    on_progress: ProgressCallback = no_progress,
) -> list[Floats]:
    """Describe replicates of every fold count, more of those that may be right.

    Parameters
    ----------
    recipes : mapping of int to Recipe
        By fold count, the recipe that fits the photo best.
    seen, misfit
        As for `infer`.

    Returns
    -------
    list of ndarray of float64, shape (replicates, statistics)
        Descriptions, for each count.
    """
    counts, first = [*recipes], range(FIRST_REPLICATES)
    found = [
        pressing.described(recipes[folds], folds, first)
        for folds in each(counts, within(on_progress, 0.0, 0.6))
    ]
    log_likelihood, strangeness = _weighed(found, seen, misfit, MARBLING)
    more = np.flatnonzero(softmax(log_likelihood / max(1.0, strangeness)) > WORTH_MORE)
    for n in each([*more], within(on_progress, 0.6, 0.4)):
        others = pressing.described(recipes[counts[n]], counts[n], range(FIRST_REPLICATES, REPLICATES))
        found[n] = np.concatenate([found[n], others])
    return found


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
        """Return the likeliest counts, as many as are together nearest to that likely, in ascending order.

        At least that likely would be more so on average, as a set holds whole counts.
        """
        order = np.argsort(-self.probability, kind="stable")
        enough = int(np.abs(np.cumsum(self.probability[order]) - part).argmin()) + 1
        return tuple(sorted(int(n) for n in order[:enough]))


def infer(simulated: Sequence[Floats], seen: Floats, misfit: Floats, by: slice = MARBLING) -> FoldCount:
    """Infer the probability of each fold count.

    Parameters
    ----------
    simulated : sequence of ndarray, shape (replicates, statistics)
        For each count, as from `pressed_again`.
    seen : ndarray, shape (views, counts, statistics)
        Description of the photo in the light fitted at each count; several views where the sheet's
        orientation is unknown.
    misfit : ndarray, shape (counts,)
        How badly the local colours fit each count, as from `share_fit.fit`.
    by : slice
        The statistics to go by.

    Returns
    -------
    FoldCount
        With a uniform prior over counts and views.
    """
    log_likelihood, strangeness = _weighed(simulated, seen, misfit, by)
    evidence = float(logsumexp(log_likelihood) - np.log(len(log_likelihood)))
    probability = softmax(log_likelihood / temperature(strangeness))
    return FoldCount(probability, evidence, strangeness, int(probability.argmax()))


def temperature(strangeness: float) -> float:
    """Return by how much log likelihoods differ too much for a photo of some strangeness.

    A photo that is unlike every count comes from a press unlike the program's, so what tells its counts apart
    is as doubtful.
    """
    return max(MIN_TEMPERATURE, TEMPERATURE * float(strangeness**TEMPERATURE_POWER))


def _weighed(simulated: Sequence[Floats], seen: Floats, misfit: Floats, by: slice) -> tuple[Floats, float]:
    """Return the log likelihood of every count, and the photo's strangeness."""
    means = np.array([some[:, by].mean(axis=0) for some in simulated])
    spread = pooled_covariance([some[:, by] for some in simulated])
    distance = squared_distance(seen[..., by] - means, spread)
    of_views = -0.5 * MARBLING_WEIGHT * (distance + np.linalg.slogdet(spread)[1])
    log_likelihood: Floats = logsumexp(of_views, axis=0) - np.log(len(seen)) - COLOUR_WEIGHT * misfit
    return log_likelihood, float(distance.min()) / means.shape[-1]


def pooled_covariance(simulated: Sequence[Floats]) -> Floats:
    """Return the covariance of descriptions about the mean of their count, shape (statistics, statistics)."""
    deviations = np.concatenate([some - some.mean(axis=0) for some in simulated])
    spread = deviations.T @ deviations / (len(deviations) - len(simulated))
    diagonal = np.diag(np.diag(spread))
    pooled: Floats = (1 - SHRINKAGE) * spread + SHRINKAGE * diagonal + UNMODELLED * np.eye(len(spread))
    return pooled


def squared_distance(miss: Floats, spread: Floats) -> Floats:
    """Return squared Mahalanobis distances, shape (...,), of deviations, shape (..., statistics)."""
    squared: Floats = (miss * np.linalg.solve(spread, miss[..., None])[..., 0]).sum(axis=-1)
    return squared
