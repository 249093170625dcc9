"""What a logged sheet's photo says about the press it was made on."""

import numpy as np
import numpy.typing as npt

from .. import checks
from ..photo.face import take_face
from ..photo.press_calibration import SQUARE, PhotographedSheet, describe_face
from ..recipe.recipe import Sheet
from ..workshop.order import Plastic
from .sheet_log import LoggedSheet

USUAL_PLATE_C = 180.0  # for the shrinkage, which barely depends on it


def can_calibrate(sheet: LoggedSheet) -> bool:
    """Tell whether a sheet can calibrate a press: it has a photo, a size and two kinds of flake or more."""
    return bool(sheet.photo) and cold_size_mm(sheet) is not None and len(sheet.recipe.flakes) > 1


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


def read_sheet_photo(sheet: LoggedSheet, srgb8: npt.NDArray[np.uint8]) -> PhotographedSheet:
    """Read a logged sheet's photo.

    Parameters
    ----------
    sheet : LoggedSheet
        One for which `can_calibrate` is true.
    srgb8 : ndarray of uint8, shape (rows, columns, 3)
        Its photo; one already cropped to the sheet is taken whole, in any other the corners are found.

    Returns
    -------
    PhotographedSheet
        Its recipe and the statistics of its face.

    Raises
    ------
    InputError
        Where the sheet cannot be found in the photo.
    """
    size = cold_size_mm(sheet)
    if size is None:
        checks.refuse("a sheet to learn from must have a size", None, "measure its length and width")
    rows, columns = srgb8.shape[:2]
    cropped = abs(columns / rows / (size[0] / size[1]) - 1) < SQUARE
    corners = [(0, 0), (columns, 0), (columns, rows), (0, rows)] if cropped else None
    pressed = sheet.recipe.sheet
    face = take_face(srgb8, Sheet(*size, pressed.thickness_mm, pressed.finish), corners, None)
    straight = face.straight
    hot_per_cold = Plastic.published(USUAL_PLATE_C).hot(1.0).usual
    return PhotographedSheet(
        recipe=sheet.recipe,
        described=describe_face(face.views()[0]),
        shape=(face.xyz1.shape[0], face.xyz1.shape[1]),
        px_per_mm=1 / (straight.mm_per_px * hot_per_cold),
        blur_px=straight.blur_mm / straight.mm_per_px,
    )
