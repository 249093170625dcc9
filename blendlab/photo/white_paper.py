"""White paper in the shot: the bright, even regions of a photo."""

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from ..colour.spaces import lab_from_xyz1, xyz1_from_linear
from .rectify import Photo

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

SMALL_PX = 360  # longer side of the picture that is searched
EVEN = 1.2  # largest spread of lightness next to a pixel of paper, L*: less than wood or cloth have
BRIGHT = 0.82  # of the brightest even region's lightness: shade and the lens dim the rest of the paper
SMALLEST = 0.006  # of the photo's area
REDDEST = 2.5  # largest ratio of paper's strongest to its weakest channel, under any usual lamp


def small_linear(photo: Photo) -> tuple[Floats, int]:
    """Average a photo down to `SMALL_PX`: its linear light and how many pixels went into one, a side."""
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
        Where paper may lie.

    Returns
    -------
    ndarray of bool, shape (rows, columns)
        The bright, even regions large enough to be paper; none where the photo has no such region.
    """
    where = np.ones(linear_rgb.shape[:2], bool) if allowed is None else allowed
    lightness = lab_from_xyz1(xyz1_from_linear(linear_rgb))[..., 0]
    middle = ndimage.uniform_filter(lightness, 5)
    spread = np.sqrt(np.maximum(ndimage.uniform_filter(lightness**2, 5) - middle**2, 0.0))
    weakest = np.maximum(linear_rgb.min(axis=-1), 1e-4)
    white = where & (spread < EVEN) & (linear_rgb.max(axis=-1) < REDDEST * weakest)
    white = _large(white)
    if not white.any():
        return white
    return _large(white & (lightness > BRIGHT * np.quantile(lightness[white], 0.98)))


def _large(mask: Mask) -> Mask:
    """Keep the regions that are large enough."""
    parts, _ = ndimage.label(ndimage.binary_opening(mask))
    sizes = np.bincount(parts.ravel())
    sizes[0] = 0
    kept: Mask = (sizes >= SMALLEST * mask.size)[parts]
    return kept
