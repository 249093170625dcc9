"""Large pictures drawn strip by strip, so that memory does not grow with their size."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..checks import InputError
from ..colour.spaces import Colour
from .camera import lit
from .render import Picture, srgb8
from .solid_view import SolidView
from .surfaces import Surface
from .view import PAPER

Floats = npt.NDArray[np.float64]

STRIP_ROWS = 128  # some 200 MB of work where a picture is 10,000 pixels wide
MAX_PX = 100_000_000
_PX_BYTES = 4  # of memory, in the finished picture
_WORK_BYTES = 400_000_000  # of drawing a strip of it, and of compiling before the first


def memory_bytes(rows: int, columns: int) -> float:
    """Return the memory that drawing a picture in strips takes."""
    return _PX_BYTES * rows * columns + _WORK_BYTES


@dataclass(frozen=True)
class Part:
    """Some rows of a surface, a surface too."""

    surface: Surface
    first: int
    last: int

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.last - self.first, self.surface.shape[1]

    def frames(self, first: int, last: int) -> Floats:
        """Frames of the pixels of rows first..last-1 of these rows."""
        return self.surface.frames(self.first + first, self.first + last)


class Strips:
    """The strips of a picture, and what is seen of the surface once all are drawn.

    Parameters
    ----------
    surface : Surface
        A face, a cut, or a solid before a camera, which is then shaded.
    draw : callable
        Draws a part of it, as `render` does.
    """

    def __init__(self, surface: Surface, draw: Callable[[Surface], Picture]) -> None:
        self._surface, self._draw = surface, draw
        self._light, self._seen = np.zeros(3), np.zeros(1)
        self._count = 0

    def __iter__(self) -> Iterator[tuple[slice, npt.NDArray[np.uint8]]]:
        """Yield each strip's rows and its screen pixels, shape (rows, columns, 3).

        Raises
        ------
        InputError
            After the last one, where none of them shows the slab.
        """
        rows, columns = self._surface.shape
        shade = self._surface.shade() if isinstance(self._surface, SolidView) else np.ones((1, 1), np.float32)
        shade = np.broadcast_to(shade, (rows, columns))
        nothing = None
        for first in range(0, rows, STRIP_ROWS):
            part = Part(self._surface, first, min(first + STRIP_ROWS, rows))
            strip = slice(part.first, part.last)
            try:
                xyz1 = self._add(self._draw(part))
            except InputError as missed:  # beside the slab; other strips may show it
                xyz1, nothing = np.full((*part.shape, 3), np.nan, np.float32), missed
            yield strip, srgb8(lit(xyz1, shade[strip], PAPER))
        if nothing is not None and not self._count:
            raise nothing

    def _add(self, picture: Picture) -> npt.NDArray[np.float32]:
        """Add what a strip shows to the totals and return its light."""
        shown = picture.xyz1[np.isfinite(picture.xyz1[..., 0])]
        self._count += len(shown)
        self._light = self._light + shown.sum(axis=0, dtype=np.float64)
        self._seen = self._seen + len(shown) * picture.seen
        return picture.xyz1

    def mean(self) -> Colour:
        """Return the mean colour of the surface, evenly lit, the ground left out."""
        return Colour.from_xyz1(self._light / self._count)

    def percent(self) -> Floats:
        """Return how much of each kind of flake is seen, shape (kinds,), summing to 100."""
        percent: Floats = 100 * self._seen / self._count
        return percent
