"""Match a photo of a past sheet: which flakes, how much of each, how many folds, and how sure.

The photo is made straight and put into even daylight; shares are fitted to its local colours for every fold
count; sheets of each fitted recipe are pressed again and compared with the photo's marbling, which gives
the fold count a probability; the shares of the likeliest count make the recipe.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, NoReturn

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter

from .. import checks
from ..colour.difference import delta_e00
from ..colour.pigment import palette
from ..colour.spaces import Colour, lab_from_xyz1
from ..look.contrast import contrast
from ..look.making import make_ready
from ..look.render import render
from ..look.surfaces import top_face
from ..recipe import MOST_FLAKES, Flake, Recipe, Sheet
from . import advice
from .corners import find_corners
from .folds import HANDS, FoldCount, infer, pressed_again
from .light import Light, corrected, read_light
from .rectify import Photo, Straight, check_corners, develop, straighten
from .shares import Fit, Problem, fit_few, fit_ladder, wave_means
from .standins import MOST_FOLDS, hands
from .statistics import describe
from .strangers import MOST, new_flake, unexplained

Floats = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]

MOST_FACE_PX = 22_000  # of the straightened picture that is matched
SHOWN_FLAKE = 0.03  # of the sheet: flakes below are left out of trial pressings
SURE_LIGHT = (0.05, 0.03)  # spread of the log exposure and cast that paper leaves
UNSURE_LIGHT = (0.35, 0.12)  # and that no paper leaves
SQUARE = 0.02  # difference of sides below which nobody knows which way a sheet was first laid
STRANGE = 12.0  # strangeness past which marbled plastic would be a surprise
MOST_GLARE = 0.3  # of the face
CURVE_MM = (1.0, 2.0, 4.0, 8.0, 16.0)
SEED = 5


@dataclass(frozen=True)
class Part:
    """One flake of the answer.

    Attributes
    ----------
    flake : Flake
        The flake; grams for a sheet of 100 g.
    share, low, high : float
        Volume share and its 80 % band, 0-1.
    is_new : bool
        Whether no flake of the list is like it.
    """

    flake: Flake
    share: float
    low: float
    high: float
    is_new: bool


@dataclass(frozen=True, eq=False)
class Match:
    """What a photo tells of its sheet.

    Attributes
    ----------
    recipe : Recipe
        Ready for the other pages, 100 g.
    parts : tuple of Part
        Its flakes, the largest share first.
    folds : FoldCount
        Probability of every fold count.
    moves : dict of str to float
        Probability of every way of folding that was considered.
    mean, predicted_mean : Colour
        Mean colour of the photo's face and of the recipe's.
    delta_e00 : float
        Their difference.
    face_xyz1, predicted_xyz1 : ndarray of float32, shape (rows, columns, 3)
        Both faces at one scale.
    mm_per_px : float
        That scale.
    curve : tuple of (float, float, float)
        Contrast over scale: blur in mm, contrast in dE*ab of the photo and of the prediction.
    corners_px : ndarray, shape (4, 2)
        The corners used.
    paper : str
        Where the white comes from: ``"given"``, ``"found"`` or ``"none"``.
    glare : float
        Part of the face that was burnt out and left aside.
    advice : tuple of str
        What would make the answer surer.
    """

    recipe: Recipe
    parts: tuple[Part, ...]
    folds: FoldCount
    moves: dict[str, float]
    mean: Colour
    predicted_mean: Colour
    delta_e00: float
    face_xyz1: npt.NDArray[np.float32]
    predicted_xyz1: npt.NDArray[np.float32]
    mm_per_px: float
    curve: tuple[tuple[float, float, float], ...]
    corners_px: Floats
    paper: str
    glare: float
    advice: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """The answer as the command line gives it."""
        return {
            "percent": {part.flake.name: round(100 * part.share, 1) for part in self.parts},
            "band": {
                part.flake.name: [round(100 * part.low, 1), round(100 * part.high, 1)] for part in self.parts
            },
            "new": {part.flake.name: part.flake.srgb for part in self.parts if part.is_new},
            "folds": {
                "best": self.folds.best,
                "probability": [round(float(p), 4) for p in self.folds.probability],
                "likely": list(self.folds.likely()),
            },
            "moves": {move: round(p, 4) for move, p in self.moves.items()},
            "mean": self.mean.as_json(),
            "predicted_mean": self.predicted_mean.as_json(),
            "delta_e00": round(self.delta_e00, 2),
            "paper": self.paper,
            "advice": list(self.advice),
        }


@dataclass(frozen=True, eq=False)
class _Face:
    """A sheet's face out of a photo."""

    sheet: Sheet
    straight: Straight
    light: Light
    xyz1: npt.NDArray[np.float32]
    corners_px: Floats
    fit: float


def match(
    srgb8: npt.NDArray[np.uint8],
    flakes: Sequence[Flake],
    size_mm: tuple[float, float],
    *,
    thickness_mm: float = 6.0,
    corners_px: npt.ArrayLike | None = None,
    white_px: Box | None = None,
    moves: Sequence[str] = ("half",),
) -> Match:
    """Find the recipe of a photographed sheet.

    Parameters
    ----------
    srgb8 : ndarray of uint8, shape (rows, columns, 3)
        The photo, sRGB, as from `files.read_photo`.
    flakes : sequence of Flake
        Those on hand, one to `MOST_FLAKES`; their grams do not matter.
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

    Returns
    -------
    Match
        Same photo and settings, same answer.

    Raises
    ------
    InputError
        Where a value breaks its rule, no sheet is found, or the photo shows no marbled plastic.
    """
    checks.whole("the number of flakes on hand", len(flakes), 1, MOST_FLAKES, "list the flakes you would use")
    face = take_face(srgb8, size_mm, thickness_mm, corners_px, white_px)
    tried = [_with_move(face, tuple(flakes), move) for move in moves]
    evidence = np.array([answer.folds.evidence for answer in tried])
    weights = np.exp(evidence - evidence.max())
    answer = tried[int(weights.argmax())]
    if answer.folds.strangeness > STRANGE:
        much = f"its pattern is {answer.folds.strangeness:.0f} times as far from any fold count as a sheet's"
        refuse_look(much)
    return _told(face, answer, dict(zip(moves, (weights / weights.sum()).tolist(), strict=True)))


def refuse_look(why: str) -> NoReturn:
    """Refuse a photo of something else, with the reason."""
    remedy = "photograph one flat sheet from above, check its corners and its size"
    raise checks.InputError(f"this does not look like marbled plastic: {why}; {remedy}")


def take_face(
    srgb8: npt.NDArray[np.uint8],
    size_mm: tuple[float, float],
    thickness_mm: float,
    corners_px: npt.ArrayLike | None,
    white_px: Box | None,
) -> _Face:
    """Make a photo's sheet straight and put it into even daylight; parameters as for `match`."""
    sheet = Sheet(size_mm[0], size_mm[1], thickness_mm)
    photo = develop(srgb8)
    corners, fit = _corners(photo, sheet, corners_px)
    light = read_light(photo, corners, white_px)
    mm_per_px = max(1.0, float(np.sqrt(sheet.length_mm * sheet.width_mm / MOST_FACE_PX)))
    straight = straighten(photo, corners, (sheet.length_mm, sheet.width_mm), mm_per_px)
    if straight.clipped.mean() > MOST_GLARE:
        refuse_look(f"{straight.clipped.mean():.0%} of it is burnt out")
    return _Face(sheet, straight, light, corrected(straight, light, photo), corners, fit)


def _corners(photo: Photo, sheet: Sheet, given: npt.ArrayLike | None) -> tuple[Floats, float]:
    """Corners given, or found and turned so that the longer edge is the sheet's longer side."""
    if given is not None:
        return check_corners(given, photo.size_px), 1.0
    found = find_corners(photo)
    if found is None:
        refuse_look("no sheet with four straight edges stands off its background")
    sides = np.linalg.norm(np.roll(found.corners_px, -1, axis=0) - found.corners_px, axis=1)
    lies_long = sides[0] + sides[2] > sides[1] + sides[3]
    turned = lies_long != (sheet.length_mm > sheet.width_mm) and not _is_square(sheet)
    return np.roll(found.corners_px, 1 if turned else 0, axis=0), found.fit


def _is_square(sheet: Sheet) -> bool:
    """Whether a sheet may have been laid either way round."""
    return abs(sheet.length_mm / sheet.width_mm - 1) < SQUARE


@dataclass(frozen=True, eq=False)
class _Answer:
    """Shares and folds for one move."""

    flakes: tuple[Flake, ...]
    listed: int
    fit: Fit
    spread: Floats
    folds: FoldCount
    recipe: Recipe


def _with_move(face: _Face, flakes: tuple[Flake, ...], move: str) -> _Answer:
    """Fit shares and folds for one way of folding."""
    colours = face.xyz1[face.straight.clipped < 0.01].astype(np.float64)
    light = UNSURE_LIGHT if face.light.paper == "none" else SURE_LIGHT
    listed = len(flakes)
    while True:
        problem = Problem(wave_means(colours), palette(flakes), face.sheet, move, light)
        ladder = fit_ladder(problem, MOST_FOLDS + 1)
        nearest = min(range(len(ladder)), key=lambda folds: ladder[folds].misfit)
        left = unexplained(colours, problem, nearest, ladder[nearest])
        if not len(left) or len(flakes) in (listed + MOST, MOST_FLAKES):
            break
        flakes = (*flakes, new_flake(left, len(flakes) - listed + 1, tuple(f.name for f in flakes)))
    recipes = [_recipe(face.sheet, flakes, fit.shares, SHOWN_FLAKE, move) for fit in ladder]
    scale = face.straight.mm_per_px
    simulated = pressed_again(recipes, 1 / scale, face.straight.blur_mm / scale, SEED)
    clear = _without_glare(face)
    views = [clear, clear.swapaxes(0, 1)] if _is_square(face.sheet) else [clear]
    seen = np.array([describe(view) for view in views])
    folds = infer(simulated, seen)
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


def _without_glare(face: _Face) -> npt.NDArray[np.float32]:
    """The face with burnt-out spots filled from around them."""
    clear = np.clip(1 - 2 * face.straight.clipped, 0, 1)[..., None]
    if clear.min() > 0.9:
        return face.xyz1
    soft = (4.0, 4.0, 0)
    around = gaussian_filter(face.xyz1 * clear, soft) / np.maximum(gaussian_filter(clear, soft), 1e-3)
    filled: npt.NDArray[np.float32] = (clear * face.xyz1 + (1 - clear) * around).astype(np.float32)
    return filled


def _told(face: _Face, answer: _Answer, moves: dict[str, float]) -> Match:
    """Put the answer together with the prediction beside it."""
    scale = face.straight.mm_per_px
    making = make_ready(answer.recipe)
    predicted = render(top_face(answer.recipe.sheet, 1 / scale), making, answer.folds.best, 9).xyz1
    clear = face.straight.clipped < 0.01
    mean = Colour.from_xyz1(face.xyz1[clear].mean(axis=0, dtype=np.float64))
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
        glare=float(1 - clear.mean()),
        advice=advice.for_photo(face.straight, face.light, face.corners_px, face.fit),
    )


def _part(answer: _Answer, n: int) -> Part:
    """One flake of the answer, with its 80 % band."""
    share, reach = float(answer.fit.shares[n]), 1.28 * float(answer.spread[n])
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
