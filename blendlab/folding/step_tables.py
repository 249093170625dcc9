"""The steps of a programme as compiled code reads them: tables of rows with named numbers.

A row of one table refers to rows of another by the first and one past the last, so a step has as many
columns, plies and discs as it needs.
"""

from collections.abc import Sequence
from typing import NamedTuple

from ..runtime.records import records
from .smear import Grid, Tipping, Turning

FLIP, PANELS, CORNERS, ROLL, SCATTER = range(5)  # kinds of step


class Ply(NamedTuple):
    """A layer of a column: what was at t ends up at shift + way*t."""

    way: float  # -1.0 where it is turned over, else 1.0
    shift: float  # mm


class Column(NamedTuple):
    """A part of a pile of panels that is equally deep all over, levelled to the depth of the even fold.

    With k plies in a pile of m, the place before levelling is slope*u + offset at the place u.
    """

    start: float  # its ends when levelled, mm
    end: float
    slope: float  # m/k
    offset: float  # mm
    flat: float  # k/m
    plies: int  # k
    first_ply: int


class Chip(NamedTuple):
    """A cell of a face on which chips are strewn: the points to which its middle is nearest."""

    u: float  # its middle, in cells from the slab's corner
    v: float
    kind: int  # of the chip there; -1 where there is none
    thick: float  # mm
    area: float  # as a part of the face


class Step(NamedTuple):
    """One fold and its press, one turning over, which has only a height, or one strewing of chips."""

    kind: int
    h0: float  # height before, mm
    a0: float = 0.0  # half length and half width before, mm
    b0: float = 0.0
    a_folded: float = 0.0  # half length, half width and height folded, mm
    b_folded: float = 0.0
    h_folded: float = 0.0
    a1: float = 0.0  # and pressed
    b1: float = 0.0
    h1: float = 0.0
    axis: int = 0  # side that is folded: 0 the length, 1 the width
    side: float = 1.0  # 1.0 or -1.0: from which end
    strain: float = 1.0  # of the press, and how length and width share its widening
    p_x: float = 0.5
    p_y: float = 0.5
    first_grid: int = 0  # layers of the press's smear
    end_grid: int = 0
    first_column: int = 0  # of a pile of panels
    end_column: int = 0
    twist: float = 0.0  # of a roll: radians for each mm along the log
    phase: float = 0.0  # angle at which it is pressed, radians
    first_chip: int = 0  # of a strewing
    chips_x: int = 0  # its cells along the length and the width
    chips_y: int = 0


class Pile(NamedTuple):
    """The levelled pile of one fold, or the chips of one strewing.

    Attributes
    ----------
    columns : record array of Column
        Its columns, in rising order.
    plies : record array of Ply
        Plies of all columns.
    chips : record array of Chip
        The cells of a face.
    """

    columns: Sequence[Column]
    plies: Sequence[Ply]
    chips: Sequence[Chip] = records(Chip)


class StepTables(NamedTuple):
    """All that compiled code needs to follow points through a programme.

    Attributes
    ----------
    steps : record array of Step
        In order.
    columns, plies : record array of Column, of Ply
        The piles of all steps.
    turning, tipping, grids
        The smears of all steps, as in `Smear`.
    chips : record array of Chip
        Those of all strewings.
    """

    steps: Sequence[Step]
    columns: Sequence[Column]
    plies: Sequence[Ply]
    turning: Sequence[Turning]
    tipping: Sequence[Tipping]
    grids: Grid
    chips: Sequence[Chip]
