"""Blanks laid out on the sheet: how many fit, and which part of the marbling each one gets."""

import math
from dataclasses import dataclass, replace

import numpy as np

from .. import checks
from ..recipe.recipe import Sheet
from ..tables import read_toml
from .faces import SIDES
from .surfaces import Flat, Floats, rectangle

KERF_MM: float = read_toml("practice/practice.toml")["kerf_mm"]["usual"]
TOUCHING = 1e-9
ROUNDING = 1e-6  # mm by which a blank at the edge may seem to stick out
# Offset of every other row, as a part of the step along a row.
ABREAST, STAGGERED = (0.0, 0.0), ((0.0, 0.5), (-0.25, 0.25))


@dataclass(frozen=True)
class Piece:
    """A blank to be sawn, or its place in a layout.

    InputError where a side is out of range, or those of a disc differ.

    Parameters
    ----------
    length_mm, width_mm : float
        Its sides; both the diameter of a round one.
    round : bool
        Whether it is a disc.
    x_mm, y_mm : float
        Its middle, from the middle of the sheet.
    """

    length_mm: float
    width_mm: float
    round: bool = False
    x_mm: float = 0.0
    y_mm: float = 0.0

    def __post_init__(self) -> None:
        """Check every value."""
        remedy = "give the finished size of one blank, in millimetres"
        checks.number("length_mm of a blank", self.length_mm, 1, 2000, remedy)
        checks.number("width_mm of a blank", self.width_mm, 1, 2000, remedy)
        if self.round and self.length_mm != self.width_mm:
            checks.refuse("a round blank must be as long as wide", self.width_mm, "give its diameter twice")

    def enlarged(self, times: float) -> "Piece":
        """Return the blank in its place on a sheet so many times longer and wider."""
        names = ("length_mm", "width_mm", "x_mm", "y_mm")
        return replace(self, **{name: times * getattr(self, name) for name in names})


@dataclass(frozen=True)
class Layout:
    """Blanks on a sheet.

    Attributes
    ----------
    pieces : tuple of Piece
        Row by row from the upper left, as the upper face is seen.
    turned : bool
        Whether they are turned by a quarter from how they were given.
    staggered : bool
        Whether rows of discs are staggered to fill each other's gaps.
    """

    pieces: tuple[Piece, ...]
    turned: bool
    staggered: bool


def lay_out(
    plan_mm: tuple[float, float],
    piece: Piece,
    kerf_mm: float = KERF_MM,
    margin_mm: float = 0.0,
    shift_mm: tuple[float, float] = (0.0, 0.0),
) -> Layout:
    """Lay as many blanks as fit on a sheet, in the plain pattern that holds the most.

    InputError where a value breaks its rule or not one blank fits.

    Parameters
    ----------
    plan_mm : tuple of float
        Length and width of the sheet, mm.
    kerf_mm : float
        What the saw takes between two blanks, mm, 0-20.
    margin_mm : float
        Trimmed off all round first, mm.
    shift_mm : tuple of float
        How far the pattern is moved from the middle, right and up, to catch a streak. The pattern is
        endless: a blank that leaves on one side can enter on the other.

    Returns
    -------
    Layout
        The pattern is chosen before it is shifted, so that it does not jump.
    """
    kerf = checks.number("kerf_mm", kerf_mm, 0, 20, "measure a saw cut, in millimetres")
    margin = checks.number("margin_mm", margin_mm, 0, 500, "give what is trimmed off each edge")
    shift = tuple(checks.number("shift_mm", s, -1000, 1000, "give how far to move, in mm") for s in shift_mm)
    room = plan_mm[0] - 2 * margin, plan_mm[1] - 2 * margin
    patterns = [(piece, False, ABREAST)]
    if piece.length_mm != piece.width_mm:
        patterns.append((Piece(piece.width_mm, piece.length_mm), True, ABREAST))
    if piece.round:
        patterns += [(piece, False, asides) for asides in STAGGERED]
    counts = [len(_pattern(room, way, kerf, (0.0, 0.0), asides)) for way, _, asides in patterns]
    if max(counts) == 0:
        size = checks.Raw(f"{piece.length_mm:g} x {piece.width_mm:g} mm")
        has = f"within its margins the sheet has {max(room[0], 0):g} x {max(room[1], 0):g} mm"
        checks.refuse("a blank must not be larger than the sheet", size, f"{has}: saw smaller ones")
    way, turned, asides = patterns[int(np.argmax(counts))]
    places = _pattern(room, way, kerf, (shift[0], shift[1]), asides)
    pieces = (Piece(way.length_mm, way.width_mm, way.round, x, y) for x, y in places)
    return Layout(tuple(pieces), turned, asides != ABREAST)


def _pattern(
    room: tuple[float, float],
    piece: Piece,
    kerf: float,
    shift: tuple[float, float],
    asides: tuple[float, float],
) -> list[tuple[float, float]]:
    """Middles of all blanks of a pattern that fit in the room, row by row from the upper left."""
    across, down = piece.length_mm + kerf, piece.width_mm + kerf
    if asides != ABREAST:
        down *= math.sqrt(0.75)  # rows of discs settle into each other
    found = []
    for row, y in sorted(_fitting(room[1], piece.width_mm, down, shift[1]), reverse=True):
        columns = _fitting(room[0], piece.length_mm, across, shift[0] + asides[row % 2] * across)
        found += [(x, y) for _, x in sorted(columns)]
    return found


def _fitting(room: float, size: float, step: float, shift: float) -> list[tuple[int, float]]:
    """Places along one direction, numbered: as many as fit, centred before the shift."""
    count = max(math.floor((room - size) / step + 1 + TOUCHING), 0)
    first = shift - 0.5 * (count - 1) * step
    most = (room - size) / 2 + TOUCHING * step
    low, high = math.ceil((-most - first) / step), math.floor((most - first) / step)
    return [(n, first + n * step) for n in range(low, high + 1)]


@dataclass(frozen=True)
class Disc:
    """A round piece of the upper face; parameters as for the square `Flat` around it."""

    around: Flat

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.around.shape

    def frames(self, first: int, last: int) -> Floats:
        """Frames of the pixels of rows first..last-1; those outside the disc show nothing."""
        frames = self.around.frames(first, last)
        rows, columns = self.shape
        down, right = np.indices((last - first, columns)) + 0.5
        off = np.hypot((down + first) / rows - 0.5, right / columns - 0.5).ravel()
        frames[off > 0.5] = np.nan
        return frames


def blank_face(piece: Piece, sheet: Sheet, px_per_mm: float) -> Flat | Disc:
    """Return the part of the upper face that a blank gets, at least one pixel of it.

    InputError where the blank does not lie on the sheet.
    """
    reach = abs(piece.x_mm) + piece.length_mm / 2, abs(piece.y_mm) + piece.width_mm / 2
    if not (reach[0] <= sheet.length_mm / 2 + ROUNDING and reach[1] <= sheet.width_mm / 2 + ROUNDING):
        where = checks.Raw(f"one that reaches {reach[0]:g} and {reach[1]:g} mm from its middle")
        has = f"the sheet reaches {sheet.length_mm / 2:g} and {sheet.width_mm / 2:g} mm"
        checks.refuse("a blank must lie on the sheet", where, has)
    middle = np.array([piece.x_mm, piece.y_mm, sheet.thickness_mm])
    right, down = (np.array(way, np.float64) for way in SIDES["top"])
    face = rectangle(middle, right, down, piece.length_mm, piece.width_mm, px_per_mm)
    return Disc(face) if piece.round else face
