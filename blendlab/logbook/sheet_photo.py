"""A logged sheet's photo: its face, straightened and in even daylight, and whether it shows that sheet."""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from .. import checks
from ..colour.difference import delta_e00
from ..colour.means import area_mean, full_blend
from ..colour.spaces import Colour
from ..photo.face import Face, Marks, take_face
from ..photo.press_calibration import SQUARE
from ..recipe.recipe import Sheet
from .sheet_log import LoggedSheet

MAX_OFF = 15.0  # ΔE00 of a photo's mean from its sheet's; matches are off by 1 with paper and 9 without
MAX_EXPOSURE = 4.0  # two stops, by which a photo without white paper may be too bright or too dark


def cold_size_mm(sheet: LoggedSheet) -> tuple[float, float] | None:
    """Return length and width of the finished sheet, mm: measured, else planned, else None."""
    if sheet.length_mm and sheet.width_mm:
        return sheet.length_mm, sheet.width_mm
    planned = sheet.prediction.get("cold_mm")
    if not isinstance(planned, list | tuple) or len(planned) < 2:
        return None
    length, width = planned[:2]
    known = all(isinstance(side, int | float) and side > 0 for side in (length, width))
    return (float(length), float(width)) if known else None


def sheet_face(sheet: LoggedSheet, srgb8: npt.NDArray[np.uint8]) -> Face:
    """Straighten a logged sheet's photo and remove the colour of the light.

    InputError where the sheet has no size, or cannot be found in the photo.

    Parameters
    ----------
    srgb8 : ndarray of uint8, shape (rows, columns, 3)
        Its photo; if it is already cropped to the sheet it is used whole, else the corners are found.
    """
    size = cold_size_mm(sheet)
    if size is None:
        checks.refuse("a sheet with a photo must have a size", None, "measure its length and width")
    rows, columns = srgb8.shape[:2]
    cropped = abs(columns / rows / (size[0] / size[1]) - 1) < SQUARE
    corners = [(0, 0), (columns, 0), (columns, rows), (0, rows)] if cropped else None
    pressed = sheet.recipe.sheet
    return take_face(srgb8, Sheet(*size, pressed.thickness_mm, pressed.finish), Marks(corners))


def mean_of(face: Face) -> Colour:
    """Return the mean colour of a face, averaged as light, burnt-out spots left out."""
    return Colour.from_xyz1(face.xyz1[face.clear].mean(axis=0, dtype=np.float64))


def check_likeness(sheet: LoggedSheet, face: Face) -> None:
    """Refuse a photo whose colour is too far from its sheet's to be of it.

    Raises
    ------
    InputError
        With the distance of the means.
    """
    mean = mean_of(face)
    off = min(_distance(mean, expected, face.light.paper == "none") for expected in _expected(sheet))
    if off > MAX_OFF:
        rule = f"a photo must be within {MAX_OFF:.0f} ΔE00 of its sheet's predicted colour"
        remedy = "check that it shows this sheet, and the grams and folds that were logged"
        checks.refuse(rule, checks.Raw(f"{off:.0f} ΔE00"), remedy)


def _expected(sheet: LoggedSheet) -> list[Colour]:
    """Return the mean predicted that day, or where that is not known the two that it lies between."""
    mean = sheet.prediction.get("mean")
    try:
        srgb = checks.hex_colour("mean", mean.get("srgb") if isinstance(mean, Mapping) else None)
    except checks.InputError:
        return [area_mean(sheet.recipe), full_blend(sheet.recipe)]
    return [Colour.from_hex(srgb)]


def _distance(mean: Colour, expected: Colour, any_exposure: bool) -> float:
    """ΔE00 of two means; without white paper in the photo its exposure does not count."""
    xyz1 = np.array(mean.xyz1)
    if any_exposure:
        xyz1 *= np.clip(expected.xyz1[1] / max(xyz1[1], 1e-6), 1 / MAX_EXPOSURE, MAX_EXPOSURE)
    return float(delta_e00(Colour.from_xyz1(xyz1).lab, expected.lab))
