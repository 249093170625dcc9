"""The maker's hand, learnt from the log: grip of the liners, unevenness, how deep light goes.

Sheets of known fold counts are pressed again in trials that differ in the three values and in chance; what a
face's marbling amounts to (`photo.statistics`) is fitted as a quadratic of the values, with the spread that
chance leaves (a synthetic likelihood: Wood 2010, Nature 466:1102, from memory). What the photos show then
weighs every point of a grid of values, which starts out round the usual ones: few photos move them little.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..colour.pigment import palette, reach_mm
from ..folding.charge import lay_charge
from ..folding.programme import draw_programme
from ..look.prepared_sheet import PreparedSheet
from ..look.render import render
from ..look.surfaces import top_face
from ..recipe.recipe import Recipe, Sheet
from ..runtime.progress import ProgressCallback, each, no_progress
from ..tables.ranges import Range
from .texture_statistics import as_photographed, describe

Floats = npt.NDArray[np.float64]

USUAL = np.array([0.5, 0.3, 0.0])  # drag, unevenness, natural logarithm of the reach factor
BEFOREHAND = np.array([0.25, 0.2, 0.35])  # how far hands and presses stray from it, an estimate
LOWEST, HIGHEST = np.array([0.02, 0.02, -1.0]), np.array([0.98, 0.98, 1.0])
STEPS = (25, 25, 17)  # of the grid
TRIALS, SAMPLES = 160, 9
TRUST = 0.5  # of the log likelihood: set on 36 synthetic makers so that bands hold about what they say
BAND = (0.05, 0.95)  # of the values told; they held drag 72, unevenness 92, reach 97 in 100 (tests/bench)
SHRINK = 0.2  # part of correlations between statistics that few trials cannot establish
UNSEEN = 0.01  # variance of a statistic that no trial shows, such as an uncertain cast
SQUARE = 0.03  # difference of sides below which a photo may be turned
SEED = 11


@dataclass(frozen=True, eq=False)
class Seen:
    """What a photo shows of a sheet whose making is known.

    Attributes
    ----------
    recipe : Recipe
        As pressed; its drag, unevenness and reach factor are not looked at.
    described : ndarray of float64, shape (statistics,)
        From `described_face`, of its straightened face.
    shape : tuple of int
        Rows and columns of that face.
    px_per_mm : float
        Its pixels per mm of the hot sheet.
    blur_px : float
        Size of a photo's pixel in those pixels.
    """

    recipe: Recipe
    described: Floats
    shape: tuple[int, int]
    px_per_mm: float
    blur_px: float


@dataclass(frozen=True)
class Hand:
    """What was learnt.

    Attributes
    ----------
    drag, unevenness, reach_factor : Range
        The value (`usual`) with its 90 % band; drag's is the least to be trusted.
    sheets : int
        Photos it was learnt from.
    likelier : float
        How many times likelier a photo is under the hand learnt from the others than under the usual one, on
        geometric average; below 1 it predicts worse. 1 where there is only one.
    """

    drag: Range
    unevenness: Range
    reach_factor: Range
    sheets: int
    likelier: float

    def working(self, recipe: Recipe) -> Recipe:
        """Return a recipe as this hand would press it."""
        worked = replace(recipe, reach_factor=self.reach_factor.usual)
        return worked.with_folding(drag=self.drag.usual, unevenness=self.unevenness.usual)


def usual_hand(recipe: Recipe) -> Recipe:
    """Return a recipe as the usual hand would press it."""
    worked = recipe.with_folding(drag=float(USUAL[0]), unevenness=float(USUAL[1]))
    return replace(worked, reach_factor=1.0)


def learn(likelihoods: Sequence[Floats]) -> Hand:
    """Learn a hand.

    Parameters
    ----------
    likelihoods : sequence of ndarray, each of shape (points,)
        From `log_likelihood`, one a photo, at least one; the more fold counts among them the better.

    Returns
    -------
    Hand
        Same photos, same hand.
    """
    each = np.array(likelihoods)
    weights = weights_of(each)
    drag, unevenness, reach = (_band(weights, axis) for axis in range(3))
    usual = int((((_grid() - USUAL) / BEFOREHAND) ** 2).sum(axis=1).argmin())
    others = [weights_of(np.delete(each, n, axis=0)) for n in range(len(each))]
    gains = [_expected(own, weight) - own[usual] for own, weight in zip(each, others, strict=True)]
    return Hand(
        drag,
        unevenness,
        Range(*(float(np.exp(value)) for value in vars(reach).values())),
        len(each),
        float(np.exp(np.mean(gains))) if len(each) > 1 else 1.0,
    )


def weights_of(likelihoods: npt.ArrayLike) -> Floats:
    """Weigh every point of the grid by photos, or by what is usual beforehand where there are none.

    Parameters
    ----------
    likelihoods : array_like, shape (photos, points)
        From `log_likelihood`.

    Returns
    -------
    ndarray of float64, shape (points,)
        Summing to 1.
    """
    grid = _grid()
    before = -0.5 * (((grid - USUAL) / BEFOREHAND) ** 2).sum(axis=1)
    return _weights(before + np.reshape(likelihoods, (-1, len(grid))).sum(axis=0))


def folds_told(by_count: Sequence[Floats], weights: Floats) -> Floats:
    """Give every fold count a probability from one photo, for a hand that is known so far.

    Parameters
    ----------
    by_count : sequence of ndarray, each of shape (points,)
        `log_likelihood` of the photo had the sheet been folded 0, 1, 2 … times, or any list of counts.
    weights : ndarray, shape (points,)
        From `weights_of`.

    Returns
    -------
    ndarray of float64, shape (counts,)
        Summing to 1; every count is as likely beforehand.
    """
    return _weights(np.array([_expected(own, weights) for own in by_count]))


def log_likelihood(seen: Seen, on_progress: ProgressCallback = no_progress) -> Floats:
    """How likely a photo is at every point of the grid of values, as a logarithm, shape (points,).

    Parameters
    ----------
    seen : Seen
        The sheet, and how it was photographed.
    on_progress : callable
        Hears what part is done.

    Returns
    -------
    ndarray of float64, shape (points,)
    """
    values, described = trials(seen, on_progress)
    terms, asked = _terms(values), _terms(_grid())
    fit, *_ = np.linalg.lstsq(terms, described, rcond=None)
    left, free = described - terms @ fit, len(values) - terms.shape[1]
    spread = left.T @ left / free
    spread = (1 - SHRINK) * spread + SHRINK * np.diag(np.diag(spread)) + UNSEEN * np.eye(len(spread))
    # The fit itself is unsure, the more the further from the middle of the trials.
    wider = 1 + np.einsum("ni,ij,nj->n", asked, np.linalg.inv(terms.T @ terms), asked)
    miss = seen.described - asked @ fit
    distance = np.einsum("ni,ni->n", miss, np.linalg.solve(spread, miss.T).T) / wider
    size = len(spread)
    tails = (free + size) * np.log1p(distance / free)  # Student's, for the spread is estimated
    log: Floats = -0.5 * TRUST * (tails + size * np.log(wider) + np.linalg.slogdet(spread)[1])
    return log


def trials(seen: Seen, on_progress: ProgressCallback = no_progress) -> tuple[Floats, Floats]:
    """Press a sheet again by many hands.

    Parameters
    ----------
    seen : Seen
        The sheet, and how it was photographed.
    on_progress : callable
        Hears what part is done.

    Returns
    -------
    tuple of ndarray, shapes (TRIALS, 3) and (TRIALS, statistics)
        Values of the hands, spread evenly, and descriptions.
    """
    rng = np.random.default_rng(SEED)
    even = np.stack([rng.permutation(TRIALS) + rng.random(TRIALS) for _ in USUAL], axis=1) / TRIALS
    values = LOWEST + even * (HIGHEST - LOWEST)
    described = []
    for (drag, unevenness, log_factor), own in each(
        [*zip(values, rng.spawn(TRIALS), strict=True)], on_progress
    ):
        recipe = seen.recipe.with_folding(drag=float(drag), unevenness=float(unevenness))
        prepared = pressed(replace(recipe, reach_factor=float(np.exp(log_factor))), own)
        described.append(described_face(photographed(prepared, seen)))
    return values, np.array(described)


def described_face(xyz1: npt.NDArray[np.float32]) -> Floats:
    """Describe a face, of a square one both ways round: nobody knows how it was laid down."""
    rows, columns = xyz1.shape[:2]
    if abs(rows / columns - 1) > SQUARE:
        return describe(xyz1)
    both: Floats = (describe(xyz1) + describe(xyz1.swapaxes(0, 1))) / 2
    return both


def pressed(recipe: Recipe, rng: np.random.Generator) -> PreparedSheet:
    """Press a recipe once more: another first slab, other chances, the same hand."""
    pigments = palette(recipe.flakes, recipe.refractive_index)
    programme = draw_programme(recipe.folding, recipe.sheet, recipe.folding.folds, rng)
    deep = min(recipe.reach_factor * reach_mm(pigments, recipe.shares), recipe.sheet.thickness_mm)
    return PreparedSheet(recipe, lay_charge(recipe, rng, weighed=False), programme, pigments, deep)


def photographed(prepared: PreparedSheet, seen: Seen) -> npt.NDArray[np.float32]:
    """Look at the top face of a making as a photo was taken: its scale, its blur, its trimmed size."""
    folds = prepared.recipe.folding.folds
    sheet = Sheet(*prepared.programme.sizes_mm[folds])
    face = render(top_face(sheet, seen.px_per_mm), prepared, folds, SAMPLES).xyz1
    rows, columns = (min(n, most) for n, most in zip(seen.shape, face.shape[:2], strict=True))
    top, left = (face.shape[0] - rows) // 2, (face.shape[1] - columns) // 2
    return as_photographed(face[top : top + rows, left : left + columns], seen.blur_px)


def _grid() -> Floats:
    """Points of the grid, shape (points, 3)."""
    axes = (np.linspace(low, high, n) for low, high, n in zip(LOWEST, HIGHEST, STEPS, strict=True))
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)


def _terms(values: Floats) -> Floats:
    """Terms of a quadratic of the values, shape (rows, 10)."""
    z = (2 * values - LOWEST - HIGHEST) / (HIGHEST - LOWEST)
    pairs = [z[:, i] * z[:, j] for i in range(3) for j in range(i + 1)]
    terms: Floats = np.stack([np.ones(len(z)), *z.T, *pairs], axis=1)
    return terms


def _weights(log: Floats) -> Floats:
    """Weights summing to 1, from their logarithms."""
    weights: Floats = np.exp(log - log.max())
    weights /= weights.sum()
    return weights


def _expected(log: Floats, weights: Floats) -> float:
    """Logarithm of a likelihood averaged over the grid, from its logarithms."""
    return float(np.log(weights @ np.exp(log - log.max())) + log.max())


def _band(weights: Floats, axis: int) -> Range:
    """Mean of one value and its band, from the weights of the grid."""
    others = tuple(n for n in range(3) if n != axis)
    share = weights.reshape(STEPS).sum(axis=others)
    points = np.linspace(LOWEST[axis], HIGHEST[axis], STEPS[axis])
    step = points[1] - points[0]
    edges = np.concatenate([points - step / 2, points[-1:] + step / 2])
    low, high = np.interp(BAND, np.concatenate([[0.0], np.cumsum(share)]), edges)
    inside = np.clip([low, high], LOWEST[axis], HIGHEST[axis])
    return Range(float(inside[0]), float(share @ points), float(inside[1]))
