"""The sawn block in perspective: the three faces that turn towards the camera."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .. import checks
from ..recipe.recipe import Sheet
from .camera import Camera, Floats, aimed_at
from .surfaces import Vector

AZIMUTH_DEG, ELEVATION_DEG = -60.0, 30.0  # shows the front, the right end and the top
THINNEST_MM = 0.1


@dataclass(frozen=True, eq=False)
class BlockView:
    """A box of plastic before a camera.

    Attributes
    ----------
    low_mm, high_mm : ndarray, shape (3,)
        Its lowest and highest corner, in the slab.
    camera : Camera
        From where it is seen.
    """

    low_mm: Floats
    high_mm: Floats
    camera: Camera

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.camera.shape

    def frames(self, first: int, last: int) -> Floats:
        """Frames of the pixels of rows first..last-1, shape ((last - first) * columns, 12)."""
        rays = self.camera.rays(first, last)
        far, axis = self._met(rays)
        return self.camera.frames(rays, far, self._outward()[axis])

    def shade(self) -> npt.NDArray[np.float32]:
        """Light each pixel sends back, shape (rows, columns); the brightest face 1."""
        _, axis = self._met(self.camera.rays(0, self.shape[0]))
        faces = self.camera.shade(self._outward())
        shade: npt.NDArray[np.float32] = (faces / faces.max())[axis].reshape(self.shape)
        return shade

    def _outward(self) -> Floats:
        """Normals of the three faces towards the camera, one an axis."""
        return np.diag(np.where(self.camera.eye_mm > (self.low_mm + self.high_mm) / 2, 1.0, -1.0))

    def _met(self, rays: Floats) -> tuple[Floats, npt.NDArray[np.int64]]:
        """How far rays go to the block, NaN beside it, and the axis of the face they meet."""
        eye = self.camera.eye_mm
        near = np.where(eye > (self.low_mm + self.high_mm) / 2, self.high_mm, self.low_mm)
        back = self.low_mm + self.high_mm - near
        with np.errstate(divide="ignore"):
            enters, leaves = (near - eye) / rays, (back - eye) / rays
        axis = enters.argmax(axis=1)
        far = np.take_along_axis(enters, axis[:, None], axis=1)[:, 0]
        return np.where(far <= leaves.min(axis=1), far, np.nan), axis


def block_view(
    sheet: Sheet,
    width_px: int,
    low_mm: Vector | None = None,
    high_mm: Vector | None = None,
    azimuth_deg: float = AZIMUTH_DEG,
    elevation_deg: float = ELEVATION_DEG,
) -> BlockView:
    """Return a view of the slab, or of a block sawn out of it.

    Parameters
    ----------
    sheet : Sheet
        The slab.
    width_px : int
        Columns of the picture; its rows follow.
    low_mm, high_mm : tuple of float, optional
        Lowest and highest corner of the block, x and y from the middle of the sheet, z from its lower face;
        the whole slab where nothing is said.
    azimuth_deg, elevation_deg : float
        Where the camera stands, as in `aimed_at`.

    Returns
    -------
    BlockView

    Raises
    ------
    InputError
        Where the block has no thickness or reaches out of the slab.
    """
    reach = np.array([sheet.length_mm / 2, sheet.width_mm / 2, sheet.thickness_mm])
    floor = reach * [-1, -1, 0]
    low = floor if low_mm is None else np.array(low_mm, np.float64)
    high = reach if high_mm is None else np.array(high_mm, np.float64)
    if not (
        np.all(low >= floor - 1e-6) and np.all(high <= reach + 1e-6) and np.all(high - low >= THINNEST_MM)
    ):
        given = checks.Raw(f"{_shown(low)} to {_shown(high)} mm")
        within = f"keep it within {_shown(floor)} to {_shown(reach)} mm"
        checks.refuse(
            f"a block must lie within the slab and be {THINNEST_MM:g} mm thick or more", given, within
        )
    corners = np.array([(x, y, z) for x in (0, 1) for y in (0, 1) for z in (0, 1)]) * (high - low) + low
    return BlockView(low, high, aimed_at(corners, azimuth_deg, elevation_deg, width_px))


def _shown(corner: Floats) -> str:
    """Write a corner for a message."""
    return ", ".join(f"{value:g}" for value in corner)
