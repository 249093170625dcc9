"""Extract a sheet's face from a photo: rectified and in even daylight."""

from dataclasses import dataclass, replace
from typing import NoReturn

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter

from .. import checks
from ..recipe.recipe import Sheet
from ..units import percent
from .colour_chart import Corners
from .light import Box, Light, corrected, read_light
from .rectify import Photo, Straight, check_corners, develop, straighten
from .sheet_corners import find_corners

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]

MAX_FACE_PX = 22_000  # of the rectified picture that is matched
SQUARE = 0.02  # relative difference of sides below which a sheet may have been laid either way
MAX_GLARE = 0.3  # of the face
MAX_Y = 0.95  # of the brightest tenth of a face; white HDPE reflects less, from memory


@dataclass(frozen=True)
class Marks:
    """What is pointed out in a photo; what is None is looked for.

    Attributes
    ----------
    corners_px : array_like, shape (4, 2), optional
        The sheet's upper left, upper right, lower right, lower left, in photo pixels.
    white_px : tuple of float, optional
        A box on white paper: x, y, width, height in photo pixels.
    chart_px : array_like, shape (4, 2), optional
        Instead of paper, a 24-patch colour chart: the outer corners of its corner patches, clockwise.
    """

    corners_px: npt.ArrayLike | None = None
    white_px: Box | None = None
    chart_px: Corners | None = None


NOTHING_MARKED = Marks()


@dataclass(frozen=True, eq=False)
class Face:
    """A sheet's face from a photo.

    Attributes
    ----------
    straight : Straight
        The face as photographed.
    xyz1 : ndarray of float32, shape (rows, columns, 3)
        The face in even daylight, Y of white = 1.
    corners_px : ndarray, shape (4, 2)
        Corners used.
    fit : float
        How well found corners fit, 0-1; 1 where they were given.
    is_too_bright : bool
        Whether it read brighter than any white and was darkened to `MAX_Y`.
    """

    sheet: Sheet
    straight: Straight
    light: Light
    xyz1: Singles
    corners_px: Floats
    fit: float
    is_too_bright: bool

    @property
    def clear(self) -> npt.NDArray[np.bool_]:
        """Mark pixels that are not burnt out."""
        mask: npt.NDArray[np.bool_] = self.straight.clipped < 0.01
        return mask

    def in_light(self, gains: Floats) -> "Face":
        """Return the face as seen without log gains of X, Y, Z, unless paper has shown its light."""
        if self.light.paper != "none":
            return self
        return replace(self, xyz1=(self.xyz1 / np.exp(gains)).astype(np.float32))

    def views(self) -> list[Singles]:
        """Return the face, burnt-out spots filled, in every orientation it may have had."""
        filled = self._without_glare()
        return [filled, filled.swapaxes(0, 1)] if _is_square(self.sheet) else [filled]

    def _without_glare(self) -> Singles:
        """Fill burnt-out spots from their surroundings."""
        clear = np.clip(1 - 2 * self.straight.clipped, 0, 1)[..., None]
        if clear.min() > 0.9:
            return self.xyz1
        soft = (4.0, 4.0, 0)
        around = gaussian_filter(self.xyz1 * clear, soft) / np.maximum(gaussian_filter(clear, soft), 1e-3)
        filled: Singles = (clear * self.xyz1 + (1 - clear) * around).astype(np.float32)
        return filled


def take_face(
    srgb8: npt.NDArray[np.uint8],
    sheet: Sheet,
    marks: Marks = NOTHING_MARKED,
    look_for_paper: bool = True,
) -> Face:
    """Extract a sheet's face from a photo.

    InputError where a value breaks its rule, no sheet is found or too much is burnt out.

    Parameters
    ----------
    srgb8 : ndarray of uint8, shape (rows, columns, 3)
        The photo, sRGB.
    look_for_paper : bool
        Whether to look for paper where neither paper nor a chart is marked.
    """
    photo = develop(srgb8)
    corners, fit = _corners(photo, sheet, marks.corners_px)
    light = read_light(photo, corners, marks.white_px, marks.chart_px, look_for_paper)
    mm_per_px = max(1.0, float(np.sqrt(sheet.length_mm * sheet.width_mm / MAX_FACE_PX)))
    straight = straighten(photo, corners, (sheet.length_mm, sheet.width_mm), mm_per_px)
    if straight.clipped.mean() > MAX_GLARE:
        refuse_look(f"{percent(straight.clipped.mean())} of it is burnt out")
    xyz1 = corrected(straight, light, photo)
    brightest = float(np.quantile(xyz1[..., 1], 0.9))
    if brightest > MAX_Y:
        xyz1 = xyz1 * np.float32(MAX_Y / brightest)
    return Face(sheet, straight, light, xyz1, corners, fit, brightest > MAX_Y)


def _corners(photo: Photo, sheet: Sheet, given: npt.ArrayLike | None) -> tuple[Floats, float]:
    """Return the corners given, or found and rotated so that long edges match long sides."""
    if given is not None:
        return check_corners(given, photo.size_px), 1.0
    found = find_corners(photo)
    if found is None:
        refuse_look("no sheet with four straight edges stands off its background")
    sides = np.linalg.norm(np.roll(found.corners_px, -1, axis=0) - found.corners_px, axis=1)
    is_wide = sides[0] + sides[2] > sides[1] + sides[3]
    turned = is_wide != (sheet.length_mm > sheet.width_mm) and not _is_square(sheet)
    return np.roll(found.corners_px, 1 if turned else 0, axis=0), found.fit


def _is_square(sheet: Sheet) -> bool:
    """Tell whether a sheet may have been laid either way round."""
    return abs(sheet.length_mm / sheet.width_mm - 1) < SQUARE


def refuse_look(why: str) -> NoReturn:
    """Refuse a photo that is not of a sheet, with the reason."""
    remedy = "photograph one flat sheet from above, check its corners and its size"
    raise checks.InputError(f"this does not look like marbled plastic: {why}; {remedy}")
