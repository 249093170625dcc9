"""The whole slab as a block of plastic."""

from dataclasses import dataclass

import numpy as np

from ..recipe.recipe import Sheet
from .camera import Floats


@dataclass(frozen=True, eq=False)
class Block:
    """A slab before a camera."""

    sheet: Sheet

    usual_azimuth_deg = -60.0  # shows front, right end and top

    @property
    def _ends_mm(self) -> tuple[Floats, Floats]:
        """Its lowest and highest corner."""
        high = np.array(self.sheet.size_mm) * [0.5, 0.5, 1.0]
        return high * [-1, -1, 0], high

    @property
    def hull_mm(self) -> Floats:
        """Its eight corners."""
        low, high = self._ends_mm
        corners = np.array([(x, y, z) for x in (0, 1) for y in (0, 1) for z in (0, 1)])
        hull: Floats = corners * (high - low) + low
        return hull

    def flat_normals(self, eye_mm: Floats) -> Floats:
        """Return the normals of the three faces towards the eye, one for each axis."""
        low, high = self._ends_mm
        return np.diag(np.where(eye_mm > (low + high) / 2, 1.0, -1.0))

    def met(self, rays: Floats, eye_mm: Floats) -> tuple[Floats, Floats]:
        """Return how far rays go to the block, NaN beside it, and the normals of the faces they meet."""
        low, high = self._ends_mm
        near = np.where(eye_mm > (low + high) / 2, high, low)
        back = low + high - near
        with np.errstate(divide="ignore"):
            enters, leaves = (near - eye_mm) / rays, (back - eye_mm) / rays
        axis = enters.argmax(axis=1)
        far = np.take_along_axis(enters, axis[:, None], axis=1)[:, 0]
        return np.where(far <= leaves.min(axis=1), far, np.nan), self.flat_normals(eye_mm)[axis]
