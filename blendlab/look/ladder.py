"""The fold ladder: what a recipe looks like after each fold count."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import Any

import numpy as np
import numpy.typing as npt

from ..colour.difference import delta_e00
from ..colour.means import area_mean
from ..colour.spaces import Colour
from ..folding.mixing import layer_mm, scale_of_segregation
from ..recipe.recipe import Recipe
from ..runtime.progress import ProgressCallback, each, no_progress
from .contrast import JUST_SEEN, contrast, seen_lab
from .looks import MIN_LIVELY
from .prepared_sheet import PreparedSheet, prepare
from .render import render, srgb8
from .surfaces import top_face

TILE_PX = 160  # longer side of a rung's picture


@dataclass(frozen=True, eq=False)
class Rung:
    """One fold count of a ladder.

    Attributes
    ----------
    srgb8 : ndarray of uint8, shape (rows, columns, 3)
        Picture of the top face.
    mean : Colour
        Mean colour of the face, in light.
    contrast, unfolded : float
        dE*ab about the mean as the eye sees it from the viewing distance: of this rung, and of the unfolded
        pieces, stirred.
    lively : float
        As a part of these pieces: the geometric mean of what is left of contrast and of segregation.
    feature_mm : float
        Scale of segregation of lightness across the streaks, mm.
    segregation : float
        Intensity of segregation at the size of a pixel and light's reach.
    drift : float
        dE00 of the mean from the area mean.
    look : str
        One of `LOOKS`.
    measure_layer_mm : callable
        Returns the mean layer thickness in the depth, mm; asked once.
    """

    folds: int
    srgb8: npt.NDArray[np.uint8]
    mean: Colour
    contrast: float
    unfolded: float
    lively: float
    feature_mm: float
    segregation: float
    drift: float
    look: str
    measure_layer_mm: Callable[[], float] = field(repr=False)

    @cached_property
    def layer_mm(self) -> float:
        """Mean layer thickness in the depth, mm; measured when it is first asked for."""
        return self.measure_layer_mm()

    def as_json(self) -> dict[str, Any]:
        """The rung without its picture, numbers rounded to their accuracy."""
        return {
            "folds": self.folds,
            "mean": self.mean.as_json(),
            "contrast": round(self.contrast, 2),
            "feature_mm": round(self.feature_mm, 2),
            "layer_mm": float(f"{self.layer_mm:.3g}"),
            "segregation": round(self.segregation, 4),
            "drift": round(self.drift, 2),
            "look": self.look,
        }


def tile_px_per_mm(recipe: Recipe) -> float:
    """Pixels per mm of a rung's picture."""
    return TILE_PX / max(recipe.sheet.length_mm, recipe.sheet.width_mm)


@dataclass(frozen=True, eq=False)
class Levels:
    """How lively one sheet is at each of several fold counts.

    Attributes
    ----------
    contrast : ndarray of float64, shape (counts,)
        dE*ab as the eye sees it.
    lively : ndarray of float64, shape (counts,)
        Contrast and segregation as a part of the unfolded pieces'.
    """

    contrast: npt.NDArray[np.float64]
    lively: npt.NDArray[np.float64]

    @property
    def calmest(self) -> "Levels":
        """The same, each count as calm as the calmest since the liveliest.

        Chance may bring a streak up again. A stirred charge is liveliest before it is folded; one that is
        laid may show its flakes only later.
        """
        peak = int(self.lively.argmax())
        return Levels(
            *(
                np.concatenate([seen[:peak], np.minimum.accumulate(seen[peak:])])
                for seen in (self.contrast, self.lively)
            )
        )


def levels_of(steps: Sequence[Rung]) -> Levels:
    """Return how lively the rungs of a ladder are."""
    return Levels(*(np.array([getattr(step, name) for step in steps]) for name in ("contrast", "lively")))


def word_for(folds: int, contrast: float, lively: float) -> str:
    """Name a look.

    Parameters
    ----------
    folds : int
        Fold count; unfolded pieces are called pieces whatever their contrast, if it can be seen.
    contrast : float
        Of this rung, dE*ab.
    lively : float
        Its contrast and segregation as a part of the unfolded pieces'.

    Returns
    -------
    str
        One of `LOOKS`.
    """
    if contrast < JUST_SEEN:
        return "even"
    if folds == 0:
        return "pieces"
    return next(look for look, least in MIN_LIVELY.items() if lively >= least)


def _tile(
    prepared: PreparedSheet, folds: int
) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float64], float]:
    """Picture of the top face, its CIELAB as seen, and its segregation."""
    scale = tile_px_per_mm(prepared.recipe)
    picture = render(top_face(prepared.sheet_after(folds), scale), prepared, folds)
    return picture.xyz1, seen_lab(picture.xyz1, 1 / scale), picture.segregation


def rungs(prepared: PreparedSheet, counts: Sequence[int], unfolded: Rung | None = None) -> Iterator[Rung]:
    """Look at a recipe after each of several fold counts.

    Parameters
    ----------
    prepared : PreparedSheet
        Ready for the largest of the counts.
    counts : sequence of int
        Fold counts, rising.
    unfolded : Rung, optional
        That of the same flakes stirred and not folded, where it is known already.

    Yields
    ------
    Rung
        One by one, as each is ready.
    """
    start = area_mean(prepared.recipe)
    pitch = 1 / tile_px_per_mm(prepared.recipe)
    pieces = (unfolded.contrast, unfolded.segregation) if unfolded else None
    for folds in counts:
        xyz1, lab, segregation = _tile(prepared, folds)
        seen = contrast(lab)
        if pieces is None:
            stirred = not prepared.recipe.lays
            pieces = (seen, segregation) if stirred and folds == 0 else _pieces(prepared)
        lively = _lively(seen, segregation, pieces)
        mean = Colour.from_xyz1(xyz1.mean(axis=(0, 1), dtype=np.float64))
        yield Rung(
            folds=folds,
            srgb8=srgb8(xyz1),
            mean=mean,
            contrast=seen,
            unfolded=pieces[0],
            lively=lively,
            feature_mm=min(scale_of_segregation(lab[..., 0], pitch, axis) for axis in (0, 1)),
            segregation=segregation,
            drift=float(delta_e00(mean.lab, start.lab)),
            look=word_for(folds, seen, lively),
            measure_layer_mm=partial(_layer_mm, prepared, folds),
        )


def _layer_mm(prepared: PreparedSheet, folds: int) -> float:
    charge = prepared.laid_after(folds) or prepared.charge
    return layer_mm(charge, prepared.programme, folds, np.random.default_rng(folds))


def _pieces(prepared: PreparedSheet) -> tuple[float, float]:
    """Return contrast and segregation of the unfolded pieces, stirred: a laid face may show one kind."""
    if prepared.recipe.lays:
        prepared = prepare(replace(prepared.recipe, lays=()), 0)
    _, lab, segregation = _tile(prepared, 0)
    return contrast(lab), segregation


def _lively(seen: float, segregation: float, pieces: tuple[float, float]) -> float:
    """Return the geometric mean of the parts that are left of the pieces' contrast and segregation.

    Contrast hardly falls before flakes thin out to light's depth, and sheets of few dark flakes may even gain
    some; segregation falls from the first fold on, but far for stock that light passes, long before its
    colours fade. A single kind of flake has neither.
    """
    if min(pieces) <= 0:
        return 0.0
    return float(np.sqrt(min(seen / pieces[0], 1.0) * segregation / pieces[1]))


def levels_of_replicate(
    recipe: Recipe, counts: Sequence[int], replicate: int, on_progress: ProgressCallback = no_progress
) -> Levels:
    """Return how lively another sheet is at each fold count, as if the recipe were pressed again.

    Parameters
    ----------
    counts : sequence of int
        Fold counts, rising.
    replicate : int
        Number of the further sheet, from 1.
    """
    prepared = prepare(recipe, max(counts), replicate)
    tiles = [_tile(prepared, folds)[1:] for folds in each(counts, on_progress)]
    levels = [(contrast(lab), segregation) for lab, segregation in tiles]
    pieces = levels[0] if counts[0] == 0 and not recipe.lays else _pieces(prepared)
    lively = np.array([_lively(seen, segregation, pieces) for seen, segregation in levels])
    return Levels(np.array([seen for seen, _ in levels]), lively)


def falling_looks(steps: Sequence[Rung]) -> tuple[str, ...]:
    """Name the looks of a ladder so that from the liveliest on none is livelier than one before it."""
    calm = levels_of(steps).calmest
    named = zip(steps, calm.contrast, calm.lively, strict=True)
    return tuple(word_for(step.folds, contrast, lively) for step, contrast, lively in named)
