"""Minutes: how long a charge takes to melt, to be folded, and to cool under boards.

The slab is one layer of `conduction`; the plates are held temperatures behind a liner, the boards are layers
of their own, because a wooden board takes up about as much heat as half a sheet holds. Folding lays the
slab's own temperature profile over itself, mirrored, and presses it flat: the chilled skins meet inside.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .. import checks
from .conduction import Array, Course, Layer, Material, Side, Until, conduct
from .press_setup import Pace, PressSetup, Setting, setting
from .properties import hdpe

# Cells through the slab. Beside 96 of them 24 melt 3-4 % late and 12 some 10 %, of a thin slab's short time;
# everything else comes out within 0.2 %. Thin cells need short steps, so a thin slab has fewer.
MIN_CELLS, MAX_CELLS, CELL_MM = 12, 24, 0.25
HOT_EVERY_S, COLD_EVERY_S = 2.0, 30.0  # spacing of the times kept for the chart
MAX_HEATING_S = 4 * 3600.0
MAX_COOLING_S = 72 * 3600.0


@dataclass(frozen=True)
class Fold:
    """A fold and the press that follows it, as far as heat goes.

    Attributes
    ----------
    layers : int
        Sheets on each other before the press.
    mass_kg_m2 : float
        Plastic on a square metre of plan after it.
    """

    layers: int
    mass_kg_m2: float


@dataclass(frozen=True)
class Step:
    """One thing to do at the press.

    Attributes
    ----------
    kind : str
        melt, turn, fold, press, join or cool.
    start_s, seconds : float
        When it starts, from the first closing of the press, and how long it takes.
    coolest_c, hottest_c : float
        Within the slab as the step ends, °C.
    """

    kind: str
    start_s: float
    seconds: float
    coolest_c: float
    hottest_c: float


@dataclass(frozen=True)
class Timetable:
    """The hot work and the cooling, timed.

    Attributes
    ----------
    steps : tuple of Step
        In order. With several loads the steps before `join` are one load's, and are done for each.
    seconds, core_c, bottom_c, top_c : ndarray, shape (times,)
        Temperature of the middle and of both faces against time.
    melted_s : float
        When the slowest point had first melted, s from the start.
    hot_s : float
        When the hot work ends and the sheet goes under the boards.
    solid_s, safe_s, release_s : float
        Under the boards: until the last point is solid, is safe to handle, and leaves the clamps.
    melt_heat_j_m2 : float
        Heat the plates gave until `melted_s`, J on a square metre of plan.
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
    melt_heat_j_m2: float

    def work_s(self, loads: int = 1) -> float:
        """Hot work in all, s, where the steps before the joining are done for each load."""
        joining = next((step.start_s for step in self.steps if step.kind == "join"), self.hot_s)
        return self.hot_s + (loads - 1) * joining


def timetable(
    mass_kg_m2: float,
    folds: Sequence[Fold] = (),
    bench: PressSetup | None = None,
    *,
    pace: Pace = "usual",
    loads: int = 1,
) -> Timetable:
    """Time the hot work and the cooling of one sheet.

    Parameters
    ----------
    mass_kg_m2 : float
        Plastic of one load on a square metre of plan, as it is melted.
    folds : sequence of Fold
        In order.
    bench : PressSetup, optional
        The press and the boards.
    pace : str
        Which end of the published properties: quick, usual or slow.
    loads : int
        With more than one, each load is melted and folded by itself and left to cool; at the end all are
        laid on each other, melted through once more and pressed to one sheet. (The slowest way: loads
        kept hot in between need less.)

    Returns
    -------
    Timetable

    Raises
    ------
    InputError
        Where the plates do not melt the charge through within `MAX_HEATING_S`, or it cools too slowly.
    """
    bench = bench or PressSetup()
    checks.positive("mass_kg_m2 of a load", mass_kg_m2, "weigh the flakes")
    work = _Work(bench, setting(bench, pace))
    work.charge(mass_kg_m2)
    for fold in folds:
        work.fold(fold)
    if loads > 1:
        work.join(loads)
    return work.timetable()


def folded(slab: Layer, fold: Fold) -> Layer:
    """Lay a slab over itself, every other layer mirrored, and press it to its new mass a square metre.

    Pressing widens all layers alike, so the profile is that of the pile: the heat of a gram stays as it is.
    """
    bottom_up = slab.enthalpy_j_kg
    pile = [bottom_up if n % 2 == 0 else bottom_up[::-1] for n in range(fold.layers)]
    pressed = np.concatenate(pile).reshape(-1, fold.layers).mean(axis=1)
    return Layer(slab.material, fold.mass_kg_m2, pressed)


class _Work:
    """The slab on its way through the hot work, and what happened to it so far."""

    def __init__(self, bench: PressSetup, at: Setting) -> None:
        self.bench, self.at = bench, at
        self.courses: list[tuple[str, Course]] = []
        self.slab = Layer.at(at.solid, 1.0, bench.room_c, MIN_CELLS)
        self.melted = 0  # how many of the courses it took to melt the charge

    def charge(self, mass_kg_m2: float) -> None:
        """Melt a bed of loose flakes through, and let it soak."""
        solid_mm = 1000 * mass_kg_m2 / self.at.solid.solid.density_kg_m3
        cells = int(np.clip(solid_mm / CELL_MM, MIN_CELLS, MAX_CELLS))
        self.slab = Layer.at(self.at.loose, mass_kg_m2, self.bench.room_c, cells)
        self._heat("melt")
        self.melted = len(self.courses)
        self.slab = Layer(self.at.solid, mass_kg_m2, self.slab.enthalpy_j_kg)  # no longer a bed
        self._soak()

    def fold(self, fold: Fold) -> None:
        """Open the press, fold the slab in the room air, press it until it is molten again."""
        self._run("fold", self.at.air, self.at.air, self.bench.open_s)
        self.slab = folded(self.slab, fold)
        self._heat("press", self.bench.press_s)

    def join(self, loads: int) -> None:
        """Lay as many cooled loads on each other and melt them to one slab."""
        mass_kg_m2, cells = loads * self.slab.mass_kg_m2, len(self.slab.enthalpy_j_kg)
        self.slab = Layer.at(self.at.solid, mass_kg_m2, self.bench.room_c, cells)
        self._heat("join")
        self._soak()

    def timetable(self) -> Timetable:
        """Cool the slab under the boards and sum everything up."""
        cooling = self._cool()
        hottest = cooling.temperature_c[1].max(axis=1)
        curves = [_curves(course) for _, course in self.courses]
        spans = [course.seconds[-1] for _, course in self.courses]
        starts = np.concatenate([[0.0], np.cumsum(spans)])
        table = hdpe()
        return Timetable(
            steps=tuple(
                Step(kind, float(start), float(course.seconds[-1]), *_extremes(course))
                for (kind, course), start in zip(self.courses, starts, strict=False)
            ),
            seconds=np.concatenate([c.seconds + t for (_, c), t in zip(self.courses, starts, strict=False)]),
            core_c=np.concatenate([core for core, _, _ in curves]),
            bottom_c=np.concatenate([bottom for _, bottom, _ in curves]),
            top_c=np.concatenate([top for _, _, top in curves]),
            melted_s=float(starts[self.melted]),
            hot_s=float(starts[-2]),
            solid_s=_falls_to(table["melting_start_c"]["value"], cooling.seconds, hottest),
            safe_s=_falls_to(table["safe_core_c"]["value"], cooling.seconds, hottest),
            release_s=float(cooling.seconds[-1]),
            melt_heat_j_m2=float(sum(c.heat_in_j_m2[-1].sum() for _, c in self.courses[: self.melted])),
        )

    def _heat(self, kind: str, least_s: float = 0.0) -> None:
        """Press between the plates until the slab is molten through, turning it if one side is cold."""
        mark, spent = hdpe()["melting_end_c"]["value"], 0.0
        stretch = MAX_HEATING_S if self.bench.heated_plates == 2 else self.bench.turn_s
        while spent < MAX_HEATING_S:
            until = Until(0, mark, rising=True, after_s=least_s - spent)
            course = self._run(kind, self.at.plate, self.at.facing, stretch, until)
            if course.reached:
                return
            spent += course.seconds[-1]
            self.slab, kind = self.slab.turned(), "turn"
        coldest = self.slab.temperature_c.min()
        after = checks.Raw(f"{coldest:.0f} °C inside after {MAX_HEATING_S / 3600:g} hours")
        rule = f"the press must bring the whole load above {mark:g} °C"
        checks.refuse(rule, after, "press smaller loads, or hotter plates within their limits")

    def _soak(self) -> None:
        """Leave the slab under the plates a little longer."""
        self._run("soak", self.at.plate, self.at.facing, self.bench.soak_s)

    def _run(self, kind: str, bottom: Side, top: Side, seconds: float, until: Until | None = None) -> Course:
        """Let one step happen and keep its course."""
        course = conduct([self.slab], bottom, top, seconds, until=until, every_s=HOT_EVERY_S)
        self.courses.append((kind, course))
        (self.slab,) = course.layers
        return course

    def _cool(self) -> Course:
        """Cool between two boards until the sheet may leave the clamps."""
        board, bench, joint = self.at.board, self.bench, self.at.board_joint_m2k_w
        mass = 1e-3 * bench.board_mm * board.solid.density_kg_m3
        plank = Layer.at(board, mass, bench.room_c, _board_cells(self.slab, board, 1e-3 * bench.board_mm))
        course = conduct(
            [plank, self.slab, plank], self.at.air, self.at.air, MAX_COOLING_S,
            joints_m2k_w=(joint, joint), until=Until(1, bench.release_c, rising=False), every_s=COLD_EVERY_S,
        )  # fmt: skip
        if not course.reached:
            rule = f"a sheet must cool to {bench.release_c:g} °C within {MAX_COOLING_S / 3600:g} hours"
            still = checks.Raw(f"{course.layers[1].temperature_c.max():.0f} °C")
            checks.refuse(rule, still, "press a thinner one, or cool it between metal plates")
        self.courses.append(("cool", course))
        return course


def _board_cells(slab: Layer, board: Material, thickness_m: float) -> int:
    """As many cells in a board as need no shorter a step than the slab's own cells."""
    phase, wood = slab.material.solid, board.solid
    reach = np.sqrt(
        (wood.conductivity_w_mk / wood.density_kg_m3 / wood.heat_j_kgk)
        / (phase.conductivity_w_mk / phase.density_kg_m3 / phase.heat_j_kgk)
    )
    cell_m = slab.mass_kg_m2 / phase.density_kg_m3 / len(slab.enthalpy_j_kg) * reach
    return int(np.clip(thickness_m / cell_m, 1, MAX_CELLS))


def _slab(course: Course) -> Array:
    """Temperatures of the slab, which is the middle layer of whatever stack it lay in."""
    return course.temperature_c[len(course.temperature_c) // 2]


def _curves(course: Course) -> tuple[Array, Array, Array]:
    """Middle, bottom face and top face against time; faces by a straight line from the outer two cells."""
    t = _slab(course)
    cells = t.shape[1]
    middle = t[:, (cells - 1) // 2 : cells // 2 + 1].mean(axis=1)
    return middle, 1.5 * t[:, 0] - 0.5 * t[:, 1], 1.5 * t[:, -1] - 0.5 * t[:, -2]


def _extremes(course: Course) -> tuple[float, float]:
    """Coldest and hottest point of the slab as a step ends."""
    end = _slab(course)[-1]
    return float(end.min()), float(end.max())


def _falls_to(mark_c: float, seconds: Array, hottest_c: Array) -> float:
    """When a falling temperature meets a mark, s."""
    return float(np.interp(-mark_c, -hottest_c, seconds))
