"""Fit flakes, shares and folds to a face, for one move."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..colour.pigment import palette
from ..recipe.flake import with_partners
from ..recipe.folding_moves import Folding
from ..recipe.recipe import MAX_FLAKES, Flake, Recipe
from ..runtime.progress import ProgressCallback, within
from .charge_shares import of_charge
from .face import Face
from .fold_count import REPLICATES, FoldCount, Pressing, infer, possible_counts, pressed_again
from .laid_charge import Alternative, Stirred, laid_otherwise
from .light_prior import WITH_PAPER, WITHOUT_PAPER
from .share_fit import Fit, Problem, fit_afresh, fit_alone, fit_few, fit_ladder, wave_means
from .surrogate_sheets import MAX_MATCHED_FOLDS, PressRange, programmes
from .texture_statistics import describe_all
from .unexplained_colours import MAX_NEW, new_flake, unexplained

Floats = npt.NDArray[np.float64]

MIN_SIMULATED = 0.03  # share of a flake; smaller ones are left out of replicates
WORTH_BLENDING = 4.0  # fall of the misfit from which a colour counts as a blend, not as one flake
WORTH_FITTING = 0.02  # probability from which a fold count has its say in the shares
SEED = 5


@dataclass(frozen=True, eq=False)
class Case:
    """A face, and what it may have been made from.

    Attributes
    ----------
    on_hand : tuple of Flake
        Flakes it may hold; new ones are added for colours that none of these explains.
    """

    face: Face
    on_hand: tuple[Flake, ...]
    move: str
    press: PressRange

    @property
    def colours(self) -> Floats:
        """Colours of the face that are not burnt out, shape (n, 3)."""
        return self.face.xyz1[self.face.clear].astype(np.float64)

    def problem(self, colours: Floats, flakes: tuple[Flake, ...]) -> Problem:
        """Return the problem of fitting the flakes' shares to some colours."""
        light = WITHOUT_PAPER if self.face.light.paper == "none" else WITH_PAPER
        pigments = palette(flakes, finish=self.face.sheet.finish)
        ground = self.face.light.ground_xyz1
        return Problem(wave_means(colours), pigments, self.face.sheet, self.move, light, self.press, ground)

    def recipe(self, flakes: Sequence[Flake], shares: Floats, least: float = 0.0) -> Recipe:
        """Return a recipe of 100 g of the flakes that have more than the least share."""
        used = [replace(f, grams=100 * float(s)) for f, s in zip(flakes, shares, strict=True) if s > least]
        mixed, factor = with_partners(used, flakes), self.press.reach_factor
        return Recipe("from a photo", self.face.sheet, mixed, Folding(self.move), reach_factor=factor)

    def pressing(self) -> Pressing:
        """Return how replicates are pressed at the photo's scale and blur."""
        straight = self.face.straight
        return Pressing(1 / straight.mm_per_px, straight.blur_mm / straight.mm_per_px, SEED, self.press)


@dataclass(frozen=True, eq=False)
class MoveFit:
    """Flakes, shares and folds fitted for one move.

    Attributes
    ----------
    flakes : tuple of Flake
        The flakes on hand, then new ones.
    listed : int
        How many of them were on hand.
    fit : Fit
        Shares to expect in the charge, the unknown fold count included.
    recipe : Recipe
        The recipe to draw, of 100 g.
    laid : tuple of Alternative
        Other ways to lay the charge that explain the face clearly better.
    """

    flakes: tuple[Flake, ...]
    listed: int
    fit: Fit
    folds: FoldCount
    recipe: Recipe
    laid: tuple[Alternative, ...] = ()


def fit_move(case: Case, on_progress: ProgressCallback) -> MoveFit:
    """Fit shares at every fold count, and weigh the counts by the marbling."""

    def at_every_count(problem: Problem) -> dict[int, Fit]:
        return dict(enumerate(fit_ladder(problem, MAX_MATCHED_FOLDS + 1, within(on_progress, 0.0, 0.5))))

    flakes, problem, ladder = _explained(case, case.colours, at_every_count)
    misfit = np.array([fit.misfit for fit in ladder.values()])
    counts = possible_counts(misfit)
    recipes = {folds: case.recipe(flakes, ladder[folds].shares, MIN_SIMULATED) for folds in counts}
    views = [[describe_all(view) for view in case.face.in_light(ladder[n].gains).views()] for n in counts]
    seen, misfit = np.array(views).swapaxes(0, 1), misfit[counts.start : counts.stop]
    simulated = pressed_again(case.pressing(), recipes, seen, misfit, within(on_progress, 0.5, 0.4))
    some = infer(simulated, seen, misfit)
    folds = some.among(counts, len(ladder))
    worth = [n for n in counts if folds.probability[n] > WORTH_FITTING]
    few = [fit_few(problem, n, ladder[n].shares, ladder[n].gains) for n in worth]
    fit = of_charge(few, folds.probability[worth], folds.strangeness)
    nearest = int(np.abs(simulated[some.best] - seen[0, some.best]).sum(axis=-1).argmin())
    folding, _ = programmes(case.face.sheet, case.move, REPLICATES, SEED, case.press)[nearest]
    recipe = replace(case.recipe(flakes, fit.shares), folding=replace(folding, folds=folds.best))
    stirred = Stirred(simulated, seen, misfit, some)
    tried, last = recipes[folds.best], within(on_progress, 0.9, 0.1)
    otherwise = laid_otherwise(stirred, tried, problem.means, case.pressing(), last)
    return MoveFit(flakes, len(case.on_hand), fit, folds, recipe, otherwise)


def fit_one_colour(case: Case) -> MoveFit:
    """Fit shares to a face of one colour, which says nothing about folds.

    One flake is taken where it explains the colour, else the fewest whose full blend does.
    """
    mean = case.colours.mean(axis=0)

    def alone_or_blended(problem: Problem) -> dict[int, Fit]:
        alone = fit_alone(problem, mean)
        start = fit_afresh(problem, MAX_MATCHED_FOLDS)
        blend = fit_few(problem, MAX_MATCHED_FOLDS, start.shares, start.gains)
        return {MAX_MATCHED_FOLDS: alone if alone.misfit < blend.misfit + WORTH_BLENDING else blend}

    flakes, _, ladder = _explained(case, mean[None], alone_or_blended)
    fit = ladder[MAX_MATCHED_FOLDS]
    drawn = MAX_MATCHED_FOLDS if np.count_nonzero(fit.shares) > 1 else 0
    folds = FoldCount.unknown(MAX_MATCHED_FOLDS + 1, drawn)
    recipe = case.recipe(flakes, fit.shares).with_folding(folds=drawn)
    return MoveFit(flakes, len(case.on_hand), fit, folds, recipe)


def _explained(
    case: Case, colours: Floats, fitted: Callable[[Problem], dict[int, Fit]]
) -> tuple[tuple[Flake, ...], Problem, dict[int, Fit]]:
    """Add new flakes until the best fit explains the colours."""
    flakes = case.on_hand
    while True:
        problem = case.problem(colours, flakes)
        fits = fitted(problem)
        best = min(fits, key=lambda folds: fits[folds].misfit)
        left = unexplained(colours, problem, best, fits[best])
        new = len(flakes) - len(case.on_hand)
        if not len(left) or new == MAX_NEW or len(flakes) == MAX_FLAKES:
            return flakes, problem, fits
        flakes = (*flakes, new_flake(left, new + 1, tuple(f.name for f in flakes)))
