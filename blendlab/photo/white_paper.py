"""Find white paper in a photo: its bright, even regions."""

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from ..colour.spaces import lab_from_xyz1, xyz1_from_linear
from .rectify import Photo

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

SMALL_PX = 360  # longer side of the picture that is searched
MAX_SPREAD = 1.2  # of L* around a pixel of paper; wood and cloth vary more
MIN_LIGHTNESS = 0.82  # of the brightest even region's; shade and the lens dim the rest of the paper
MIN_AREA = 0.006  # of the photo's area
MAX_CAST = 2.5  # ratio of paper's strongest to its weakest channel, under any usual lamp


def small_linear(photo: Photo) -> tuple[Floats, int]:
    """Average a photo down to `SMALL_PX`; return its linear light and the side of an averaged block, px."""
    step = max(1, -(-max(photo.clipped.shape) // SMALL_PX))
    rows, columns = (n // step for n in photo.clipped.shape)
    blocks = photo.linear_rgb[: rows * step, : columns * step].reshape(rows, step, columns, step, 3)
    return blocks.mean(axis=(1, 3), dtype=np.float64), step


def bright_even(linear_rgb: Floats, allowed: Mask | None = None) -> Mask:
    """Mark what may be white paper.

    Parameters
    ----------
    linear_rgb : ndarray, shape (rows, columns, 3)
        A small photo in linear light.
    allowed : ndarray of bool, shape (rows, columns), optional
        Where to look; everywhere if None.

    Returns
    -------
    ndarray of bool, shape (rows, columns)
        Bright, even regions large enough to be paper; all False where there is none.
    """
    where = np.ones(linear_rgb.shape[:2], bool) if allowed is None else allowed
    lightness = lab_from_xyz1(xyz1_from_linear(linear_rgb))[..., 0]
    middle = ndimage.uniform_filter(lightness, 5)
    spread = np.sqrt(np.maximum(ndimage.uniform_filter(lightness**2, 5) - middle**2, 0.0))
    weakest = np.maximum(linear_rgb.min(axis=-1), 1e-4)
    white = where & (spread < MAX_SPREAD) & (linear_rgb.max(axis=-1) < MAX_CAST * weakest)
    white = _large(white)
    if not white.any():
        return white
    return _large(white & (lightness > MIN_LIGHTNESS * np.quantile(lightness[white], 0.98)))


def _large(mask: Mask) -> Mask:
    """Keep the regions of at least `MIN_AREA`."""
    parts, _ = ndimage.label(ndimage.binary_opening(mask))
    sizes = np.bincount(parts.ravel())
    sizes[0] = 0
    kept: Mask = (sizes >= MIN_AREA * mask.size)[parts]
    return kept
