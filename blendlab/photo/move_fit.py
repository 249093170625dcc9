"""Fit flakes, shares and folds to a face, for one move."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..colour.pigment import palette
from ..recipe.flake import with_partners
from ..recipe.folding_moves import Folding
from ..recipe.recipe import MAX_FLAKES, Flake, Recipe, Sheet
from ..runtime.progress import ProgressCallback, within
from .face import Face
from .fold_count import REPLICATES, FoldCount, infer, possible_counts, pressed_again
from .share_fit import Fit, Problem, fit_afresh, fit_alone, fit_few, fit_ladder, wave_means
from .surrogate_sheets import MAX_MATCHED_FOLDS, programmes
from .texture_statistics import describe
from .unexplained_colours import MAX_NEW, new_flake, unexplained

Floats = npt.NDArray[np.float64]

MIN_SIMULATED = 0.03  # share of a flake; smaller ones are left out of replicates
# Standard deviations of log exposure and cast, with white paper and without.
LIGHT_WITH_PAPER, LIGHT_WITHOUT_PAPER = (0.05, 0.03), (0.35, 0.12)
WORTH_BLENDING = 4.0  # fall of the misfit for which a colour is taken for a blend and not one flake
SEED = 5


@dataclass(frozen=True, eq=False)
class MoveFit:
    """Flakes, shares and folds fitted for one move.

    Attributes
    ----------
    flakes : tuple of Flake
        The flakes on hand, and new ones after them.
    listed : int
        How many of them were on hand.
    fit : Fit
        Shares at the most likely fold count.
    spread : ndarray, shape (kinds,)
        Standard deviation of each share, the unknown fold count included.
    folds : FoldCount
        Probability of each fold count.
    recipe : Recipe
        The recipe to draw, of 100 g.
    """

    flakes: tuple[Flake, ...]
    listed: int
    fit: Fit
    spread: Floats
    folds: FoldCount
    recipe: Recipe


def fit_move(face: Face, on_hand: tuple[Flake, ...], move: str, on_progress: ProgressCallback) -> MoveFit:
    """Fit shares at every fold count, and weigh the counts by the marbling.

    Parameters
    ----------
    face : Face
        The photographed face.
    on_hand : tuple of Flake
        Flakes it may hold; colours that none of them explains add new ones.
    move : str
        How it was folded.
    on_progress : callable
        Called with the part done, 0-1.

    Returns
    -------
    MoveFit
        The best fit.
    """

    def at_every_count(problem: Problem) -> dict[int, Fit]:
        return dict(enumerate(fit_ladder(problem, MAX_MATCHED_FOLDS + 1, within(on_progress, 0.0, 0.5))))

    flakes, problem, by_count = _explained(face, _colours(face), on_hand, move, at_every_count)
    ladder = [*by_count.values()]
    misfit = np.array([fit.misfit for fit in ladder])
    counts = possible_counts(misfit)
    recipes = {n: _recipe(face.sheet, flakes, ladder[n].shares, MIN_SIMULATED, move) for n in counts}
    scale = face.straight.mm_per_px
    simulated = pressed_again(
        recipes, 1 / scale, face.straight.blur_mm / scale, SEED, within(on_progress, 0.5, 0.5)
    )
    seen = np.array([[describe(view) for view in face.in_light(ladder[n].gains).views()] for n in counts])
    folds = infer(simulated, seen.swapaxes(0, 1), misfit[counts.start : counts.stop]).among(
        counts, len(ladder)
    )
    best = ladder[folds.best]
    fit = fit_few(problem, folds.best, best.shares, best.gains)
    between_counts = np.sqrt(
        folds.probability @ (np.array([one.shares for one in ladder]) - best.shares) ** 2
    )
    at = counts.index(folds.best)
    nearest = int(np.abs(simulated[:, at] - seen[at, 0]).sum(axis=-1).argmin())
    folding = replace(programmes(face.sheet, move, REPLICATES, SEED)[nearest][0], folds=folds.best)
    recipe = replace(_recipe(face.sheet, flakes, fit.shares, 0.0, move), folding=folding)
    return MoveFit(flakes, len(on_hand), fit, np.hypot(fit.spread, between_counts), folds, recipe)


def fit_one_colour(face: Face, on_hand: tuple[Flake, ...], move: str) -> MoveFit:
    """Fit shares to a face of one colour, which says nothing about folds.

    One flake is taken where it explains the colour, else the fewest whose full blend does.
    """
    mean = _colours(face).mean(axis=0)

    def alone_or_blended(problem: Problem) -> dict[int, Fit]:
        alone = fit_alone(problem, mean)
        start = fit_afresh(problem, MAX_MATCHED_FOLDS)
        blend = fit_few(problem, MAX_MATCHED_FOLDS, start.shares, start.gains)
        return {MAX_MATCHED_FOLDS: alone if alone.misfit < blend.misfit + WORTH_BLENDING else blend}

    flakes, _, by_count = _explained(face, mean[None], on_hand, move, alone_or_blended)
    fit = by_count[MAX_MATCHED_FOLDS]
    likeliest = MAX_MATCHED_FOLDS if np.count_nonzero(fit.shares) > 1 else 0
    folds = FoldCount.unknown(MAX_MATCHED_FOLDS + 1, likeliest)
    recipe = _recipe(face.sheet, flakes, fit.shares, 0.0, move).with_folding(folds=folds.best)
    return MoveFit(flakes, len(on_hand), fit, fit.spread, folds, recipe)


def _colours(face: Face) -> Floats:
    """Return the colours of a face that are not burnt out, shape (n, 3)."""
    return face.xyz1[face.clear].astype(np.float64)


def _explained(
    face: Face,
    colours: Floats,
    on_hand: tuple[Flake, ...],
    move: str,
    fitted: Callable[[Problem], dict[int, Fit]],
) -> tuple[tuple[Flake, ...], Problem, dict[int, Fit]]:
    """Add new flakes until the best fit explains the colours of a face."""
    light = LIGHT_WITHOUT_PAPER if face.light.paper == "none" else LIGHT_WITH_PAPER
    flakes = on_hand
    while True:
        problem = Problem(
            wave_means(colours), palette(flakes, finish=face.sheet.finish), face.sheet, move, light
        )
        fits = fitted(problem)
        best = min(fits, key=lambda folds: fits[folds].misfit)
        left = unexplained(colours, problem, best, fits[best])
        if not len(left) or len(flakes) in (len(on_hand) + MAX_NEW, MAX_FLAKES):
            return flakes, problem, fits
        flakes = (*flakes, new_flake(left, len(flakes) - len(on_hand) + 1, tuple(f.name for f in flakes)))


def _recipe(sheet: Sheet, flakes: Sequence[Flake], shares: Floats, least: float, move: str) -> Recipe:
    """Make a recipe of 100 g of the flakes that have more than the least share."""
    used = [replace(f, grams=100 * float(s)) for f, s in zip(flakes, shares, strict=True) if s > least]
    return Recipe("from a photo", sheet, with_partners(used, flakes), Folding(move))
