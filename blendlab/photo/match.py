"""Match a photo of a past sheet: which flakes, how much of each, how many folds, and how sure.

The photo is made straight and put into even daylight; shares are fitted to its local colours for every fold
count; sheets of each fitted recipe are pressed again and compared with the photo's marbling, which gives
the fold count a probability; the shares of the likeliest count make the recipe.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter

from .. import checks
from ..colour.difference import delta_e00
from ..colour.pigment import palette
from ..colour.spaces import Colour, lab_from_xyz1
from ..look.contrast import contrast
from ..look.prepared_sheet import prepare
from ..look.render import render
from ..look.surfaces import top_face
from ..recipe.recipe import MAX_FLAKES, Flake, Recipe, Sheet
from ..runtime.progress import ProgressCallback, no_progress, within
from . import advice
from .answer import Match, Part
from .face import Face, refuse_look, take_face
from .fold_count import HANDS, FoldCount, infer, pressed_again
from .light import Box
from .share_fit import Fit, Problem, fit_few, fit_ladder, wave_means
from .surrogate_sheets import MAX_FOLDS, hands
from .texture_statistics import describe
from .unexplained_colours import MOST, new_flake, unexplained

Floats = npt.NDArray[np.float64]

SHOWN_FLAKE = 0.03  # of the sheet: flakes below are left out of trial pressings
SURE_LIGHT = (0.05, 0.03)  # spread of the log exposure and cast that paper leaves
UNSURE_LIGHT = (0.35, 0.12)  # and that no paper leaves
# Spreads in an 80 % band: 1.28 if all were known; 1.65 held 83 % of the shares in photo_proof.py.
BAND = 1.65
# Of 154 invented sheets one came out at 7, the others at 5 or less; photos of bricks or of an eye at 9 to 11.
STRANGE = 8.0
CURVE_MM = (1.0, 2.0, 4.0, 8.0, 16.0)
SEED = 5


def match(
    srgb8: npt.NDArray[np.uint8],
    flakes: Sequence[Flake],
    size_mm: tuple[float, float],
    *,
    thickness_mm: float = 6.0,
    corners_px: npt.ArrayLike | None = None,
    white_px: Box | None = None,
    moves: Sequence[str] = ("half",),
    on_progress: ProgressCallback = no_progress,
) -> Match:
    """Find the recipe of a photographed sheet.

    Parameters
    ----------
    srgb8 : ndarray of uint8, shape (rows, columns, 3)
        The photo, sRGB, as from `files.read_photo`.
    flakes : sequence of Flake
        Those on hand, one to `MAX_FLAKES`; their grams do not matter.
    size_mm : tuple of float
        The sheet's sides along the upper edge and down, mm.
    thickness_mm : float
        Its thickness, mm.
    corners_px : array_like, shape (4, 2), optional
        Upper left, upper right, lower right, lower left, in photo pixels; found where None.
    white_px : tuple of float, optional
        A box on white paper: x, y, width, height in photo pixels; looked for where None.
    moves : sequence of str
        Ways of folding to consider.
    on_progress : callable
        Hears what part is done.

    Returns
    -------
    Match
        Same photo and settings, same answer.

    Raises
    ------
    InputError
        Where a value breaks its rule, no sheet is found, or the photo shows no marbled plastic.
    """
    checks.whole("the number of flakes on hand", len(flakes), 1, MAX_FLAKES, "list the flakes you would use")
    face = take_face(srgb8, size_mm, thickness_mm, corners_px, white_px)
    part = 1 / max(len(moves), 1)
    tried = [
        _with_move(face, tuple(flakes), move, within(on_progress, n * part, part))
        for n, move in enumerate(moves)
    ]
    evidence = np.array([answer.folds.evidence for answer in tried])
    weights = np.exp(evidence - evidence.max())
    answer = tried[int(weights.argmax())]
    if answer.folds.strangeness > STRANGE:
        much = f"its pattern is {answer.folds.strangeness:.0f} times as far from any fold count as a sheet's"
        refuse_look(much)
    return _told(face, answer, dict(zip(moves, (weights / weights.sum()).tolist(), strict=True)))


@dataclass(frozen=True, eq=False)
class _Answer:
    """Shares and folds for one move."""

    flakes: tuple[Flake, ...]
    listed: int
    fit: Fit
    spread: Floats
    folds: FoldCount
    recipe: Recipe


def _with_move(face: Face, flakes: tuple[Flake, ...], move: str, on_progress: ProgressCallback) -> _Answer:
    """Fit shares and folds for one way of folding."""
    colours = face.xyz1[face.clear].astype(np.float64)
    light = UNSURE_LIGHT if face.light.paper == "none" else SURE_LIGHT
    listed = len(flakes)
    while True:
        problem = Problem(wave_means(colours), palette(flakes), face.sheet, move, light)
        ladder = fit_ladder(problem, MAX_FOLDS + 1, within(on_progress, 0.0, 0.5))
        nearest = min(range(len(ladder)), key=lambda folds: ladder[folds].misfit)
        left = unexplained(colours, problem, nearest, ladder[nearest])
        if not len(left) or len(flakes) in (listed + MOST, MAX_FLAKES):
            break
        flakes = (*flakes, new_flake(left, len(flakes) - listed + 1, tuple(f.name for f in flakes)))
    recipes = [_recipe(face.sheet, flakes, fit.shares, SHOWN_FLAKE, move) for fit in ladder]
    scale = face.straight.mm_per_px
    simulated = pressed_again(
        recipes, 1 / scale, face.straight.blur_mm / scale, SEED, within(on_progress, 0.5, 0.5)
    )
    seen = np.array([describe(view) for view in face.views()])
    folds = infer(simulated, seen, np.array([rung.misfit for rung in ladder]))
    fit = fit_few(problem, folds.best, ladder[folds.best].shares, ladder[folds.best].gains)
    by_count = np.array([rung.shares for rung in ladder])
    stray = np.sqrt(folds.probability @ (by_count - by_count[folds.best]) ** 2)
    near = int(np.abs(simulated[:, folds.best] - seen[0]).sum(axis=-1).argmin())
    own = replace(hands(face.sheet, move, HANDS, SEED)[near][0], folds=folds.best)
    recipe = replace(_recipe(face.sheet, flakes, fit.shares, 0.0, move), folding=own)
    return _Answer(flakes, listed, fit, np.hypot(fit.spread, stray), folds, recipe)


def _recipe(sheet: Sheet, flakes: Sequence[Flake], shares: Floats, least: float, move: str) -> Recipe:
    """A recipe of 100 g of the flakes that have more than the least share."""
    used = [replace(f, grams=100 * float(s)) for f, s in zip(flakes, shares, strict=True) if s > least]
    recipe = Recipe("from a photo", sheet, tuple(used))
    return recipe.with_folding(move=move)


def _told(face: Face, answer: _Answer, moves: dict[str, float]) -> Match:
    """Put the answer together with the prediction beside it."""
    scale = face.straight.mm_per_px
    prepared = prepare(answer.recipe)
    predicted = render(top_face(answer.recipe.sheet, 1 / scale), prepared, answer.folds.best, 9).xyz1
    mean = Colour.from_xyz1(face.xyz1[face.clear].mean(axis=0, dtype=np.float64))
    predicted_mean = Colour.from_xyz1(predicted.reshape(-1, 3).mean(axis=0, dtype=np.float64))
    order = np.argsort(-answer.fit.shares, kind="stable")
    parts = tuple(_part(answer, int(n)) for n in order if answer.fit.shares[n] > 0)
    return Match(
        recipe=answer.recipe,
        parts=parts,
        folds=answer.folds,
        moves=moves,
        mean=mean,
        predicted_mean=predicted_mean,
        delta_e00=float(delta_e00(mean.lab, predicted_mean.lab)),
        face_xyz1=face.xyz1,
        predicted_xyz1=predicted,
        mm_per_px=scale,
        curve=tuple(_curve(face.xyz1, predicted, scale)),
        corners_px=face.corners_px,
        paper=face.light.paper,
        glare=float(1 - face.clear.mean()),
        advice=advice.for_photo(face.straight, face.light, face.corners_px, face.fit),
    )


def _part(answer: _Answer, n: int) -> Part:
    """One flake of the answer, with its 80 % band."""
    share, reach = float(answer.fit.shares[n]), BAND * float(answer.spread[n])
    flake = replace(answer.flakes[n], grams=100 * share)
    return Part(flake, share, max(0.0, share - reach), min(1.0, share + reach), n >= answer.listed)


def _curve(
    seen: npt.NDArray[np.float32], predicted: npt.NDArray[np.float32], scale: float
) -> list[tuple[float, float, float]]:
    """Contrast of both faces, blurred more and more."""

    def at(xyz1: npt.NDArray[np.float32], blur_mm: float) -> float:
        sigma = blur_mm / scale
        return contrast(lab_from_xyz1(np.maximum(gaussian_filter(xyz1, (sigma, sigma, 0)), 0.0)))

    return [(mm, at(seen, mm), at(predicted, mm)) for mm in CURVE_MM]
