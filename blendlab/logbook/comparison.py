"""How a sheet came out, compared with its prediction."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..checks import InputError, hex_colour
from ..colour.describe_difference import difference_words
from ..colour.difference import delta_e00
from ..colour.spaces import Colour, linear_from_srgb1, xyz1_from_linear
from ..colour.target import IN_REACH
from ..units import METRIC, Unit, Units
from .sheet_log import LoggedSheet
from .sheet_photo import mean_of, sheet_face

MIDDLE = 0.5  # central fraction of a photo's sides that is taken to be sheet
_SIDES = ("length_mm", "width_mm", "thickness_mm")


@dataclass(frozen=True)
class Line:
    """One line of the comparison, in words; a colour is ``#rrggbb``, an unknown value is empty.

    The difference of two colours is given as a figure, and also in words.
    """

    what: str
    predicted: str
    measured: str
    difference: str
    in_words: str = ""


def middle_mean(srgb8: npt.NDArray[np.uint8]) -> Colour:
    """Return the mean colour of the middle of a photo, averaged as light, that of the room included."""
    rows, columns = srgb8.shape[:2]
    top, left = int(rows * (1 - MIDDLE) / 2), int(columns * (1 - MIDDLE) / 2)
    middle = srgb8[top : rows - top, left : columns - left]
    linear = linear_from_srgb1(middle.reshape(-1, 3) / 255).mean(axis=0)
    return Colour.from_xyz1(xyz1_from_linear(linear))


def compare(
    sheet: LoggedSheet, photo: npt.NDArray[np.uint8] | None, units: Units = METRIC
) -> tuple[Line, ...]:
    """Compare what was measured of a sheet with what was predicted.

    Parameters
    ----------
    sheet : LoggedSheet
        From the log; its prediction may come from any version, so nothing about it is assumed.

    Returns
    -------
    tuple of Line
        Only what is known on at least one side.
    """
    lines = [_colour(sheet, photo)]
    cold = sheet.prediction.get("cold_mm")
    cold = cold if isinstance(cold, list | tuple) and len(cold) == len(_SIDES) else [None] * len(_SIDES)
    for name, planned in zip(_SIDES, cold, strict=True):
        lines.append(_number(name.partition("_")[0], planned, getattr(sheet, name), units.length))
    lines.append(_number("weight", sheet.prediction.get("cold_g"), sheet.weight_g, units.mass))
    return tuple(line for line in lines if line.predicted or line.measured)


def _colour(sheet: LoggedSheet, photo: npt.NDArray[np.uint8] | None) -> Line:
    mean = sheet.prediction.get("mean")
    try:
        predicted = hex_colour("mean", mean.get("srgb") if isinstance(mean, Mapping) else None)
    except InputError:
        predicted = ""
    what, measured = "mean colour", None
    if photo is not None:
        try:
            measured = mean_of(sheet_face(sheet, photo))
        except InputError:  # it shows no sheet, or none of known size
            what, measured = "mean colour, in the room's light", middle_mean(photo)
    difference, in_words = "", ""
    if predicted and measured:
        wanted = Colour.from_hex(predicted)
        off = float(delta_e00(wanted.lab, measured.lab))
        difference, in_words = f"{off:.1f} ΔE00", difference_words(wanted, measured, off, IN_REACH)
    return Line(what, predicted, measured.srgb if measured else "", difference, in_words)


def _number(what: str, planned: object, measured: float | None, unit: Unit) -> Line:
    known = isinstance(planned, int | float) and not isinstance(planned, bool)
    more = 0.0 if measured is None or not known else measured - planned  # type: ignore[operator]
    difference = f"{'-' if more < 0 else '+'}{unit.text(abs(more), 1)}"
    return Line(
        what,
        unit.text(planned, 1) if known else "",  # type: ignore[arg-type]
        "" if measured is None else unit.text(measured, 1),
        difference if known and measured is not None else "",
    )
