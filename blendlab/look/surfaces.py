"""Which points of the slab are seen: a surface gives, row by row, small frames of its pixels.

A frame is twelve numbers: the pixel's middle, the steps to the next pixel along a row and down a
column, and the unit direction into the plastic, each x, y, z in mm of the slab. A pixel whose middle is
outside the slab (or is NaN) shows nothing.

The slab is placed as in the press: x along its length, y across, z up, from the middle of its lower face.
Every picture is seen from outside, so that right x down points into the plastic, and an edge keeps the
upper face up:

    top      length to the right, the back away        bottom   turned over sideways, like a page
    front    the side towards the maker (y lowest)     back     from behind, so its right end is x lowest
    right    the end at x highest                      left     the end at x lowest

Going round the edges front, right, back, left, each picture's right end meets the next one's left end.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from .. import checks
from ..recipe.recipe import Sheet
from .faces import SIDES
from .faces import Vector as Vector

Floats = npt.NDArray[np.float64]

TOUCHING = 1e-9  # mm within which a saw cut runs along an edge
MAX_TILT_DEG = 89.0  # tilt of a saw cut


class Surface(Protocol):
    """A surface that can be rendered."""

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""

    def frames(self, first: int, last: int) -> Floats:
        """Frames of the pixels of rows first..last-1, shape ((last - first) * columns, 12)."""


@dataclass(frozen=True)
class Flat:
    """A plane piece of surface: a face, a planed face or a saw cut.

    Attributes
    ----------
    corner_mm : tuple of float
        The picture's upper left corner, in the slab.
    right_mm, down_mm : tuple of float
        Steps from pixel to pixel along a row and down a column.
    inward : tuple of float
        Unit vector into the plastic.
    """

    shape: tuple[int, int]
    corner_mm: Vector
    right_mm: Vector
    down_mm: Vector
    inward: Vector

    def frames(self, first: int, last: int) -> Floats:
        """Frames of the pixels of rows first..last-1, shape ((last - first) * columns, 12)."""
        columns = self.shape[1]
        down = (np.arange(first, last) + 0.5)[:, None, None] * self.down_mm
        right = (np.arange(columns) + 0.5)[:, None] * self.right_mm
        frames = np.empty((last - first, columns, 12))
        frames[..., :3] = np.array(self.corner_mm) + down + right
        frames[..., 3:] = (*self.right_mm, *self.down_mm, *self.inward)
        return frames.reshape(-1, 12)


def top_face(sheet: Sheet, px_per_mm: float) -> Flat:
    """Return the upper face, seen from above, length across; parameters as for `planed`."""
    return planed(sheet, px_per_mm)


def planed(sheet: Sheet, px_per_mm: float, depth_mm: float = 0.0, face: str = "top") -> Flat:
    """Return a face of the slab, or the surface below it that planing exposes, at least one pixel.

    InputError where there is no such face, or nothing would be left of the slab.

    Parameters
    ----------
    depth_mm : float
        Depth taken off, mm, from 0 to less than the slab's size there.
    face : str
        One of `SIDES`.
    """
    right, down = (np.array(v) for v in SIDES[checks.one_of("face", face, SIDES)])
    inward, size = np.cross(right, down), np.array(sheet.size_mm)
    through = float(abs(inward) @ size)
    depth = checks.number(
        "depth_mm planed off", depth_mm, 0, through, "plane off less than the slab measures"
    )
    if depth == through:
        checks.refuse(f"planing must leave something of {through:g} mm", depth_mm, "plane off less")
    middle = np.array([0.0, 0.0, size[2] / 2]) + (depth - through / 2) * inward
    return rectangle(middle, right, down, abs(right) @ size, abs(down) @ size, px_per_mm)


def saw_cut(
    sheet: Sheet,
    px_per_mm: float,
    at_mm: tuple[float, float] = (0.0, 0.0),
    angle_deg: float = 0.0,
    tilt_deg: float = 0.0,
) -> Flat:
    """Return the face that a saw cut leaves.

    InputError where a value breaks its rule or the cut misses the slab.

    Parameters
    ----------
    at_mm : tuple of float
        A point the cut passes on the upper face, x and y from its middle.
    angle_deg : float
        Direction of the cut on the upper face, anticlockwise from the length. The piece on its left is kept
        and its sawn face is seen from the right: at 0 it faces the front, at 90 the right end.
    tilt_deg : float
        How far the blade leans from upright, -89 to 89; above 0 it undercuts the piece that falls off, so
        that the sawn face looks up.

    Returns
    -------
    Flat
        The cut's bounding rectangle; the corners of a tilted cut may show nothing.
    """
    x, y = (checks.number(f"{n} of a saw cut", v, -1e4, 1e4, "measure from the middle of the sheet, in mm")
            for n, v in zip("xy", at_mm, strict=True))  # fmt: skip
    turn = np.radians(checks.number("angle_deg of a saw cut", angle_deg, -360, 360, "give it in degrees"))
    lean = "lean the blade less, or plane the face instead"
    tilt = np.radians(checks.number("tilt_deg of a saw cut", tilt_deg, -MAX_TILT_DEG, MAX_TILT_DEG, lean))
    size = np.array(sheet.size_mm)
    start = np.array([x, y, size[2]])
    right = np.array([np.cos(turn), np.sin(turn), 0.0])
    off = np.array([np.sin(turn), -np.cos(turn), 0.0])  # level, towards the piece that falls off
    down = np.cos(tilt) * np.array([0.0, 0.0, -1.0]) + np.sin(tilt) * off
    rim = _rim(size, start, np.cross(right, down))
    if len(rim) < 3:
        where = checks.Raw(f"one at {x:g}, {y:g} mm and {angle_deg:g} degrees")
        reach = f"the slab reaches {size[0] / 2:g} and {size[1] / 2:g} mm from its middle"
        checks.refuse("a saw cut must pass through the slab", where, reach)
    across, below = (rim - start) @ right, (rim - start) @ down
    middle = start + (across.min() + across.max()) / 2 * right + (below.min() + below.max()) / 2 * down
    return rectangle(middle, right, down, np.ptp(across), np.ptp(below), px_per_mm)


def _rim(size: Floats, start: Floats, normal: Floats) -> Floats:
    """Corners of a plane's cut through the slab: where it meets the twelve edges, shape (n, 3)."""
    ends = np.array([(x, y, z) for x in (-0.5, 0.5) for y in (-0.5, 0.5) for z in (0.0, 1.0)]) * size
    pairs = [(i, j) for i in range(8) for j in range(i) if np.count_nonzero(ends[i] != ends[j]) == 1]
    found = []
    for i, j in pairs:
        here, there = (ends[i] - start) @ normal, (ends[j] - start) @ normal
        if (here > TOUCHING) != (there > TOUCHING):
            found.append(ends[i] + here / (here - there) * (ends[j] - ends[i]))
    return np.array(found).reshape(-1, 3)


def rectangle(
    middle: Floats, right: Floats, down: Floats, width_mm: float, height_mm: float, px_per_mm: float
) -> Flat:
    """Return a rectangle around a middle, rounded to whole pixels.

    Parameters
    ----------
    middle : ndarray, shape (3,)
        In the slab.
    right, down : ndarray, shape (3,)
        Unit vectors along and down the picture.
    """
    columns, rows = max(1, round(width_mm * px_per_mm)), max(1, round(height_mm * px_per_mm))
    return Flat(
        (rows, columns),
        _vector(middle - 0.5 * width_mm * right - 0.5 * height_mm * down),
        _vector(right * (width_mm / columns)),
        _vector(down * (height_mm / rows)),
        _vector(np.cross(right, down)),
    )


def _vector(values: Floats) -> Vector:
    """Return three plain numbers."""
    x, y, z = (float(value) for value in values)
    return x, y, z
