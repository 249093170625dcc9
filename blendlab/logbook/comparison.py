"""How a sheet came out, beside what had been predicted for it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ..checks import InputError, hex_colour
from ..colour.difference import delta_e00
from ..colour.spaces import Colour, linear_from_srgb1, xyz1_from_linear
from .sheet_log import Logged

MIDDLE = 0.5  # part of a photo's sides that is taken for the sheet, round its middle
_SIDES = ("length_mm", "width_mm", "thickness_mm")


@dataclass(frozen=True)
class Line:
    """One line of the comparison.

    Attributes
    ----------
    what, predicted, found, apart : str
        In words; a colour is ``#rrggbb``, what is not known is empty.
    """

    what: str
    predicted: str
    found: str
    apart: str


def middle_mean(srgb8: npt.NDArray[np.uint8]) -> Colour:
    """Mean colour of the middle of a photo, in light.

    Parameters
    ----------
    srgb8 : ndarray of uint8, shape (rows, columns, 3)
        The photo.

    Returns
    -------
    Colour
        As the camera saw it: the light of the room is in it.
    """
    rows, columns = srgb8.shape[:2]
    top, left = int(rows * (1 - MIDDLE) / 2), int(columns * (1 - MIDDLE) / 2)
    middle = srgb8[top : rows - top, left : columns - left]
    linear = linear_from_srgb1(middle.reshape(-1, 3) / 255).mean(axis=0)
    return Colour.from_xyz1(xyz1_from_linear(linear))


def compare(sheet: Logged, photo: npt.NDArray[np.uint8] | None) -> tuple[Line, ...]:
    """Set what was measured of a sheet beside what was predicted.

    Parameters
    ----------
    sheet : Logged
        From the log; its prediction may be of any age, so nothing in it is taken for granted.
    photo : ndarray of uint8, shape (rows, columns, 3), optional
        Its photo.

    Returns
    -------
    tuple of Line
        Only what is known on one side at least.
    """
    lines = [_colour(sheet.prediction, photo)]
    cold = sheet.prediction.get("cold_mm")
    cold = cold if isinstance(cold, list | tuple) and len(cold) == len(_SIDES) else [None] * len(_SIDES)
    for name, planned in zip(_SIDES, cold, strict=True):
        lines.append(_number(name.partition("_")[0], planned, getattr(sheet, name), "mm"))
    lines.append(_number("weight", sheet.prediction.get("cold_g"), sheet.weight_g, "g"))
    return tuple(line for line in lines if line.predicted or line.found)


def _colour(prediction: Mapping[str, Any], photo: npt.NDArray[np.uint8] | None) -> Line:
    mean = prediction.get("mean")
    try:
        predicted = hex_colour("mean", mean.get("srgb") if isinstance(mean, Mapping) else None)
    except InputError:
        predicted = ""
    found = None if photo is None else middle_mean(photo)
    apart = ""
    if predicted and found:
        apart = f"{float(delta_e00(Colour.from_hex(predicted).lab, found.lab)):.1f} ΔE00"
    return Line("mean colour", predicted, found.srgb if found else "", apart)


def _number(what: str, planned: object, measured: float | None, unit: str) -> Line:
    known = isinstance(planned, int | float) and not isinstance(planned, bool)
    apart = f"{measured - planned:+.1f} {unit}" if known and measured is not None else ""  # type: ignore[operator]
    return Line(
        what,
        f"{planned:.1f} {unit}" if known else "",
        "" if measured is None else f"{measured:.1f} {unit}",
        apart,
    )
