"""Which points of the slab are seen: a surface hands out, row by row, small frames of its pixels.

A frame is twelve numbers: the pixel's middle, the steps to the next pixel along a row and down a
column, and the unit direction into the plastic, each x, y, z in mm of the slab.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from ..recipe import Sheet

Floats = npt.NDArray[np.float64]


class Surface(Protocol):
    """What the renderer asks of a surface."""

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
    shape : tuple of int
        Rows and columns.
    corner_mm : tuple of float
        The picture's upper left corner, in the slab.
    right_mm, down_mm : tuple of float
        Steps from pixel to pixel along a row and down a column.
    inward : tuple of float
        Unit vector into the plastic.
    """

    shape: tuple[int, int]
    corner_mm: tuple[float, float, float]
    right_mm: tuple[float, float, float]
    down_mm: tuple[float, float, float]
    inward: tuple[float, float, float]

    def frames(self, first: int, last: int) -> Floats:
        """Frames of the pixels of rows first..last-1.

        Parameters
        ----------
        first, last : int
            Range of rows, last excluded.

        Returns
        -------
        ndarray of float64, shape ((last - first) * columns, 12)
            Middle, right, down and inward of each pixel.
        """
        columns = self.shape[1]
        down = (np.arange(first, last) + 0.5)[:, None, None] * self.down_mm
        right = (np.arange(columns) + 0.5)[:, None] * self.right_mm
        frames = np.empty((last - first, columns, 12))
        frames[..., :3] = np.array(self.corner_mm) + down + right
        frames[..., 3:] = (*self.right_mm, *self.down_mm, *self.inward)
        return frames.reshape(-1, 12)


def top_face(sheet: Sheet, px_per_mm: float) -> Flat:
    """Return the upper face, seen from above, length across.

    Parameters
    ----------
    sheet : Sheet
        The slab.
    px_per_mm : float
        Pixels per mm.

    Returns
    -------
    Flat
        Its surface, at least one pixel.
    """
    columns = max(1, round(sheet.length_mm * px_per_mm))
    rows = max(1, round(sheet.width_mm * px_per_mm))
    right, down = sheet.length_mm / columns, sheet.width_mm / rows
    corner = (-sheet.length_mm / 2, sheet.width_mm / 2, sheet.thickness_mm)
    return Flat((rows, columns), corner, (right, 0.0, 0.0), (0.0, -down, 0.0), (0.0, 0.0, -1.0))
