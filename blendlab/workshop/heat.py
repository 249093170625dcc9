"""Times: how long a charge takes to melt, to fold and to cool under boards.

The slab is one layer of `conduction`. The plates are fixed temperatures behind a liner. The boards are layers
of their own, because a wooden board takes up about as much heat as half a sheet holds. Folding stacks the
slab's temperature profile on its mirror image and presses it flat, so the chilled skins end up inside.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from .. import checks
from .conduction import Array, Boundary, History, Layer, Material, StopCondition, conduct
from .press_setup import Pace, PressSetup, ThermalModel, thermal_model
from .properties import hdpe

# Cells through the slab. Compared with 96 cells, 24 melt 3-4 % late and 12 some 10 % (of a thin slab's short
# time); everything else agrees within 0.2 %. Thin cells need short steps, so a thin slab has fewer.
MIN_CELLS, MAX_CELLS, CELL_MM = 12, 24, 0.25
HOT_EVERY_S, COLD_EVERY_S = 2.0, 30.0  # spacing of the times kept for the chart
MAX_HEATING_S = 4 * 3600.0
MAX_COOLING_S = 72 * 3600.0


@dataclass(frozen=True)
class Fold:
    """A fold and the press that follows it, as far as heat is concerned.

    Attributes
    ----------
    layers : int
        Thicknesses stacked before the press.
    mass_kg_m2 : float
        Plastic per square metre of plan after it.
    """

    layers: int
    mass_kg_m2: float


@dataclass(frozen=True)
class Step:
    """One step at the press.

    Attributes
    ----------
    kind : str
        melt, turn, soak, fold, press, join or cool.
    start_s, seconds : float
        Start, counted from the first closing of the press, and length.
    coolest_c, hottest_c : float
        Within the slab at the end of the step, °C.
    """

    kind: str
    start_s: float
    seconds: float
    coolest_c: float
    hottest_c: float


@dataclass(frozen=True)
class Timetable:
    """Times and temperatures of the hot work and the cooling.

    Attributes
    ----------
    steps : tuple of Step
        In order. With several loads, the steps before `join` are those of one load, to be repeated for each.
    seconds, core_c, bottom_c, top_c : ndarray, shape (times,)
        Temperature of the middle and of both faces over time.
    melted_s : float
        When the last point has melted, s from the start.
    hot_s : float
        When the hot work ends and the sheet goes under the boards.
    solid_s, safe_s, release_s : float
        Time under the boards until the last point is solid, until the sheet is safe to handle, and until it
        leaves the clamps.
    """

    steps: tuple[Step, ...]
    seconds: Array
    core_c: Array
    bottom_c: Array
    top_c: Array
    melted_s: float
    hot_s: float
    solid_s: float
    safe_s: float
    release_s: float

    def work_s(self, loads: int = 1) -> float:
        """Total hot work, s, with the steps before joining repeated for each load."""
        joining = next((step.start_s for step in self.steps if step.kind == "join"), self.hot_s)
        return self.hot_s + (loads - 1) * joining


def timetable(
    mass_kg_m2: float,
    folds: Sequence[Fold] = (),
    press: PressSetup | None = None,
    *,
    pace: Pace = "usual",
    loads: int = 1,
) -> Timetable:
    """Time the hot work and the cooling of one sheet.

    InputError where the plates cannot melt the charge through within `MAX_HEATING_S`, or it cools too slowly.

    Parameters
    ----------
    mass_kg_m2 : float
        Plastic of one load per square metre of plan, as it melts.
    loads : int
        With more than one, each load is melted and folded separately and left to cool; then all are stacked,
        melted through once more and pressed into one sheet. (This is the slowest way: loads kept hot need
        less.)
    """
    press = press or PressSetup()
    checks.positive("mass_kg_m2 of a load", mass_kg_m2, "weigh the flakes")
    process = _Process(press, thermal_model(press, pace))
    process.charge(mass_kg_m2)
    for fold in folds:
        process.fold(fold)
    if loads > 1:
        process.join(loads)
    return process.timetable()


def fused(sheets: int, sheet_kg_m2: float, press: PressSetup, *, pace: Pace = "usual") -> Timetable:
    """Time cold sheets that are stacked and melted into one block.

    InputError where the plates cannot melt the stack through within `MAX_HEATING_S`, or it cools too slowly.

    Parameters
    ----------
    sheets : int
        1 or more.
    sheet_kg_m2 : float
        Mass of one sheet per square metre of plan, above 0.
    """
    process = _Process(press, thermal_model(press, pace))
    process.slab = Layer.at(process.at.solid, sheet_kg_m2, press.room_c, MAX_CELLS)
    process.join(sheets)
    process.melted = len(process.histories) - 1  # all but the soak
    return process.timetable()


def folded(slab: Layer, fold: Fold) -> Layer:
    """Stack a slab on itself, every other layer mirrored, and press it to its new mass per area.

    Pressing spreads all layers alike, so the profile is that of the stack: each gram keeps its heat.
    """
    bottom_up = slab.enthalpy_j_kg
    stack = [bottom_up if n % 2 == 0 else bottom_up[::-1] for n in range(fold.layers)]
    pressed = np.concatenate(stack).reshape(-1, fold.layers).mean(axis=1)
    return Layer(slab.material, fold.mass_kg_m2, pressed)


class _Process:
    """The slab during the hot work, with its history so far."""

    def __init__(self, press: PressSetup, at: ThermalModel) -> None:
        self.press, self.at = press, at
        self.histories: list[tuple[str, History]] = []
        self.slab = Layer.at(at.solid, 1.0, press.room_c, MIN_CELLS)
        self.melted = 0  # number of histories until the charge has melted

    def charge(self, mass_kg_m2: float) -> None:
        """Melt a bed of loose flakes through and let it soak."""
        solid_mm = 1000 * mass_kg_m2 / self.at.solid.solid.density_kg_m3
        cells = int(np.clip(solid_mm / CELL_MM, MIN_CELLS, MAX_CELLS))
        self.slab = Layer.at(self.at.loose, mass_kg_m2, self.press.room_c, cells)
        self._heat("melt")
        self.melted = len(self.histories)
        self.slab = Layer(self.at.solid, mass_kg_m2, self.slab.enthalpy_j_kg)  # no longer a bed
        self._soak()

    def fold(self, fold: Fold) -> None:
        """Open the press, fold the slab in the room's air and press it until it is molten again."""
        self._run("fold", self.at.air, self.at.air, self.press.open_s)
        self.slab = folded(self.slab, fold)
        self._heat("press", self.press.press_s)

    def join(self, loads: int) -> None:
        """Stack the cooled loads and melt them into one slab."""
        mass_kg_m2, cells = loads * self.slab.mass_kg_m2, len(self.slab.enthalpy_j_kg)
        self.slab = Layer.at(self.at.solid, mass_kg_m2, self.press.room_c, cells)
        self._heat("join")
        self._soak()

    def timetable(self) -> Timetable:
        """Cool the slab under the boards and collect all times."""
        cooling = self._cool()
        hottest = cooling.temperature_c[1].max(axis=1)
        curves = [_curves(history) for _, history in self.histories]
        spans = [history.seconds[-1] for _, history in self.histories]
        starts = np.concatenate([[0.0], np.cumsum(spans)])
        table = hdpe()
        return Timetable(
            steps=tuple(
                Step(kind, float(start), float(history.seconds[-1]), *_extremes(history))
                for (kind, history), start in zip(self.histories, starts, strict=False)
            ),
            seconds=np.concatenate(
                [c.seconds + t for (_, c), t in zip(self.histories, starts, strict=False)]
            ),
            core_c=np.concatenate([core for core, _, _ in curves]),
            bottom_c=np.concatenate([bottom for _, bottom, _ in curves]),
            top_c=np.concatenate([top for _, _, top in curves]),
            melted_s=float(starts[self.melted]),
            hot_s=float(starts[-2]),
            solid_s=_falls_to(table["setting_end_c"]["value"], cooling.seconds, hottest),
            safe_s=_falls_to(table["safe_core_c"]["value"], cooling.seconds, hottest),
            release_s=float(cooling.seconds[-1]),
        )

    def _heat(self, kind: str, min_s: float = 0.0) -> None:
        """Press until the slab is molten through, turning it over if only one plate is heated."""
        molten_c, spent = hdpe()["melting_end_c"]["value"], 0.0
        longest_s = MAX_HEATING_S if self.press.heated_plates == 2 else self.press.turn_s
        while spent < MAX_HEATING_S:
            stop = StopCondition(0, molten_c, rising=True, after_s=min_s - spent)
            history = self._run(kind, self.at.plate, self.at.upper_plate, longest_s, stop)
            if history.reached:
                return
            spent += history.seconds[-1]
            self.slab, kind = self.slab.flipped(), "turn"
        coldest = self.slab.temperature_c.min()
        after = checks.Raw(f"{coldest:.0f} °C inside after {MAX_HEATING_S / 3600:g} hours")
        rule = f"the press must bring the whole load above {molten_c:g} °C"
        checks.refuse(rule, after, "press less at once, or with hotter plates within their limits")

    def _soak(self) -> None:
        """Leave the slab between the plates for the soak."""
        self._run("soak", self.at.plate, self.at.upper_plate, self.press.soak_s)

    def _run(
        self, kind: str, bottom: Boundary, top: Boundary, seconds: float, stop: StopCondition | None = None
    ) -> History:
        """Run one step and keep its history."""
        history = conduct([self.slab], bottom, top, seconds, stop=stop, every_s=HOT_EVERY_S)
        self.histories.append((kind, history))
        (self.slab,) = history.layers
        return history

    def _cool(self) -> History:
        """Cool between two boards until the sheet can leave the clamps."""
        board, press, joint = self.at.board, self.press, self.at.board_joint_m2k_w
        self.slab = replace(self.slab, material=self.at.cooling)
        mass = 1e-3 * press.board_mm * board.solid.density_kg_m3
        plank = Layer.at(board, mass, press.room_c, board_cells(self.slab, board, 1e-3 * press.board_mm))
        history = conduct(
            [plank, self.slab, plank], self.at.air, self.at.air, MAX_COOLING_S,
            joints_m2k_w=(joint, joint), stop=StopCondition(1, press.release_c, rising=False),
            every_s=COLD_EVERY_S,
        )  # fmt: skip
        if not history.reached:
            rule = f"a sheet must cool to {press.release_c:g} °C within {MAX_COOLING_S / 3600:g} hours"
            still = checks.Raw(f"{history.layers[1].temperature_c.max():.0f} °C")
            checks.refuse(rule, still, "press a thinner one, or cool it between metal plates")
        self.histories.append(("cool", history))
        return history


def board_cells(slab: Layer, board: Material, thickness_m: float) -> int:
    """Return how many cells a board can have without shorter time steps than the slab's."""
    phase, wood = slab.material.solid, board.solid
    depth_ratio = np.sqrt(
        (wood.conductivity_w_mk / wood.density_kg_m3 / wood.heat_j_kgk)
        / (phase.conductivity_w_mk / phase.density_kg_m3 / phase.heat_j_kgk)
    )
    cell_m = slab.mass_kg_m2 / phase.density_kg_m3 / len(slab.enthalpy_j_kg) * depth_ratio
    return int(np.clip(thickness_m / cell_m, 1, MAX_CELLS))


def _slab(history: History) -> Array:
    """Temperatures of the slab, the middle layer of its stack."""
    return history.temperature_c[len(history.temperature_c) // 2]


def _curves(history: History) -> tuple[Array, Array, Array]:
    """Middle, bottom face and top face over time; faces extrapolated from the outer two cells."""
    t = _slab(history)
    cells = t.shape[1]
    middle = t[:, (cells - 1) // 2 : cells // 2 + 1].mean(axis=1)
    return middle, 1.5 * t[:, 0] - 0.5 * t[:, 1], 1.5 * t[:, -1] - 0.5 * t[:, -2]


def _extremes(history: History) -> tuple[float, float]:
    """Coldest and hottest point of the slab at the end of a step."""
    end = _slab(history)[-1]
    return float(end.min()), float(end.max())


def _falls_to(threshold_c: float, seconds: Array, hottest_c: Array) -> float:
    """When a falling temperature reaches a threshold, s."""
    return float(np.interp(-threshold_c, -hottest_c, seconds))
