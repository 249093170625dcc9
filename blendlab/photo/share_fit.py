"""Which flakes are in a sheet and how much of each, from the distribution of its local colours.

A recipe's stand-in sheets give the colours that its face would show at each fold count. Two distributions
are compared by the means of many waves over CIELAB, long ones and short ones (random features of a
Gaussian kernel: Rahimi & Recht 2007, from memory). At no folds those means are linear in the shares, later
they bend gently, so a few Gauss-Newton steps with shares kept above nothing find the best ones. What is
left of the cast and the exposure is fitted along, held near nothing where paper has shown it.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import nnls

from ..colour.pigment import Palette, light_of, reach_mm
from ..colour.spaces import lab_from_xyz1
from ..recipe.recipe import Sheet
from ..runtime.progress import ProgressCallback, each, no_progress
from .surrogate_sheets import ACROSS, stand_ins

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]

WAVES = 120
LENGTHS = (8.0, 18.0, 45.0)  # widths of the kernels, dE*ab
STEPS = 3
REACH_STEP = 1.2
NUDGE = 0.1  # of a share, for its slope: long, so that the luck of single flakes does not show
BRIGHTER = 0.03  # of a log gain, for its derivative
FEWEST = 0.03  # a smaller share is none
NOISE = 0.035  # of a wave's mean from sheet to sheet, beyond what stand-ins show
ALIKE = 3.0  # times that noise, for waves tell less than as many independent numbers
SUM = 30.0  # weight of "shares sum to 1"
SURE = 0.1  # spread of the exposure up to which one start finds it
AFRESH = 2  # folds after which a fit starts from even shares again
DROP = 0.7  # rise of misfit that a flake must be worth


def _waves() -> tuple[Floats, Floats, tuple[npt.NDArray[np.bool_], ...]]:
    """Wave vectors per dE*ab, shape (3, WAVES), phases, and which count at each stage of a fit.

    Long waves come first, for they bend least; the last stage counts all.
    """
    rng = np.random.default_rng(20)
    length = np.repeat(LENGTHS, -(-WAVES // len(LENGTHS)))[:WAVES]
    stages = tuple(np.greater_equal(length, least) for least in sorted(LENGTHS, reverse=True))
    return rng.standard_normal((3, WAVES)) / length, rng.uniform(0, 2 * np.pi, WAVES), stages


_VECTORS, _PHASES, _STAGES = _waves()


def wave_means(xyz1: npt.ArrayLike) -> Floats:
    """Describe distributions of colours.

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
        One standard deviation of each, from sheet to sheet.
    gains : ndarray, shape (3,)
        Logarithm by which the photo's X, Y, Z exceed the flakes'.
    misfit : float
        Half the sum of squares; differences count like log likelihoods.
    """

    shares: Floats
    spread: Floats
    gains: Floats
    misfit: float


@dataclass(frozen=True, eq=False)
class Problem:
    """A photo's colours and the flakes that may explain them.

    Attributes
    ----------
    means : ndarray, shape (WAVES,)
        Description of the photo's local colours.
    palette : Palette
        The flakes.
    sheet : Sheet
        The slab.
    move : str
        How it was folded.
    gain_spread : ndarray, shape (2,)
        How far exposure and cast may be off: spreads of the log, of what X, Y, Z share and of the rest.
    """

    means: Floats
    palette: Palette
    sheet: Sheet
    move: str
    gain_spread: tuple[float, float]

    def reach_mm(self, shares: Floats) -> float:
        """How deep light goes, in coarse steps so that stand-ins can be used again."""
        return float(REACH_STEP ** round(np.log(reach_mm(self.palette, shares)) / np.log(REACH_STEP)))

    def colours(self, folds: int, shares: Floats, gains: Floats, reach: float) -> Floats:
        """Local colours of the stand-ins, shape (sheets, pixels, 3)."""
        paths = stand_ins(self.sheet, self.move, reach, folds).compositions(shares)
        light = light_of(paths.reshape(-1, paths.shape[-1]), self.palette)
        pixels = light.reshape(*paths.shape[:2], ACROSS, 3).mean(axis=2, dtype=np.float64)
        coloured: Floats = pixels * np.exp(gains)
        return coloured

    def sheets(self, folds: int, shares: Floats, gains: Floats, reach: float) -> Floats:
        """Description of every stand-in sheet, shape (sheets, WAVES)."""
        return wave_means(self.colours(folds, shares, gains, reach))


def _gain_rows(spread: tuple[float, float]) -> Floats:
    """Rows that hold log gains of X, Y, Z near 0: their mean, then their differences."""
    together = np.full((1, 3), 1 / 3) / spread[0]
    apart = (np.eye(3) - 1 / 3) / spread[1]
    return np.concatenate([together, apart])


def fit(problem: Problem, folds: int, start: Floats, gains: Floats) -> Fit:
    """Fit shares at one fold count.

    Parameters
    ----------
    problem : Problem
        The photo's colours and the flakes.
    folds : int
        Fold count taken for true.
    start : ndarray, shape (kinds,)
        Shares to start from; sorts of share 0 stay out.
    gains : ndarray, shape (3,)
        Log gains to start from.

    Returns
    -------
    Fit
        The best shares of the sorts that were let in.
    """
    used = np.flatnonzero(start > 0)
    held = _gain_rows(problem.gain_spread)
    here = _look(problem, folds, start / start.sum(), gains, held)
    slopes = _slopes(problem, folds, here, used)
    for counted in _STAGES:
        for _ in range(STEPS):
            step = _step(slopes[counted], here.miss[counted], here.gains, used, len(start), held)
            nearer = _nearer(problem, folds, here, step, held, counted)
            if nearer is None:
                break
            here = nearer
            slopes = _slopes(problem, folds, here, used)
    spread = np.zeros(len(start))
    spread[used] = _spread(slopes, here.sheets / here.noise, len(used), held)
    return Fit(here.shares, spread, here.gains, here.misfit(_STAGES[-1]))


@dataclass(frozen=True, eq=False)
class _Look:
    """What trial shares and gains come to."""

    shares: Floats
    gains: Floats
    reach_mm: float
    sheets: Floats
    noise: Floats
    miss: Floats
    stray: float

    def misfit(self, counted: npt.NDArray[np.bool_]) -> float:
        """Half the sum of squares of the waves that count."""
        miss = self.miss[counted]
        return 0.5 * (float(miss @ miss) + self.stray)


def _look(problem: Problem, folds: int, shares: Floats, gains: Floats, held: Floats) -> _Look:
    """Compare trial shares and gains with the photo."""
    reach = problem.reach_mm(shares)
    sheets = problem.sheets(folds, shares, gains, reach)
    noise = ALIKE * np.sqrt(NOISE**2 + sheets.var(axis=0, ddof=1))
    miss = (problem.means - sheets.mean(axis=0)) / noise
    return _Look(shares, gains, reach, sheets, noise, miss, float(((held @ gains) ** 2).sum()))


def _nearer(
    problem: Problem,
    folds: int,
    here: _Look,
    to: tuple[Floats, Floats],
    held: Floats,
    counted: npt.NDArray[np.bool_],
) -> _Look | None:
    """Go as far of a step as brings the waves nearer that count, None where nothing does."""
    for part in (1.0, 0.5, 0.25, 0.1):
        shares = here.shares + part * (to[0] - here.shares)
        gains = here.gains + part * (to[1] - here.gains)
        there = _look(problem, folds, shares, gains, held)
        if there.misfit(counted) < here.misfit(counted):
            return there
    return None


def _slopes(problem: Problem, folds: int, here: _Look, used: npt.NDArray[np.intp]) -> Floats:
    """Derivative of the description, in its noise, by each share (the rest giving way) and each gain."""
    centre, columns = here.sheets.mean(axis=0), []
    for sort in used:
        more = here.shares * (1 - NUDGE)
        more[sort] += NUDGE
        moved = problem.sheets(folds, more, here.gains, here.reach_mm)
        columns.append((moved.mean(axis=0) - centre) / NUDGE)
    for axis in range(3):
        brighter = here.gains.copy()
        brighter[axis] += BRIGHTER
        moved = problem.sheets(folds, here.shares, brighter, here.reach_mm)
        columns.append((moved.mean(axis=0) - centre) / BRIGHTER)
    return np.stack(columns, axis=-1) / here.noise[:, None]


def _step(
    slopes: Floats, miss: Floats, gains: Floats, used: npt.NDArray[np.intp], kinds: int, held: Floats
) -> tuple[Floats, Floats]:
    """One Gauss-Newton step: shares at least 0 and summing to 1, gains free but held.

    Slopes are along e_i - s with the old shares s. New shares n that sum to 1 move the description by the
    sum of n_i times these, since the sum of n_i (e_i - s) is n - s: so the new shares themselves are the
    unknowns.
    """
    n = len(used)
    zeros = np.zeros(len(held))
    free = np.concatenate([slopes[:, n:], np.zeros((1, 3)), held])
    shares = np.concatenate([slopes[:, :n], np.full((1, n), SUM), np.zeros((len(held), n))])
    right = np.concatenate([miss + slopes[:, n:] @ gains, [SUM], zeros])
    matrix = np.concatenate([shares, free, -free], axis=1)  # free numbers: differences of two kept >= 0
    found = nnls(matrix, right, maxiter=50 * matrix.shape[1])[0]
    new = np.zeros(kinds)
    new[used] = found[:n] + 1e-6
    return new / new.sum(), np.clip(found[n : n + 3] - found[n + 3 :], -1.5, 1.5)


def _spread(slopes: Floats, sheets: Floats, n: int, held: Floats) -> Floats:
    """Spread of the fitted shares when one sheet of many is what was photographed."""
    rows = np.concatenate([np.zeros((len(held), n)), held], axis=1)
    total = np.concatenate([np.full((1, n), SUM), np.zeros((1, 3))], axis=1)
    inverse = np.linalg.pinv(np.concatenate([slopes, rows, total]))[:, : len(slopes)]
    strayed = (sheets - sheets.mean(axis=0)) @ inverse.T
    return np.asarray(np.sqrt((strayed[:, :n] ** 2).sum(axis=0) / (len(sheets) - 1)))


def fit_ladder(problem: Problem, counts: int, on_progress: ProgressCallback = no_progress) -> list[Fit]:
    """Fit shares of all flakes at 0, 1, 2 … folds, each count starting from the one before it, too.

    Parameters
    ----------
    problem : Problem
        The photo's colours and the flakes.
    counts : int
        How many fold counts.
    on_progress : callable
        Hears what part is done.

    Returns
    -------
    list of Fit
        One for each count.
    """
    kinds = len(problem.palette.names)
    even = np.full(kinds, 1 / kinds)
    unsure = problem.gain_spread[0] > SURE
    exposures = problem.gain_spread[0] * np.array([-1.0, -0.4, 0.2, 0.8, 1.4] if unsure else [0.0])
    found: list[Fit] = []
    for folds in each(range(counts), on_progress):
        tried = []
        if found:
            tried.append(fit(problem, folds, np.maximum(found[-1].shares, FEWEST), found[-1].gains))
        if folds % AFRESH == 0:
            tried += [fit(problem, folds, even, np.full(3, exposure)) for exposure in exposures]
        found.append(min(tried, key=lambda one: one.misfit))
    return found


def fit_few(problem: Problem, folds: int, start: Floats, gains: Floats) -> Fit:
    """Fit shares at one fold count, leaving out every flake that is not worth having.

    Parameters
    ----------
    problem, folds, start, gains
        As for `fit`.

    Returns
    -------
    Fit
        Shares of the fewest flakes that explain the colours about as well as all do.
    """
    best = fit(problem, folds, start, gains)
    while np.count_nonzero(best.shares) > 1:
        present = np.flatnonzero(best.shares)
        smallest = present[np.argsort(best.shares[present])[:2]]
        tried = []
        for sort in smallest:
            fewer = best.shares.copy()
            fewer[sort] = 0
            tried.append(fit(problem, folds, fewer, best.gains))
        simpler = min(tried, key=lambda one: one.misfit)
        least = best.shares[present].min()
        if simpler.misfit - best.misfit > DROP and least >= FEWEST:
            return best
        best = simpler
    return best
