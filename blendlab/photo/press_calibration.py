"""Calibrate a press from photos of its own sheets: drag, unevenness and the depth of light.

Sheets of known fold counts are pressed again in trials that differ in the three values and in chance. The
statistics of their marbling are fitted as a quadratic of the values, with the covariance that chance leaves
(a synthetic likelihood: Wood 2010, Nature 466:1102, from memory). The photos' likelihoods then update a prior
on a grid of values, centred on the usual ones, so that few photos move it little.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp, softmax

from ..folding.charge import lay_charge
from ..folding.programme import draw_programme
from ..folding.scatter import strewings
from ..look.prepared_sheet import PreparedSheet, assemble
from ..look.render import render
from ..look.surfaces import top_face
from ..recipe.folding_moves import USUAL_DRAG, USUAL_UNEVENNESS
from ..recipe.recipe import Recipe, Sheet
from ..runtime.progress import ProgressCallback, each, no_progress
from ..tables.ranges import Range
from .surrogate_sheets import PressRange
from .texture_statistics import as_photographed, describe

Floats = npt.NDArray[np.float64]

USUAL = np.array(
    [USUAL_DRAG, USUAL_UNEVENNESS, 0.0]
)  # drag, unevenness, natural logarithm of the reach factor
PRIOR_SPREAD = np.array([0.25, 0.2, 0.35])  # standard deviations between presses, an estimate
MIN_VALUES, MAX_VALUES = np.array([0.02, 0.02, -1.0]), np.array([0.98, 0.98, 1.0])
STEPS = (25, 25, 17)  # of the grid
TRIALS = 160
LIKELIHOOD_WEIGHT = 0.5  # set on 36 synthetic presses so that bands hold about what they state
# Widening of the bands about their means, at most to the width of the prior: photos from presses that grip or
# slip fully look usual more often than in the trials. Set on 36 synthetic presses.
WIDENING = (1.35, 1.0, 1.0)
BAND = (0.05, 0.95)  # quantiles
SHRINKAGE = 0.2  # of correlations, which few trials cannot establish
UNMODELLED = 0.01  # variance of a statistic beyond that of the trials, such as from an uncertain cast
SQUARE = 0.03  # relative difference of sides below which a photo may be turned
SEED = 11


@dataclass(frozen=True, eq=False)
class PhotographedSheet:
    """Statistics of a photographed sheet whose recipe is known.

    Attributes
    ----------
    recipe : Recipe
        As pressed; its drag, unevenness and reach factor are ignored.
    described : ndarray of float64, shape (statistics,)
        From `describe_face`, of its rectified face.
    shape : tuple of int
        Rows and columns of that face.
    px_per_mm : float
        Its pixels per mm of the hot sheet.
    blur_px : float
        Size of a pixel of the photo, in those pixels.
    """

    recipe: Recipe
    described: Floats
    shape: tuple[int, int]
    px_per_mm: float
    blur_px: float


@dataclass(frozen=True)
class PressCalibration:
    """Drag, unevenness and depth of light of one press.

    Attributes
    ----------
    drag, unevenness, reach_factor : Range
        The value (`usual`) with its 90 % band; drag's is the least certain.
    likelier : float
        Likelihood ratio of each photo under the calibration from the others to that under the usual values,
        geometric mean; below 1 the calibration predicts worse. 1 where there is only one photo.
    """

    drag: Range
    unevenness: Range
    reach_factor: Range
    sheets: int
    likelier: float

    @property
    def range(self) -> PressRange:
        """What the press may have done, for matching photos of its sheets."""
        drag, unevenness = ((band.low, band.high) for band in (self.drag, self.unevenness))
        return PressRange(drag, unevenness, self.reach_factor.usual)

    def applied_to(self, recipe: Recipe) -> Recipe:
        """Return a recipe with the values of this press."""
        applied = replace(recipe, reach_factor=self.reach_factor.usual)
        return applied.with_folding(drag=self.drag.usual, unevenness=self.unevenness.usual)


def uncalibrated(recipe: Recipe) -> Recipe:
    """Return a recipe with the usual values."""
    usual = recipe.with_folding(drag=float(USUAL[0]), unevenness=float(USUAL[1]))
    return replace(usual, reach_factor=1.0)


def calibrate(likelihoods: Sequence[Floats]) -> PressCalibration:
    """Calibrate a press from photos of its sheets, each given by its `log_likelihood`.

    At least one; the more fold counts they cover, the better.
    """
    photos = np.array(likelihoods)
    weights = posterior(photos)
    drag, unevenness, reach = (_band(weights, axis) for axis in range(3))
    usual = int((((_grid() - USUAL) / PRIOR_SPREAD) ** 2).sum(axis=1).argmin())
    others = [posterior(np.delete(photos, n, axis=0)) for n in range(len(photos))]
    gains = [_log_mean(own, weight) - own[usual] for own, weight in zip(photos, others, strict=True)]
    return PressCalibration(
        drag,
        unevenness,
        Range(*(float(np.exp(value)) for value in vars(reach).values())),
        len(photos),
        float(np.exp(np.mean(gains))) if len(photos) > 1 else 1.0,
    )


def posterior(likelihoods: npt.ArrayLike) -> Floats:
    """Posterior probability of the grid, shape (points,), from a `log_likelihood` for each photo, or none."""
    grid = _grid()
    log_prior = -0.5 * (((grid - USUAL) / PRIOR_SPREAD) ** 2).sum(axis=1)
    found: Floats = softmax(log_prior + np.reshape(likelihoods, (-1, len(grid))).sum(axis=0))
    return found


def log_likelihood(seen: PhotographedSheet, on_progress: ProgressCallback = no_progress) -> Floats:
    """Log likelihood of a photo at every point of the grid, shape (points,), up to a constant.

    All fold counts share the constant.
    """
    values, described = trials(seen, on_progress)
    terms, at_grid = _terms(values), _terms(_grid())
    fit, *_ = np.linalg.lstsq(terms, described, rcond=None)
    residuals, free = described - terms @ fit, len(values) - terms.shape[1]
    spread = residuals.T @ residuals / free
    spread = (1 - SHRINKAGE) * spread + SHRINKAGE * np.diag(np.diag(spread))
    spread += UNMODELLED * np.eye(len(spread))
    # The fit itself is uncertain, more so away from the centre of the trials.
    wider = 1 + np.einsum("ni,ij,nj->n", at_grid, np.linalg.inv(terms.T @ terms), at_grid)
    miss = seen.described - at_grid @ fit
    distance = np.einsum("ni,ni->n", miss, np.linalg.solve(spread, miss.T).T) / wider
    size = len(spread)
    tails = (free + size) * np.log1p(distance / free)  # Student's t, as the covariance is estimated
    log: Floats = -0.5 * LIKELIHOOD_WEIGHT * (tails + size * np.log(wider) + np.linalg.slogdet(spread)[1])
    return log


def trials(seen: PhotographedSheet, on_progress: ProgressCallback = no_progress) -> tuple[Floats, Floats]:
    """Press a sheet again with evenly spread values of drag, unevenness and depth of light.

    Returns the values, shape (TRIALS, 3), and descriptions, shape (TRIALS, statistics).
    """
    rng = np.random.default_rng(SEED)
    even = np.stack([rng.permutation(TRIALS) + rng.random(TRIALS) for _ in USUAL], axis=1) / TRIALS
    values = MIN_VALUES + even * (MAX_VALUES - MIN_VALUES)
    described = []
    for (drag, unevenness, log_factor), own in each(
        [*zip(values, rng.spawn(TRIALS), strict=True)], on_progress
    ):
        recipe = seen.recipe.with_folding(drag=float(drag), unevenness=float(unevenness))
        prepared = replicate(replace(recipe, reach_factor=float(np.exp(log_factor))), own)
        described.append(describe_face(photographed(prepared, seen)))
    return values, np.array(described)


def describe_face(xyz1: npt.NDArray[np.float32]) -> Floats:
    """Describe a face; average both orientations of a square one, as its own is unknown."""
    rows, columns = xyz1.shape[:2]
    if abs(rows / columns - 1) > SQUARE:
        return describe(xyz1)
    both: Floats = (describe(xyz1) + describe(xyz1.swapaxes(0, 1))) / 2
    return both


def replicate(recipe: Recipe, rng: np.random.Generator) -> PreparedSheet:
    """Prepare another sheet of a recipe: another charge and programme."""
    folding, chips = recipe.folding, strewings(recipe)
    programme = draw_programme(folding, recipe.sheet, folding.folds, rng, chips)
    return assemble(recipe, lay_charge(recipe, rng, weighed=False), programme)


def photographed(prepared: PreparedSheet, seen: PhotographedSheet) -> npt.NDArray[np.float32]:
    """Draw the top face of a prepared sheet at a photo's scale, blur and trimmed size."""
    folds = prepared.recipe.folding.folds
    sheet = Sheet(*prepared.programme.sizes_mm[folds])
    face = render(top_face(sheet, seen.px_per_mm), prepared, folds).xyz1
    rows, columns = (min(n, most) for n, most in zip(seen.shape, face.shape[:2], strict=True))
    top, left = (face.shape[0] - rows) // 2, (face.shape[1] - columns) // 2
    return as_photographed(face[top : top + rows, left : left + columns], seen.blur_px)


def _grid() -> Floats:
    """Return the points of the grid, shape (points, 3)."""
    axes = (np.linspace(low, high, n) for low, high, n in zip(MIN_VALUES, MAX_VALUES, STEPS, strict=True))
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)


def _terms(values: Floats) -> Floats:
    """Return the terms of a quadratic of the values, shape (rows, 10)."""
    z = (2 * values - MIN_VALUES - MAX_VALUES) / (MAX_VALUES - MIN_VALUES)
    pairs = [z[:, i] * z[:, j] for i in range(3) for j in range(i + 1)]
    terms: Floats = np.stack([np.ones(len(z)), *z.T, *pairs], axis=1)
    return terms


def _log_mean(log: Floats, weights: Floats) -> float:
    """Return the logarithm of a likelihood averaged over the grid."""
    return float(logsumexp(log, b=weights))


def _band(weights: Floats, axis: int) -> Range:
    """Return the posterior mean and the band of one value, widened by `WIDENING` up to the prior's width."""
    mean, ends = _spread(weights, axis)
    _, widest = _spread(posterior([]), axis)
    factor = min(WIDENING[axis], max(1.0, float(np.ptp(widest) / np.ptp(ends))))
    low, high = np.clip(mean + factor * (ends - mean), MIN_VALUES[axis], MAX_VALUES[axis])
    return Range(float(low), mean, float(high))


def _spread(weights: Floats, axis: int) -> tuple[float, Floats]:
    """Return the mean of one value and the ends of its band, from the weights of the grid."""
    others = tuple(n for n in range(3) if n != axis)
    share = weights.reshape(STEPS).sum(axis=others)
    points = np.linspace(MIN_VALUES[axis], MAX_VALUES[axis], STEPS[axis])
    step = points[1] - points[0]
    edges = np.concatenate([points - step / 2, points[-1:] + step / 2])
    ends = np.interp(BAND, np.concatenate([[0.0], np.cumsum(share)]), edges)
    return float(share @ points), np.clip(ends, MIN_VALUES[axis], MAX_VALUES[axis])
