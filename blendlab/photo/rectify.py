"""Rectify a photo of a flat sheet: four corners in, a true-scale picture in linear light out.

Corners are in photo pixels, x to the right and y down from the photo's upper left corner, in the order
upper left, upper right, lower right, lower left. A camera without lens distortion sees a plane through a
homography (Hartley & Zisserman 2004, Multiple View Geometry, chapter 2, from memory).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import map_coordinates
from skimage.transform import ProjectiveTransform, estimate_transform

from .. import checks
from ..colour.spaces import linear_from_srgb1

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]

MAX_SIDE_PX = 2400  # a larger photo is averaged down first; finer detail adds nothing
MIN_SHEET_AREA = 0.02  # of the photo's area
CLIPPED = 252  # of 255; from here on a channel may have been brighter than it reads
MAX_PX = 4_000_000  # of the straightened picture

_LINEAR = linear_from_srgb1(np.arange(256) / 255).astype(np.float32)


@dataclass(frozen=True, eq=False)
class Photo:
    """A photo in linear light, averaged down to a size that is quick to process.

    Attributes
    ----------
    linear_rgb : ndarray of float32, shape (rows, columns, 3)
        Linear light of the sRGB primaries, 1 where the camera is full.
    clipped : ndarray of bool, shape (rows, columns)
        Where all three channels are saturated: highlights and glare.
    shrunk : int
        Photo pixels along a side of one of these pixels.
    """

    linear_rgb: Singles
    clipped: npt.NDArray[np.bool_]
    shrunk: int

    @property
    def size_px(self) -> tuple[int, int]:
        """Columns and rows of the photo as it was given, up to a last partly filled block."""
        rows, columns = self.clipped.shape
        return columns * self.shrunk, rows * self.shrunk


@dataclass(frozen=True, eq=False)
class Straight:
    """The sheet's face at true scale.

    Attributes
    ----------
    linear_rgb : ndarray of float32, shape (rows, columns, 3)
        Linear light; the sheet's length runs along a row.
    clipped : ndarray of float32, shape (rows, columns)
        Part of each pixel that was clipped, 0-1.
    mm_per_px : float
        Size of a pixel on the sheet.
    blur_mm : float
        Size of a photo pixel on the sheet where it is coarsest, mm; finer detail is not resolved.
    to_photo : ProjectiveTransform
        Homography from this picture's pixels to those of the `Photo`.
    """

    linear_rgb: Singles
    clipped: Singles
    mm_per_px: float
    blur_mm: float
    to_photo: ProjectiveTransform


def develop(srgb8: npt.NDArray[np.uint8]) -> Photo:
    """Convert a photo to linear light, its longer side at most `MAX_SIDE_PX`."""
    shrunk = -(-max(srgb8.shape[:2]) // MAX_SIDE_PX)
    rows, columns = (n // shrunk for n in srgb8.shape[:2])
    linear = np.zeros((rows, columns, 3), np.float32)
    full = np.zeros((rows, columns), np.uint8)
    for i in range(shrunk):
        for j in range(shrunk):
            part = srgb8[i : rows * shrunk : shrunk, j : columns * shrunk : shrunk]
            linear += _LINEAR[part]
            full |= (part.min(axis=-1) >= CLIPPED).astype(np.uint8)
    linear /= np.float32(shrunk**2)
    return Photo(linear, full.astype(bool), shrunk)


def check_corners(
    corners_px: npt.ArrayLike, size_px: tuple[int, int], of: str = "sheet", least_area: float = MIN_SHEET_AREA
) -> Floats:
    """Refuse corners that no photo of a sheet or chart can have.

    InputError where they are not four points, lie outside the photo, cross, run anticlockwise, or enclose
    almost no area.

    Parameters
    ----------
    corners_px : array_like, shape (4, 2)
        Upper left, upper right, lower right, lower left.
    size_px : tuple of int
        Columns and rows of the photo.
    """
    order = "give upper left, upper right, lower right and lower left, in this order"
    try:
        corners = np.array(corners_px, np.float64)
    except (TypeError, ValueError):
        corners = np.zeros(0)
    if corners.shape != (4, 2) or not np.isfinite(corners).all():
        checks.refuse(f"the {of}'s corners must be four points x,y", _listed(corners_px), order)
    for point in corners:
        if (point < -0.5).any() or (point > np.array(size_px) + 0.5).any():
            rule = f"the {of}'s corners must lie in the photo of {size_px[0]} × {size_px[1]} pixels"
            checks.refuse(rule, _listed(point), "move the corner into the photo")
    sides = np.roll(corners, -1, axis=0) - corners
    ahead = np.roll(sides, -1, axis=0)
    turns = sides[:, 0] * ahead[:, 1] - sides[:, 1] * ahead[:, 0]
    if not (turns > 0).all():
        checks.refuse(f"the {of}'s corners must go round it without crossing", _listed(corners), order)
    x, y = corners.T
    area = 0.5 * abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))))  # the shoelace formula
    if area < least_area * size_px[0] * size_px[1]:
        rule = f"the {of} must fill at least {100 * least_area:g} % of the photo"
        checks.refuse(
            rule, _listed(corners), f"photograph it from closer, or move the corners to the {of}'s own"
        )
    return corners


def _listed(values: object) -> str:
    """Format coordinates on one short line."""
    if not isinstance(values, np.ndarray):
        return str(values)
    return ",".join(f"{number:g}" for number in np.round(values.ravel(), 1))


def homography(from_points: Floats, to_points: Floats) -> ProjectiveTransform:
    """Return the projective map that takes four points, no three collinear, to four others."""
    found: ProjectiveTransform = estimate_transform("projective", from_points, to_points)  # type: ignore[no-untyped-call]
    return found


def project(transform: ProjectiveTransform, points: Floats) -> Floats:
    """Apply a homography to points of shape (..., 2)."""
    moved: Floats = transform(points.reshape(-1, 2)).reshape(points.shape)
    return moved


def straighten(photo: Photo, corners_px: Floats, size_mm: tuple[float, float], mm_per_px: float) -> Straight:
    """Remove the perspective from a sheet's photo.

    Parameters
    ----------
    corners_px : ndarray, shape (4, 2)
        The sheet's corners, checked, in pixels of the photo as it was given.
    size_mm : tuple of float
        The sheet's sides along the upper edge and down, mm.
    mm_per_px : float
        Pixel size to aim for, mm; coarser where the picture would exceed `MAX_PX`.

    Returns
    -------
    Straight
        Each pixel is the mean light over its square of the sheet.
    """
    length, width = size_mm
    step = max(mm_per_px, float(np.sqrt(length * width / MAX_PX)))
    columns, rows = max(1, round(length / step)), max(1, round(width / step))
    face = np.array([[0.0, 0.0], [columns, 0.0], [columns, rows], [0.0, rows]])
    to_photo = homography(face, corners_px / photo.shrunk)
    coarsest = _coarsest(to_photo, columns, rows)
    across = int(np.clip(np.ceil(1.0 / coarsest), 1, 8))
    linear = np.zeros((rows, columns, 3), np.float32)
    clipped = np.zeros((rows, columns), np.float32)
    x, y = np.meshgrid(np.arange(columns), np.arange(rows))
    full = photo.clipped.astype(np.float32)
    for i in range(across):
        for j in range(across):
            offset = (np.array([i, j]) + 0.5) / across
            seen = project(to_photo, np.stack([x, y], axis=-1) + offset) - 0.5
            at = [seen[..., 1], seen[..., 0]]
            for channel in range(3):
                linear[..., channel] += map_coordinates(
                    photo.linear_rgb[..., channel], at, order=1, mode="nearest"
                )
            clipped += map_coordinates(full, at, order=1, mode="nearest")
    parts = np.float32(across**2)
    return Straight(linear / parts, clipped / parts, step, coarsest * step, to_photo)


def _coarsest(to_photo: ProjectiveTransform, columns: int, rows: int) -> float:
    """Size of a photo pixel in pixels of the face, where the photo shows the face smallest."""
    middles = np.array([[x, y] for x in (0.0, columns / 2, columns) for y in (0.0, rows / 2, rows)])
    here = project(to_photo, middles)
    along = np.linalg.norm(project(to_photo, middles + np.array([0.5, 0.0])) - here, axis=-1)
    down = np.linalg.norm(project(to_photo, middles + np.array([0.0, 0.5])) - here, axis=-1)
    return float(0.5 / np.minimum(along, down).min())
