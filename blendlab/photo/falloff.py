"""How light falls off over a photo: exp(g·x + h·y + k·r²).

Lamps stand to one side, and lenses darken corners. White paper or a colour chart shows it directly, the sheet
less surely through its marbling, and a prior assumes a mild lens; least squares weigh the three.
"""

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from ..colour.spaces import xyz1_from_linear
from .rectify import Floats, homography, project

BLOCKS = 6  # a side, over which the sheet is averaged
# Prior: per half diagonal for the slopes, per its square for the lens.
SLOPE_SPREAD, LENS, LENS_SPREAD = 0.12, -0.12, 0.12
MIN_SPREAD = 0.03  # of log luminance from block to block of a sheet
FAINTEST = 1e-5  # luminance


@dataclass(frozen=True, eq=False)
class Samples:
    """Log luminance of things that all are alike, or of which it is known how they differ.

    Attributes
    ----------
    at : ndarray, shape (n, 2)
        Where, x and y from the photo's middle, in half diagonals.
    log_y : ndarray, shape (n,)
        What is seen there.
    spread : float
        Standard deviation of one sample.
    """

    at: Floats
    log_y: Floats
    spread: float


def relative(at_px: Floats, shape: tuple[int, ...]) -> Floats:
    """Convert pixels of a picture of some rows and columns to half diagonals from its middle."""
    rows, columns = shape[:2]
    found: Floats = (at_px - np.array([columns - 1, rows - 1]) / 2) / (np.hypot(rows, columns) / 2)
    return found


def fall_at(fall: Floats, at: Floats) -> Floats:
    """Return the light at places of shape (..., 2), over that in the middle, shape (...)."""
    x, y = at[..., 0], at[..., 1]
    return np.asarray(np.exp(fall[0] * x + fall[1] * y + fall[2] * (x * x + y * y)))


def of_sheet(linear_rgb: Floats, corners: Floats) -> Samples:
    """Average a sheet over blocks.

    Parameters
    ----------
    linear_rgb : ndarray, shape (rows, columns, 3)
        The photo, made small.
    corners : ndarray, shape (4, 2)
        The sheet's in its pixels.
    """
    luminance = np.maximum(xyz1_from_linear(linear_rgb)[..., 1], FAINTEST)
    grid = (np.arange(BLOCKS * 8) + 0.5) / 8
    square = np.array([[0.0, 0.0], [BLOCKS, 0.0], [BLOCKS, BLOCKS], [0.0, BLOCKS]])
    to_photo = homography(square, corners)
    at = project(to_photo, np.stack(np.meshgrid(grid, grid), axis=-1))
    seen = ndimage.map_coordinates(luminance, [at[..., 1], at[..., 0]], order=1, mode="nearest")
    blocks = np.log(seen.reshape(BLOCKS, 8, BLOCKS, 8).mean(axis=(1, 3)).ravel())
    middle = np.arange(BLOCKS) + 0.5
    middles = project(to_photo, np.stack(np.meshgrid(middle, middle), axis=-1)).reshape(-1, 2)
    return Samples(relative(middles, luminance.shape), blocks, max(MIN_SPREAD, 1.5 * float(blocks.std())))


def fit_fall(known: Samples, sheet: Samples | None) -> tuple[Floats, float]:
    """Solve for the falloff.

    Parameters
    ----------
    known : Samples
        Of paper or of a chart's patches, the latter over their references; may be empty.
    sheet : Samples or None
        Blocks of the sheet, alike but for marbling.

    Returns
    -------
    fall : ndarray, shape (3,)
        g, h and k.
    middle : float
        What the known samples would be in the middle of the photo.
    """
    prior = np.concatenate([np.zeros((3, 2)), np.eye(3)], axis=1)
    expected = np.array([0.0, 0.0, LENS])
    trust = 1 / np.array([SLOPE_SPREAD, SLOPE_SPREAD, LENS_SPREAD])
    faint = np.concatenate([1e-3 * np.eye(2), np.zeros((2, 3))], axis=1)  # for a level without samples
    rows, right = [prior * trust[:, None], faint], [expected * trust, np.zeros(2)]
    for level, seen in enumerate((known, sheet)):
        if seen is not None:
            rows.append(_rows(seen.at, level) / seen.spread)
            right.append(seen.log_y / seen.spread)
    found = np.linalg.lstsq(np.concatenate(rows), np.concatenate(right), rcond=None)[0]
    return found[2:], float(found[0])


def _rows(at: Floats, own_level: int) -> Floats:
    """Return the equations of samples: both levels, then g, h and k."""
    x, y = at.T
    level = np.zeros((len(at), 2))
    level[:, own_level] = 1.0
    return np.concatenate([level, np.stack([x, y, x * x + y * y], axis=-1)], axis=1)
