"""Fit which flakes are in a sheet, and how much of each, to the distribution of its local colours.

Surrogate sheets give the colours that a recipe's face would show at each fold count. Two distributions are
compared by the means of many cosine waves over CIELAB (random features of Gaussian kernels of several widths:
Rahimi & Recht 2007, from memory). Without folds those means are linear in the shares, with folds nearly so;
a few Gauss-Newton steps with non-negative shares find the optimum. The remaining cast and exposure are fitted
too, with a tight prior where paper has shown the light.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import nnls

from ..colour.pigment import Palette, light_depth_mm, light_of
from ..colour.spaces import lab_from_xyz1
from ..recipe.recipe import Sheet
from ..runtime.progress import ProgressCallback, each, no_progress
from .light_prior import LightPrior, Spread, light_prior
from .surrogate_sheets import ACROSS, ANY_PRESS, PressRange, surrogates

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]

WAVES = 120
KERNEL_WIDTHS = (8.0, 18.0, 45.0)  # dE*ab
STEPS = 3
REACH_STEP = 1.2
SHARE_STEP = 0.1  # for slopes; long, so that the chance of single flakes averages out
GAIN_STEP = 0.03  # of a log gain, for slopes
MIN_SHARE = 0.03  # a smaller share counts as none
NOISE = 0.035  # of a wave's mean from sheet to sheet, beyond that of the surrogates
CORRELATION = 3.0  # factor on the noise, as the waves are not independent
SUM_WEIGHT = 30.0  # of the equation that shares sum to 1
MAX_LIGHT_MISFIT = 9.0  # of a flake's colour by the light alone, in squared standard deviations
KNOWN_EXPOSURE = 0.1  # spread of the log exposure up to which one starting point suffices
RESTART = 2  # folds after which a fit starts from even shares again
MIN_GAIN = 0.7  # fall of the misfit that keeps a flake in


def _waves() -> tuple[Floats, Floats, tuple[npt.NDArray[np.bool_], ...]]:
    """Draw wave vectors per dE*ab, shape (3, WAVES), phases, and the waves used at each stage of a fit.

    Long waves come first, as they are most nearly linear; the last stage uses all.
    """
    rng = np.random.default_rng(20)
    length = np.repeat(KERNEL_WIDTHS, -(-WAVES // len(KERNEL_WIDTHS)))[:WAVES]
    stages = tuple(np.greater_equal(length, least) for least in sorted(KERNEL_WIDTHS, reverse=True))
    return rng.standard_normal((3, WAVES)) / length, rng.uniform(0, 2 * np.pi, WAVES), stages


_VECTORS, _PHASES, _STAGES = _waves()


def wave_means(xyz1: npt.ArrayLike) -> Floats:
    """Describe distributions of colours by the means of waves.

    Parameters
    ----------
    xyz1 : array_like, shape (..., n, 3)
        Colours, Y of white = 1.

    Returns
    -------
    ndarray of float64, shape (..., WAVES)
        Mean of each wave over the n colours, scaled so that the squared distance of two descriptions is
        about the kernel's squared distance of the distributions times WAVES.
    """
    lab = lab_from_xyz1(np.maximum(np.asarray(xyz1), 0.0))
    phase = lab.astype(np.float32) @ _VECTORS.astype(np.float32) + _PHASES.astype(np.float32)
    means: Floats = np.cos(phase).mean(axis=-2, dtype=np.float64) * np.sqrt(2)
    return means


@dataclass(frozen=True, eq=False)
class Fit:
    """Shares fitted at one fold count.

    Attributes
    ----------
    shares : ndarray, shape (kinds,)
        Summing to 1.
    spread : ndarray, shape (kinds,)
        Standard deviation of each, from sheet to sheet.
    gains : ndarray, shape (3,)
        Logarithm by which the photo's X, Y, Z exceed the flakes'.
    gain_covariance : ndarray, shape (3, 3)
        How uncertain the gains are.
    misfit : float
        Half the sum of squares; its differences act as differences of log likelihood.
    """

    shares: Floats
    spread: Floats
    gains: Floats
    gain_covariance: Floats
    misfit: float


@dataclass(frozen=True, eq=False)
class Problem:
    """A photo's colours and the flakes that may explain them.

    Attributes
    ----------
    means : ndarray, shape (WAVES,)
        Description of the photo's local colours.
    gain_spread : tuple of float
        Standard deviations of the log gains: of the exposure, of a cast between daylight and lamplight, and
        of one between magenta and green.
    ground_xyz1 : ndarray, shape (3,), optional
        What the sheet lies on, in the photo's light.
    """

    means: Floats
    palette: Palette
    sheet: Sheet
    move: str
    gain_spread: Spread
    press: PressRange = ANY_PRESS
    ground_xyz1: Floats | None = None

    def light_depth_mm(self, shares: Floats) -> float:
        """Return how deep light reaches, in coarse steps so that surrogate sheets can be reused."""
        depth = self.press.reach_factor * light_depth_mm(self.palette, shares)
        return float(REACH_STEP ** round(np.log(depth) / np.log(REACH_STEP)))

    def colours(self, folds: int, shares: Floats, gains: Floats, reach: float) -> Floats:
        """Return local colours of the surrogates, shape (sheets, pixels, 3)."""
        paths = surrogates(self.sheet, self.move, reach, folds, press=self.press).compositions(shares)
        light = light_of(paths.reshape(-1, paths.shape[-1]), self.palette)
        pixels = light.reshape(*paths.shape[:2], ACROSS, 3).mean(axis=2, dtype=np.float64)
        coloured: Floats = pixels * np.exp(gains)
        return coloured

    def sheets(self, folds: int, shares: Floats, gains: Floats, reach: float) -> Floats:
        """Describe every surrogate sheet, shape (sheets, WAVES)."""
        return wave_means(self.colours(folds, shares, gains, reach))


def fit(problem: Problem, folds: int, start: Floats, gains: Floats) -> Fit:
    """Fit shares at one fold count.

    Parameters
    ----------
    start : ndarray, shape (kinds,)
        Shares to start from; kinds of share 0 stay out.
    gains : ndarray, shape (3,)
        Log gains to start from.
    """
    used = np.flatnonzero(start > 0)
    held = light_prior(problem.gain_spread, problem.ground_xyz1)
    here = _compare(problem, folds, start / start.sum(), gains, held)
    slopes = _slopes(problem, folds, here, used)
    for counted in _STAGES:
        for _ in range(STEPS):
            step = _step(slopes[counted], here.miss[counted], here.gains, used, len(start), held)
            nearer = _line_search(problem, folds, here, step, held, counted)
            if nearer is None:
                break
            here = nearer
            slopes = _slopes(problem, folds, here, used)
    spread = np.zeros(len(start))
    inverse = _inverse(slopes, len(used), held)
    spread[used] = _spread(inverse, here.sheets / here.noise, len(used))
    unsure = inverse[len(used) :] @ inverse[len(used) :].T
    return Fit(here.shares, spread, here.gains, unsure, here.misfit(_STAGES[-1]))


@dataclass(frozen=True, eq=False)
class _Trial:
    """Trial shares and gains, and how they compare with the photo."""

    shares: Floats
    gains: Floats
    light_depth_mm: float
    sheets: Floats
    noise: Floats
    miss: Floats
    prior: float

    def misfit(self, counted: npt.NDArray[np.bool_]) -> float:
        """Return half the sum of squares over the waves used."""
        miss = self.miss[counted]
        return 0.5 * (float(miss @ miss) + self.prior)


def _compare(problem: Problem, folds: int, shares: Floats, gains: Floats, held: LightPrior) -> _Trial:
    """Compare trial shares and gains with the photo."""
    reach = problem.light_depth_mm(shares)
    sheets = problem.sheets(folds, shares, gains, reach)
    noise = CORRELATION * np.sqrt(NOISE**2 + sheets.var(axis=0, ddof=1))
    miss = (problem.means - sheets.mean(axis=0)) / noise
    return _Trial(shares, gains, reach, sheets, noise, miss, float((held.misses(gains) ** 2).sum()))


def _line_search(
    problem: Problem,
    folds: int,
    here: _Trial,
    to: tuple[Floats, Floats],
    held: LightPrior,
    counted: npt.NDArray[np.bool_],
) -> _Trial | None:
    """Return the longest part of a step that reduces the misfit, or None if none does."""
    for part in (1.0, 0.5, 0.25, 0.1):
        shares = here.shares + part * (to[0] - here.shares)
        gains = here.gains + part * (to[1] - here.gains)
        there = _compare(problem, folds, shares, gains, held)
        if there.misfit(counted) < here.misfit(counted):
            return there
    return None


def _slopes(problem: Problem, folds: int, here: _Trial, used: npt.NDArray[np.intp]) -> Floats:
    """Return slopes of the description, over its noise, by each share (the others scaled down) and gain.

    Weighed by the shares, slopes along e_i - s must sum to 0, as the shares then stay. Over long steps the
    description is curved, so what they sum to is taken off; else a fit stops short of its optimum.
    """
    centre, columns = here.sheets.mean(axis=0), []
    for kind in used:
        more = here.shares * (1 - SHARE_STEP)
        more[kind] += SHARE_STEP
        moved = problem.sheets(folds, more, here.gains, here.light_depth_mm)
        columns.append((moved.mean(axis=0) - centre) / SHARE_STEP)
    curved = here.shares[used] @ np.array(columns)
    columns = [column - curved for column in columns]
    for axis in range(3):
        brighter = here.gains.copy()
        brighter[axis] += GAIN_STEP
        moved = problem.sheets(folds, here.shares, brighter, here.light_depth_mm)
        columns.append((moved.mean(axis=0) - centre) / GAIN_STEP)
    return np.stack(columns, axis=-1) / here.noise[:, None]


def _step(
    slopes: Floats, miss: Floats, gains: Floats, used: npt.NDArray[np.intp], kinds: int, held: LightPrior
) -> tuple[Floats, Floats]:
    """Take one Gauss-Newton step: shares non-negative and summing to 1, gains under their prior.

    Slopes are along e_i - s with the old shares s. As the sum of n_i (e_i - s) is n - s for new shares n
    that sum to 1, the new shares themselves are the unknowns.
    """
    n = len(used)
    free = np.concatenate([slopes[:, n:], np.zeros((1, 3)), held.rows])
    shares = np.concatenate([slopes[:, :n], np.full((1, n), SUM_WEIGHT), np.zeros((len(held.rows), n))])
    right = np.concatenate([miss + slopes[:, n:] @ gains, [SUM_WEIGHT], held.aims])
    # A free number is the difference of two that are >= 0.
    matrix = np.concatenate([shares, free, -free], axis=1)
    found = nnls(matrix, right, maxiter=50 * matrix.shape[1])[0]
    new = np.zeros(kinds)
    new[used] = found[:n] + 1e-6
    return new / new.sum(), np.clip(found[n : n + 3] - found[n + 3 :], -1.5, 1.5)


def _inverse(slopes: Floats, n: int, held: LightPrior) -> Floats:
    """Return what a standard deviation of each equation does to n shares and the gains."""
    rows = np.concatenate([np.zeros((len(held.rows), n)), held.rows], axis=1)
    total = np.concatenate([np.full((1, n), SUM_WEIGHT), np.zeros((1, 3))], axis=1)
    return np.asarray(np.linalg.pinv(np.concatenate([slopes, rows, total])))


def _spread(inverse: Floats, sheets: Floats, n: int) -> Floats:
    """Return the spread of n fitted shares from sheet to sheet."""
    deviations = (sheets - sheets.mean(axis=0)) @ inverse[:, : sheets.shape[1]].T
    return np.asarray(np.sqrt((deviations[:, :n] ** 2).sum(axis=0) / (len(sheets) - 1)))


def fit_ladder(problem: Problem, counts: int, on_progress: ProgressCallback = no_progress) -> list[Fit]:
    """Fit shares of all flakes at 0, 1, 2 … folds; each count also starts from the one before."""
    found: list[Fit] = []
    for folds in each(range(counts), on_progress):
        tried = []
        if found:
            tried.append(fit(problem, folds, np.maximum(found[-1].shares, MIN_SHARE), found[-1].gains))
        if folds % RESTART == 0:
            tried.append(fit_afresh(problem, folds))
        found.append(min(tried, key=lambda one: one.misfit))
    return found


def fit_afresh(problem: Problem, folds: int) -> Fit:
    """Fit shares at one fold count from even shares, and from several exposures where it is unknown."""
    kinds = len(problem.palette.names)
    known = problem.gain_spread[0] <= KNOWN_EXPOSURE
    exposures = problem.gain_spread[0] * np.array([0.0] if known else [-1.0, -0.4, 0.2, 0.8, 1.4])
    tried = [fit(problem, folds, np.full(kinds, 1 / kinds), np.full(3, exposure)) for exposure in exposures]
    return min(tried, key=lambda one: one.misfit)


def fit_alone(problem: Problem, mean_xyz1: Floats) -> Fit:
    """Fit one flake alone, in the light that turns its colour into the photo's mean."""
    tried = []
    for shares in np.eye(len(problem.palette.names)):
        pure = problem.colours(0, shares, np.zeros(3), problem.light_depth_mm(shares)).mean(axis=(0, 1))
        gains = np.clip(np.log(np.maximum(mean_xyz1, 1e-4) / pure), -1.5, 1.5)
        held = light_prior(problem.gain_spread, problem.ground_xyz1)
        likely = float((held.misses(gains) ** 2).sum()) < MAX_LIGHT_MISFIT
        tried.append(fit(problem, 0, shares, gains if likely else np.zeros(3)))
    return min(tried, key=lambda one: one.misfit)


def fit_few(problem: Problem, folds: int, start: Floats, gains: Floats) -> Fit:
    """Fit shares at one fold count, leaving out every flake that hardly improves the fit."""
    best = fit(problem, folds, start, gains)
    while np.count_nonzero(best.shares) > 1:
        present = np.flatnonzero(best.shares)
        smallest = present[np.argsort(best.shares[present])[:2]]
        tried = []
        for kind in smallest:
            fewer = best.shares.copy()
            fewer[kind] = 0
            tried.append(fit(problem, folds, fewer, best.gains))
        simpler = min(tried, key=lambda one: one.misfit)
        least = best.shares[present].min()
        if simpler.misfit - best.misfit > MIN_GAIN and least >= MIN_SHARE:
            return best
        best = simpler
    return best
