"""How far a sheet bows if it leaves the clamps while one side is still warmer than the other.

Held flat, a hot sheet relaxes until no stress is left in it. Once released it shrinks freely by the remaining
strain ε(z) = −α (T(z) − T_room), whose first moment bends it (strip theory; for injection moulding St.
Jacques 1982, Polym. Eng. Sci. 22:241). As expansion is the same throughout the sheet, its stiffness drops
out:

    κ = 12/h³ ∫ ε z dz        bow over a length L: κ L²/8

A bow is an estimate. Stress that remains in the clamped sheet keeps it flatter; near its melting range HDPE
expands up to twice as much as when cold (from memory), which bends it further. Both are neglected.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from .. import checks
from .conduction import Array, Boundary, Layer, StopCondition, conduct
from .heat import COLD_EVERY_S, MAX_CELLS, MAX_COOLING_S, board_cells
from .press_setup import PressSetup, ThermalModel, thermal_model
from .properties import hdpe, heat

Way = Literal["open air", "one board", "two boards"]
WAYS: tuple[Way, ...] = ("open air", "one board", "two boards")
MARKS_C = (100.0, 80.0, 60.0)  # temperatures at which the bow is reported in words


def curvature_1_m(strain: Array, thickness_m: float) -> float:
    """Curvature of a strip that is free to bend, 1/m.

    Parameters
    ----------
    strain : ndarray, shape (cells,)
        Of each cell through the thickness, bottom first, all cells alike; its mean only shortens the strip.
    thickness_m : float
        Above 0.

    Returns
    -------
    float
        12/h³ ∫ ε z dz, exact for cells of even strain; above 0 where the top is longer, so that the middle
        of the sheet rises.

    Examples
    --------
    >>> curvature_1_m(np.array([-0.0005, 0.0005]), 0.006)
    0.25
    """
    cells = len(strain)
    z = (np.arange(cells) + 0.5) / cells - 0.5
    return float(12 / thickness_m * np.mean(np.asarray(strain) * z))


def bow_mm(curvature: float, length_mm: float) -> float:
    """Height of an arc over its chord, mm: κ L²/8, for bows far below the length."""
    return abs(curvature) * length_mm**2 / 8e3


@dataclass(frozen=True)
class Flatness:
    """A cooling sheet, and the bow it keeps if it is released before it is cold.

    Attributes
    ----------
    seconds : ndarray, shape (times,)
        From the end of the hot work.
    hottest_c : ndarray, shape (times,)
        Hottest point of the sheet.
    bow_mm : ndarray, shape (times,)
        Along its longer side once it is cold, if it is released then.
    solid_s : float
        When its last point is solid; before that it holds no shape.
    """

    seconds: Array
    hottest_c: Array
    bow_mm: Array
    solid_s: float

    def let_go_at(self, hottest_c: float) -> float:
        """Bow in mm of a sheet released when its hottest point has fallen to a temperature, °C."""
        return float(np.interp(-hottest_c, -self.hottest_c, self.bow_mm))

    def as_json(self, release_c: float) -> dict[str, Any]:
        """Return the bows for JSON, the last of the curve at the release temperature, °C."""
        marks = [*(mark for mark in MARKS_C if mark > release_c), release_c]
        return {
            "never_clamped": round(self.unclamped_mm, 2),
            "let_go_at_c": [[mark, round(self.let_go_at(mark), 2)] for mark in marks],
        }

    @property
    def unclamped_mm(self) -> float:
        """Bow in mm of a sheet that was never clamped: it sets as its last point turns solid."""
        return float(np.interp(self.solid_s, self.seconds, self.bow_mm))


def flatness(
    mass_kg_m2: float,
    length_mm: float,
    way: Way,
    press: PressSetup | None = None,
    *,
    start_c: float | None = None,
) -> Flatness:
    """Cool a sheet in one of the usual ways and work out how far it bows.

    InputError where a value breaks its rule.

    Parameters
    ----------
    mass_kg_m2 : float
        Of the sheet, above 0.
    length_mm : float
        Its longer side, above 0.
    way : str
        One of `WAYS`. In open air its lower face loses half as much heat as the upper; on one board its top
        is open to the air; between two boards one makes the best contact a flat board can, the other the
        worst.
    start_c : float, optional
        Even temperature of the sheet as it leaves the press, °C; that of the plates by default.
    """
    press = press or PressSetup()
    checks.positive("mass_kg_m2 of a sheet", mass_kg_m2, "weigh it")
    checks.positive("length_mm of a sheet", length_mm, "measure its longer side")
    checks.one_of("way to cool", way, WAYS)
    at = thermal_model(press, "usual")
    hot = press.plate_c if start_c is None else start_c
    sheet = Layer.at(at.cooling, mass_kg_m2, hot, MAX_CELLS)
    stack, joints, bottom, top = _stack(sheet, way, press, at)
    place = stack.index(sheet)
    course = conduct(
        stack, bottom, top, MAX_COOLING_S, joints_m2k_w=joints,
        stop=StopCondition(place, press.release_c, rising=False), every_s=COLD_EVERY_S,
    )  # fmt: skip
    temperature = course.temperature_c[place]
    thickness_m = mass_kg_m2 / at.solid.solid.density_kg_m3
    alpha = hdpe()["expansion_per_k"]["usual"]
    curved = [curvature_1_m(-alpha * (t - press.room_c), thickness_m) for t in temperature]
    hottest = temperature.max(axis=1)
    solid = float(np.interp(-hdpe()["setting_end_c"]["value"], -hottest, course.seconds))
    return Flatness(course.seconds, hottest, np.array([bow_mm(k, length_mm) for k in curved]), solid)


def _stack(
    sheet: Layer, way: Way, press: PressSetup, at: ThermalModel
) -> tuple[list[Layer], Sequence[float], Boundary, Boundary]:
    """Layers from the bottom up, the joints between them and the outer boundaries."""
    if way == "open air":
        return [sheet], (), at.air._replace(film_w_m2k=at.air.film_w_m2k / 2), at.air
    thickness_m = 1e-3 * press.board_mm
    cells = board_cells(sheet, at.board, thickness_m)
    board = Layer.at(at.board, thickness_m * at.board.solid.density_kg_m3, press.room_c, cells)
    contact = heat()["board_contact_w_m2k"]
    well, badly = (at.liner_m2k_w + 1 / contact[end] for end in ("high", "low"))
    if way == "one board":
        return [board, sheet], (well,), at.air, at.air
    return [board, sheet, board], (well, badly), at.air, at.air
