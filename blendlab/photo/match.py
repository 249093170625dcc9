"""Match a photo of a past sheet: which flakes, how much of each, how many folds, and how certain.

The photo is rectified and corrected to even daylight. For every fold count, shares are fitted to its local
colours. Replicates of each fitted recipe are compared with the photo's marbling, which gives every count a
probability. The shares to expect over the likely counts make the recipe.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter

from .. import checks
from ..colour.difference import delta_e00
from ..colour.spaces import Colour, lab_from_xyz1
from ..look.contrast import contrast
from ..look.prepared_sheet import prepare
from ..look.render import render
from ..look.surfaces import top_face
from ..recipe.folding_moves import MAX_MOVES, checked_move
from ..recipe.moves import MOVES
from ..recipe.recipe import MAX_FLAKES, Flake, Sheet
from ..runtime.progress import ProgressCallback, no_progress, within
from . import photo_advice
from .answer import Part, PhotoMatch
from .face import NOTHING_MARKED, Face, Marks, refuse_look, take_face
from .false_paper import settled
from .mean_band import mean_band90
from .move_fit import Case, MoveFit, fit_move, fit_one_colour
from .press_calibration import PressCalibration
from .shortlist import MAX_ON_HAND, shortlist
from .surrogate_sheets import ANY_PRESS
from .texture_statistics import is_one_colour

# Standard deviations to either side in an 80 % band: 1.28 for a normal. Set on 22 photos each of own and
# plain presses of seed 2033 of tests/bench/photo_proof.py, where it held 78 and 82 % of the shares.
BAND = 1.45
# Of 154 invented sheets one reached 7, the others 5 or less; photos of bricks or of an eye 9 to 11.
MAX_STRANGENESS = 8.0
ONE_COLOUR_NOTE = "The sheet is one even colour, which says nothing about folds: all counts are as likely."
CURVE_MM = (1.0, 2.0, 4.0, 8.0, 16.0)


def match(
    srgb8: npt.NDArray[np.uint8],
    flakes: Sequence[Flake],
    sheet: Sheet,
    marks: Marks = NOTHING_MARKED,
    *,
    moves: Sequence[str] = ("half",),
    press: PressCalibration | None = None,
    on_progress: ProgressCallback = no_progress,
) -> PhotoMatch:
    """Find the recipe of a photographed sheet.

    InputError where a value breaks its rule, no sheet is found, or the photo shows no marbled plastic.

    Parameters
    ----------
    srgb8 : ndarray of uint8, shape (rows, columns, 3)
        The photo, sRGB, as from `photo_files.read_photo`.
    flakes : sequence of Flake
        Those on hand, one to `MAX_ON_HAND`; their grams are ignored. Of more than a recipe may hold, the
        likeliest are tried.
    sheet : Sheet
        Its sides along the upper edge and down as in the photo, its thickness and its finish.
    moves : sequence of str
        Moves to consider; one named twice counts once.
    press : PressCalibration, optional
        What is known of the press; any press if None.

    Returns
    -------
    PhotoMatch
        Same photo and settings, same answer.
    """
    checks.whole("the number of flakes on hand", len(flakes), 1, MAX_ON_HAND, "list the flakes you would use")
    checks.whole(
        "the number of moves", len(moves), 1, MAX_MOVES, "name the moves that the sheet may have had"
    )
    tried = tuple(dict.fromkeys(checked_move("a move", move, MOVES) for move in moves))
    face = take_face(srgb8, sheet, marks)
    case = Case(face, tuple(flakes), tried[0], press.range if press else ANY_PRESS)
    case = replace(case, on_hand=shortlist(case, within(on_progress, 0.0, 0.3)))
    case = settled(case, lambda: take_face(srgb8, sheet, Marks(face.corners_px), look_for_paper=False))
    face = case.face
    if is_one_colour(face.views()[0]):
        best = fit_one_colour(case)
        return _answer(face, best, dict.fromkeys(tried, 1 / len(tried)), ONE_COLOUR_NOTE)
    start = 0.3 if len(flakes) > MAX_FLAKES else 0.0
    part = (1 - start) / len(tried)
    fitted = [
        fit_move(replace(case, move=move), within(on_progress, start + n * part, part))
        for n, move in enumerate(tried)
    ]
    evidence = np.array([one.folds.evidence for one in fitted])
    weights = np.exp(evidence - evidence.max())
    best = fitted[int(weights.argmax())]
    strangeness = min([best.folds.strangeness, *(way.strangeness for way in best.laid)])
    if strangeness > MAX_STRANGENESS:
        refuse_look(f"its pattern is {strangeness:.0f} times as far from any fold count as a sheet's")
    return _answer(face, best, dict(zip(tried, (weights / weights.sum()).tolist(), strict=True)))


def _answer(face: Face, best: MoveFit, moves: dict[str, float], note: str = "") -> PhotoMatch:
    """Put the answer together, with a prediction to compare."""
    face = face.in_light(best.fit.gains)
    scale = face.straight.mm_per_px
    prepared = prepare(best.recipe)
    predicted = render(top_face(best.recipe.sheet, 1 / scale), prepared, best.folds.best).xyz1
    mean = Colour.from_xyz1(face.xyz1[face.clear].mean(axis=0, dtype=np.float64))
    predicted_mean = Colour.from_xyz1(predicted.reshape(-1, 3).mean(axis=0, dtype=np.float64))
    order = np.argsort(-best.fit.shares, kind="stable")
    parts = tuple(_part(best, int(n)) for n in order if best.fit.shares[n] > 0)
    return PhotoMatch(
        recipe=best.recipe,
        parts=parts,
        folds=best.folds,
        moves=moves,
        mean=mean,
        predicted_mean=predicted_mean,
        delta_e00=float(delta_e00(mean.lab, predicted_mean.lab)),
        band90_delta_e00=mean_band90(face.light, np.array(mean.xyz1), best.fit.gain_covariance),
        face_xyz1=face.xyz1,
        predicted_xyz1=predicted,
        mm_per_px=scale,
        curve=tuple(_curve(face.xyz1, predicted, scale)),
        corners_px=face.corners_px,
        paper=face.light.paper,
        laid=best.laid,
        note=note,
        advice=photo_advice.for_photo(face),
    )


def _part(best: MoveFit, n: int) -> Part:
    """Return one flake of the answer, with its 80 % band."""
    share, margin = float(best.fit.shares[n]), BAND * float(best.fit.spread[n])
    flake = replace(best.flakes[n], grams=100 * share)
    return Part(flake, share, max(0.0, share - margin), min(1.0, share + margin), n >= best.listed)


def _curve(
    seen: npt.NDArray[np.float32], predicted: npt.NDArray[np.float32], scale: float
) -> list[tuple[float, float, float]]:
    """Return the contrast of both faces at increasing blur."""

    def at(xyz1: npt.NDArray[np.float32], blur_mm: float) -> float:
        sigma = blur_mm / scale
        return contrast(lab_from_xyz1(np.maximum(gaussian_filter(xyz1, (sigma, sigma, 0)), 0.0)))

    return [(mm, at(seen, mm), at(predicted, mm)) for mm in CURVE_MM]
