"""Whether the press closes: how long each press takes under what holds it shut, and what would help."""

from dataclasses import dataclass, replace
from math import ceil, floor, log10
from typing import Any

from .. import checks
from ..recipe.folding_moves import Folding
from ..recipe.slab_size import Cycle, Size
from ..tables.ranges import Range
from ..units import percent
from .melt_flow import Stock, melt
from .press_setup import PACES, Pace, PressSetup
from .properties import flow, hdpe, heat
from .squeeze_flow import Squeeze

CLOSINGS = tuple(flow()["closing"])
TALLER = 1.5  # how much higher a slab is worked in the advice
HOTTER_C = 20.0  # how much hotter plates the advice looks at
CLEAR_OF_LIMIT_C = 10.0  # and how far below a limit they stay


@dataclass(frozen=True)
class Closing:
    """What holds the press shut.

    InputError where a value breaks its rule, or neither is given.

    Parameters
    ----------
    kind : str, optional
        One of `CLOSINGS`, each with its usual range of forces.
    force_n : float, optional
        Measured by the maker, N, including the lid's weight, 1 to a million; overrides the kind's range.
    """

    kind: str | None = None
    force_n: float | None = None

    def __post_init__(self) -> None:
        """Check both."""
        if self.kind is not None:
            checks.one_of("what holds the press shut", self.kind, CLOSINGS)
        elif self.force_n is None:
            checks.refuse("what holds the press shut must be known", None, "name it, or give the force in N")
        if self.force_n is not None:
            remedy = "give the force on the plates, such as 300 for own hands"
            checks.number("force on the press in N", self.force_n, 1, 1e6, remedy)

    @property
    def force(self) -> Range:
        """Force on the plates, N."""
        if self.force_n is not None:
            return Range(self.force_n, self.force_n, self.force_n)
        row = flow()["closing"][self.kind]
        return Range(row["low_n"], row["usual_n"], row["high_n"])


@dataclass(frozen=True)
class Pressing:
    """How one press closes.

    Attributes
    ----------
    seconds : Range
        From the folded height to the spacers.
    pressure_kpa : Range
        Gauge pressure on the plan, at the spacers.
    needed_n : float
        Force that closes it in the time the plan allows, N, in the usual melt.
    """

    squeeze: Squeeze
    seconds: Range
    pressure_kpa: Range
    needed_n: float


@dataclass(frozen=True)
class ClosingReport:
    """All presses of one load under one closing.

    Attributes
    ----------
    allowed_s : float
        Time the plan allows for each press.
    presses : tuple of Pressing
        One for each fold, in order.
    """

    closing: Closing
    stock: Stock
    melt_c: float
    allowed_s: float
    presses: tuple[Pressing, ...]

    @property
    def slowest(self) -> Pressing:
        """The press that takes longest."""
        return max(self.presses, key=lambda press: press.seconds.usual)

    @property
    def closes(self) -> bool:
        """Whether every press closes, in the usual melt, within the longest time worth waiting."""
        return self.slowest.seconds.usual <= 60 * float(flow()["longest_press_minutes"]["value"])

    def wait_s(self, pace: Pace) -> float:
        """How long each press is held at a pace, s: until it closes, or the longest time worth waiting."""
        slowest = {"quick": self.slowest.seconds.low, "usual": self.slowest.seconds.usual}
        longest = 60 * float(flow()["longest_press_minutes"]["value"])
        return min(max(self.allowed_s, slowest.get(pace, self.slowest.seconds.high)), longest)

    def as_json(self) -> dict[str, Any]:
        """Return the numbers for JSON, presses in order."""
        return {
            "force_n": list(self.closing.force),
            "press_seconds": [[round(s, 1) for s in each.seconds] for each in self.presses],
            "pressure_kpa": [[round(p, 2) for p in each.pressure_kpa] for each in self.presses],
            "needed_n": round(max(each.needed_n for each in self.presses)),
            "closes": self.closes,
            "in_time": self.in_time,
        }

    @property
    def in_time(self) -> bool:
        """Whether every press closes, in the usual melt, in the time the plan allows."""
        return self.slowest.seconds.usual <= self.allowed_s


def closing_report(
    folding: Folding, first_mm: Size, closing: Closing, stock: Stock, melt_c: float, *, loads: int = 1,
    allowed_s: float,
) -> ClosingReport | None:  # fmt: skip
    """Work out how long each press of one load takes to close.

    Parameters
    ----------
    first_mm : tuple of float
        Length, width and height of the first hot slab, of all loads together.
    loads : int
        Each load has the plan of the sheet and its share of the height.
    allowed_s : float
        Time the plan allows for each press, s, above 0.

    Returns
    -------
    ClosingReport, or None
        None where nothing is folded: loose flakes settle as they melt and are not squeezed as a slab.
    """
    checks.positive("time a press is given in s", allowed_s, "give each press some time")
    cycles = folding.cycles(first_mm)
    if not cycles:
        return None
    presses = tuple(
        _press(cycle, folding.drag, closing.force, stock, melt_c, loads, allowed_s) for cycle in cycles
    )
    return ClosingReport(closing, stock, melt_c, allowed_s, presses)


def _press(
    cycle: Cycle, drag: float, force: Range, stock: Stock, melt_c: float, loads: int, allowed_s: float
) -> Pressing:
    """Work out one press at each pace; the runniest melt goes with the greatest force."""
    length, width, height = cycle.after_mm
    squeeze = Squeeze(
        area_m2=1e-6 * length * width,
        start_m=1e-3 * cycle.folded_mm[2] / loads,
        end_m=1e-3 * height / loads,
        drag=drag,
    )
    melts = [melt(stock, melt_c, pace) for pace in PACES]
    forces = (force.high, force.usual, force.low)
    seconds = Range(*(squeeze.seconds(each, n) for each, n in zip(melts, forces, strict=True)))
    kpa = Range(*(1e-3 * n / squeeze.area_m2 for n in force))
    needed = force.usual * (seconds.usual / allowed_s) ** melts[1].index
    return Pressing(squeeze, seconds, kpa, needed)


def advice(report: ClosingReport, press: PressSetup) -> tuple[str, ...]:
    """Say what would let the slowest press close in time, within the limits of the plates and liners."""
    if report.in_time:
        return ()
    squeeze = report.slowest.squeeze
    half = replace(squeeze, area_m2=squeeze.area_m2 / 2)
    tall = replace(
        squeeze,
        area_m2=squeeze.area_m2 / TALLER,
        start_m=squeeze.start_m * TALLER,
        end_m=squeeze.end_m * TALLER,
    )
    said = [
        f"More force: {_rounded_up(report.slowest.needed_n):g} N closes it within {report.allowed_s:.0f} s.",
        f"A smaller load: half the plan takes {_part(report, half, report.melt_c)} of the time.",
        f"More folds of a thicker slab: {TALLER:g} times as high, and pressed flat only at the end, it takes "
        f"{_part(report, tall, report.melt_c)} of the time at each press.",
    ]
    limit_c = min(heat()["liner"][press.liner]["limit_c"], hdpe()["breakdown_c"]["value"]) - CLEAR_OF_LIMIT_C
    hotter_c = min(press.plate_c + HOTTER_C, limit_c)
    if hotter_c > press.plate_c:
        part = _part(report, squeeze, report.melt_c + hotter_c - press.plate_c)
        said.append(f"Hotter plates, within the limits: {hotter_c:g} °C takes {part} of the time.")
    return tuple(said)


def _part(report: ClosingReport, squeeze: Squeeze, melt_c: float) -> str:
    """Time of another press as a part of the slowest one's, in words."""
    seconds = squeeze.seconds(melt(report.stock, melt_c, "usual"), report.closing.force.usual)
    return percent(seconds / report.slowest.seconds.usual)


def _rounded_up(newtons: float) -> float:
    """Round up to two digits."""
    unit = 10 ** (floor(log10(newtons)) - 1)
    return float(ceil(newtons / unit - 1e-9) * unit)
