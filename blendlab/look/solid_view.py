"""A shaded view of any solid that can say where a ray meets it."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from .camera import Camera, Floats, aimed_at

ELEVATION_DEG = 30.0


class Solid(Protocol):
    """A solid that can be viewed."""

    @property
    def hull_mm(self) -> Floats:
        """Corners of a hull round it, in the slab, shape (n, 3)."""

    @property
    def usual_azimuth_deg(self) -> float:
        """Azimuth from which it is best seen, as in `aimed_at`."""

    def met(self, rays: Floats, eye_mm: Floats) -> tuple[Floats, Floats]:
        """Return where rays meet the solid, and the normals there.

        Parameters
        ----------
        rays : ndarray, shape (n, 3)
            Directions.
        eye_mm : ndarray, shape (3,)
            Where they begin.

        Returns
        -------
        tuple of ndarray, shapes (n,) and (n, 3)
            Distances in lengths of the rays' directions, NaN beside the solid; outward unit normals.
        """

    def flat_normals(self, eye_mm: Floats) -> Floats:
        """Return the normals of its flat faces towards the eye, shape (k, 3); the brightest is fully lit."""


@dataclass(frozen=True, eq=False)
class SolidView:
    """A solid before a camera."""

    solid: Solid
    camera: Camera

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.camera.shape

    def frames(self, first: int, last: int) -> Floats:
        """Frames of the pixels of rows first..last-1, shape ((last - first) * columns, 12)."""
        rays = self.camera.rays(first, last)
        return self.camera.frames(rays, *self.solid.met(rays, self.camera.eye_mm))

    def shade(self) -> npt.NDArray[np.float32]:
        """Light that each pixel reflects, shape (rows, columns); meaningless beside the solid."""
        _, outward = self.solid.met(self.camera.rays(0, self.shape[0]), self.camera.eye_mm)
        shade = self.camera.shade(outward).reshape(self.shape)
        flat = self.solid.flat_normals(self.camera.eye_mm)
        return shade / self.camera.shade(flat).max() if len(flat) else shade


def solid_view(solid: Solid, width_px: int) -> SolidView:
    """Return a shaded view of a solid, from where it is best seen.

    InputError where the picture is too wide.

    Parameters
    ----------
    width_px : int
        Columns of the picture; its rows follow.
    """
    return SolidView(solid, aimed_at(solid.hull_mm, solid.usual_azimuth_deg, ELEVATION_DEG, width_px))
