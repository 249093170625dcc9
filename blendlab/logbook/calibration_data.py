"""The press calibration: read from logged sheets' photos, saved and loaded."""

import json
from dataclasses import asdict
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ..photo.press_calibration import PhotographedSheet, PressCalibration, describe_face
from ..tables.ranges import Range
from ..workshop.order import hot_per_cold
from . import drafts
from .sheet_log import LoggedSheet
from .sheet_photo import check_likeness, cold_size_mm, sheet_face

DRAFT = "hand"  # the calibration is saved under this name


def load(home: Path) -> PressCalibration | None:
    """Return the saved calibration; None where there is none that can be read."""
    try:
        found = drafts.values(drafts.load(home, DRAFT) or "null")
        ends = {name: found[name].items() for name in ("drag", "unevenness", "reach_factor")}
        ranges = {name: Range(**{end: float(x) for end, x in items}) for name, items in ends.items()}
        return PressCalibration(**ranges, sheets=int(found["sheets"]), likelier=float(found["likelier"]))
    except (ValueError, TypeError, KeyError, AttributeError):  # written by another version
        return None


def save(home: Path, calibration: PressCalibration) -> None:
    """Save a calibration in place of any earlier one."""
    drafts.save(home, DRAFT, json.dumps(asdict(calibration)))


def can_calibrate(sheet: LoggedSheet) -> bool:
    """Tell whether a sheet can calibrate a press: it has a photo, a size and two kinds of flake or more."""
    plain = not sheet.recipe.depth  # offcuts are drawn as their mean colour here
    return plain and bool(sheet.photo) and cold_size_mm(sheet) is not None and len(sheet.recipe.flakes) > 1


def read_sheet_photo(sheet: LoggedSheet, srgb8: npt.NDArray[np.uint8]) -> PhotographedSheet:
    """Read a logged sheet's photo.

    InputError where the sheet cannot be found in the photo, or the photo is not of it.

    Parameters
    ----------
    sheet : LoggedSheet
        One for which `can_calibrate` is true.
    srgb8 : ndarray of uint8, shape (rows, columns, 3)
        Its photo; if it is already cropped to the sheet it is used whole, else the corners are found.
    """
    face = sheet_face(sheet, srgb8)
    check_likeness(sheet, face)
    straight = face.straight
    return PhotographedSheet(
        recipe=sheet.recipe,
        described=describe_face(face.views()[0]),
        shape=(face.xyz1.shape[0], face.xyz1.shape[1]),
        px_per_mm=1 / (straight.mm_per_px * hot_per_cold()),
        blur_px=straight.blur_mm / straight.mm_per_px,
    )
