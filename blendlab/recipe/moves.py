"""The registry of moves: every way of folding a hot slab.

Sizes, compiled steps, command line and pages all read from `MOVES`. Another way of folding along straight
lines, or of cutting and stacking, is another `PanelMove`: its name, its words, its lines, and where each
panel goes.
"""

import math
from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from .. import checks

MIN_ROLL = 2.0  # length over height below which a slab cannot be rolled up
EQUAL = 1e-6  # relative difference of two lengths that count as equal
NARROWEST = 1e-12  # as a part of the side; narrower columns are rounding errors
HANDLING = ("flip", "turn")  # moves that only handle the slab: no press follows

Size = tuple[float, float, float]  # length, width, height in mm


@dataclass(frozen=True)
class Panel:
    """A part of the slab between two fold lines.

    Attributes
    ----------
    start_mm, end_mm : float
        Its ends along the folded direction.
    way : int
        -1 where it is turned over, else 1.
    shift_mm : float
        A point at t along the folded direction ends up at shift + way*t.
    """

    start_mm: float
    end_mm: float
    way: int
    shift_mm: float

    @property
    def lies_mm(self) -> tuple[float, float]:
        """Its ends after the fold, in rising order."""
        ends = (self.shift_mm + self.way * self.start_mm, self.shift_mm + self.way * self.end_mm)
        return min(ends), max(ends)


def columns(pile: Iterable[Panel]) -> Iterator[tuple[float, float, list[Panel]]]:
    """Divide a pile of panels into columns that are equally deep all over.

    Yields
    ------
    tuple
        Start and end along the folded direction, mm, and the panels there, the lowest first.
    """
    panels = tuple(pile)
    whole = sum(panel.end_mm - panel.start_mm for panel in panels)
    for low, high in pairwise(sorted({end for panel in panels for end in panel.lies_mm})):
        if high - low >= NARROWEST * whole:
            middle = 0.5 * (low + high)
            yield low, high, [panel for panel in panels if panel.lies_mm[0] < middle < panel.lies_mm[1]]


@dataclass(frozen=True)
class Move(ABC):
    """A way of folding a hot slab, in the maker's words; a press follows."""

    name: str
    words: str

    @property
    def misses(self) -> int:
        """Number of its lines or angles that an uneven fold shifts at random."""
        return 1

    @property
    def takes_angle(self) -> bool:
        """Whether an angle in degrees may follow the name, as in ``twist:90``."""
        return False

    @abstractmethod
    def layers(self, size_mm: Size, axis: int) -> float:
        """Return the number of layers in the folded slab.

        Parameters
        ----------
        size_mm : tuple of float
            Length, width and height before.
        axis : int
            The side that is folded: 0 the length, 1 the width.
        """

    @abstractmethod
    def folded(self, size_mm: Size, axis: int) -> Size:
        """Return the folded slab's length, width and height, mm; parameters as for `layers`.

        InputError where a slab of that size cannot be folded so.
        """


@dataclass(frozen=True)
class Laid:
    """Where one panel goes.

    Parameters
    ----------
    panel : int
        Its number from the start of the side, from 0.
    over : tuple of int
        Fold lines over which it is turned, in order; none where it stays or is cut off.
    onto : int, optional
        Panel that it is laid on once it is cut off, start on start.
    """

    panel: int
    over: tuple[int, ...] = ()
    onto: int | None = None


@dataclass(frozen=True)
class PanelMove(Move):
    """Folding along straight lines across one side, or cutting and stacking.

    InputError where a panel is left out or laid twice, or the pile is not equally deep everywhere.

    Parameters
    ----------
    lines : tuple of Fraction
        Positions of the fold lines or cuts along the side, from -1 to 1, rising.
    pile : tuple of Laid
        Where each panel goes, the lowest first.
    """

    lines: tuple[Fraction, ...]
    pile: tuple[Laid, ...]

    def __post_init__(self) -> None:
        """Check that the pile is whole and level."""
        if sorted(laid.panel for laid in self.pile) != list(range(len(self.lines) + 1)):
            checks.refuse(f"{self.name} must lay every panel once", self.pile, "list each panel once")
        depths = {len(here) for *_, here in columns(self.panels(1.0, [0.0] * len(self.lines)))}
        if len(depths) != 1:
            rule = f"the pile of {self.name} must be equally deep everywhere"
            checks.refuse(rule, sorted(depths), "move its lines")

    @property
    def misses(self) -> int:
        """One for each line."""
        return len(self.lines)

    @property
    def depth(self) -> int:
        """Layers of the pile if all lines are in their places."""
        return len(next(columns(self.panels(1.0, [0.0] * len(self.lines))))[2])

    def panels(self, half_mm: float, off_mm: Sequence[float]) -> tuple[Panel, ...]:
        """Lay out the panels, the lowest first.

        Parameters
        ----------
        half_mm : float
            Half the side that is folded.
        off_mm : sequence of float
            How far each line misses its place.
        """
        lines = [
            place.numerator * half_mm / place.denominator + off
            for place, off in zip(self.lines, off_mm, strict=True)
        ]
        starts, ends = [-half_mm, *lines], [*lines, half_mm]
        found = []
        for laid in self.pile:
            way, shift = 1, 0.0
            for line in laid.over:
                way, shift = -way, 2 * lines[line] - shift
            if laid.onto is not None:
                shift += starts[laid.onto] - starts[laid.panel]
            found.append(Panel(starts[laid.panel], ends[laid.panel], way, shift))
        return tuple(found)

    def layers(self, size_mm: Size, axis: int) -> float:
        """Return the depth of the pile."""
        return self.depth

    def folded(self, size_mm: Size, axis: int) -> Size:
        """Return the size, divided along the side and multiplied in height."""
        folded = list(size_mm)
        folded[axis] /= self.depth
        folded[2] *= self.depth
        return folded[0], folded[1], folded[2]


@dataclass(frozen=True)
class CornersMove(Move):
    """Folding the four corners of a square slab to its middle."""

    def layers(self, size_mm: Size, axis: int) -> float:
        """Return two."""
        return 2

    def folded(self, size_mm: Size, axis: int) -> Size:
        """Return the size of the square of half the area."""
        length, width, height = size_mm
        if abs(length - width) > EQUAL * length:
            checks.refuse(
                f"{self.name} needs a square slab",
                checks.Raw(f"{length:.4g} x {width:.4g} mm"),
                "make both sides of the sheet equal, or fold edges-in",
            )
        return length / math.sqrt(2), width / math.sqrt(2), 2 * height


@dataclass(frozen=True)
class RollMove(Move):
    """Rolling up to a log, twisted or not, which is squared under the press."""

    twists: bool = False

    @property
    def takes_angle(self) -> bool:
        """Whether it is twisted."""
        return self.twists

    def layers(self, size_mm: Size, axis: int) -> float:
        """Return the turns of the roll, which is the mean over the plan."""
        return max(round(math.sqrt(size_mm[axis] / (math.pi * size_mm[2]))), 1)

    def folded(self, size_mm: Size, axis: int) -> Size:
        """Return the size of the log, square in section."""
        height = size_mm[2]
        if size_mm[axis] < MIN_ROLL * height:
            checks.refuse(
                f"{self.name} needs a slab at least {MIN_ROLL:g} times as long as thick",
                checks.Raw(f"{size_mm[axis]:.4g} mm long, {height:.4g} mm thick"),
                "press it thinner before, or fold it in half",
            )
        folded = list(size_mm)
        folded[axis] = folded[2] = math.sqrt(size_mm[axis] * height)
        return folded[0], folded[1], folded[2]


_MIDDLE_THEN_FLAPS = (Laid(1), Laid(2, over=(1,)), Laid(0, over=(0,)))

MOVES: dict[str, Move] = {
    move.name: move
    for move in (
        PanelMove("half", "one half is laid over the other", (Fraction(0),), (Laid(0), Laid(1, over=(0,)))),
        PanelMove(
            "edges-in",
            "two opposite edges are laid to the middle",
            (Fraction(-1, 2), Fraction(1, 2)),
            _MIDDLE_THEN_FLAPS,
        ),
        PanelMove(
            "thirds",
            "folded like a letter, three layers",
            (Fraction(-1, 3), Fraction(1, 3)),
            _MIDDLE_THEN_FLAPS,
        ),
        CornersMove("corners-in", "all four corners are laid to the middle"),
        PanelMove(
            "cut-and-stack",
            "cut in two, one half laid on the other without turning it over",
            (Fraction(0),),
            (Laid(0), Laid(1, onto=0)),
        ),
        RollMove("roll", "rolled up into a log"),
        RollMove("twist", "rolled up, and the log twisted", twists=True),
    )
}


def move_named(name: str) -> Move:
    """Return a move of the registry.

    InputError where there is no move of that name.

    Examples
    --------
    >>> move_named("thirds").layers((90.0, 90.0, 6.0), 0)
    3
    """
    return MOVES[checks.one_of("a move", name, MOVES)]
