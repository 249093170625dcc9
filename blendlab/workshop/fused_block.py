"""Sheets stacked and fused to a block: how long heat takes to the middle, and how thick is too thick."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial
from typing import Any

from .. import checks
from ..tables.ranges import Range
from .ageing import Ageing, ageing
from .heat import Timetable, fused
from .press_setup import PACES, Pace, PressSetup, thermal_model
from .properties import hdpe, range_of

MAX_SHEETS = 50
MIN_MM, MAX_MM = 2.0, 100.0
_ROUNDS = 7  # of bisection: to 1 % of the block


def fuse(sheets: int, sheet_mm: float, press: PressSetup | None = None, *, pace: Pace = "usual") -> Timetable:
    """Time a stack of cold sheets from closing the press until it is cold.

    InputError where a value breaks its rule, or the middle does not melt within hours.

    Parameters
    ----------
    sheets : int
        2-50.
    sheet_mm : float
        Thickness of one, cold, 1-90 mm.

    Returns
    -------
    Timetable
        Joined, soaked and cooled, and turned over where only one plate is heated.
    """
    checks.whole("sheets in a block", sheets, 2, MAX_SHEETS, "stack two or more")
    checks.number("thickness of a sheet in mm", sheet_mm, 1, 90, "give the cold thickness of one sheet")
    press = press or PressSetup()
    density = thermal_model(press, pace).solid.solid.density_kg_m3
    return fused(sheets, 1e-3 * sheet_mm * density, press, pace=pace)


@dataclass(frozen=True)
class Block:
    """Sheets stacked and fused.

    Attributes
    ----------
    heat_minutes, cool_minutes : Range
        In the press until it is molten through, and then under the boards.
    ageing : Ageing
        How much of the melt's life the heating uses.
    """

    sheets: int
    thickness_mm: float
    heat_minutes: Range
    cool_minutes: Range
    ageing: Ageing

    def as_json(self) -> dict[str, Any]:
        """Return the numbers for JSON; three in a list are low, usual and high."""
        minutes = {name: getattr(self, name) for name in ("heat_minutes", "cool_minutes")}
        return {
            "sheets": self.sheets,
            "thickness_mm": round(self.thickness_mm, 2),
            **{name: [round(m, 1) for m in found] for name, found in minutes.items()},
            "ageing": self.ageing.as_json(),
        }


def block(sheets: int, sheet_mm: float, press: PressSetup | None = None) -> Block:
    """Return a block of sheets; arguments and errors as for `fuse`."""
    tables = [fuse(sheets, sheet_mm, press, pace=pace) for pace in PACES]
    heat, cool = Range(*(t.hot_s / 60 for t in tables)), Range(*(t.release_s / 60 for t in tables))
    return Block(sheets, sheets * sheet_mm, heat, cool, ageing(tables[1]))


@cache
def thickest_mm(press: PressSetup | None = None) -> Range:
    """Thickest block that melts through before its faces degrade, mm.

    Parameters
    ----------
    press : PressSetup, optional
        The press; cooler plates allow a thicker block.

    Returns
    -------
    Range
        For stock that lasts the shortest, usual and longest time published; `MAX_MM` where even that block
        melts in time, 0 where none does.
    """
    lasts = range_of(hdpe()["oxidation_minutes"])
    return Range(*(_largest(MIN_MM, MAX_MM, partial(_lasts, press, minutes)) for minutes in lasts))


def _lasts(press: PressSetup | None, minutes: float, block_mm: float) -> bool:
    """Tell whether a block melts through and ages by no more than some minutes."""
    try:
        return ageing(fuse(2, block_mm / 2, press)).used_minutes <= minutes
    except checks.InputError:
        return False


def _largest(low: float, high: float, holds: Callable[[float], bool]) -> float:
    """Return the largest number for which a condition holds, as it does for all smaller ones; 0 if none."""
    if holds(high):
        return high
    if not holds(low):
        return 0.0
    for _ in range(_ROUNDS):
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low
