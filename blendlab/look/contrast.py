"""What an eye sees of a picture from a distance: S-CIELAB (Zhang & Wandell 1997).

The picture's XYZ is turned into a light-dark, a red-green and a blue-yellow channel, each blurred as the
eye blurs it at the viewing distance, and turned back before CIELAB is taken.
"""

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter

from ..colour.spaces import lab_from_xyz1
from ..tables import read_toml

Floats = npt.NDArray[np.float64]

_EYE = read_toml("eye/eye.toml")
_CHANNELS = ("light_dark", "red_green", "blue_yellow")
VIEWING_MM = 500.0  # a sheet held at reading distance
JUST_SEEN: float = _EYE["just_seen_delta_e_ab"]["value"]


def seen_lab(xyz1: npt.ArrayLike, mm_per_px: float, viewing_mm: float = VIEWING_MM) -> Floats:
    """CIELAB of a picture as the eye sees it from a distance.

    Parameters
    ----------
    xyz1 : array_like, shape (rows, columns, 3)
        Light of each pixel, Y of white = 1.
    mm_per_px : float
        Size of a pixel on the sheet, mm.
    viewing_mm : float
        Distance of the eye, mm.

    Returns
    -------
    ndarray of float64, shape (rows, columns, 3)
        L*, a*, b*; a flat field keeps its plain CIELAB.
    """
    matrix = np.array([_EYE["opponents"][channel] for channel in _CHANNELS])
    channels = np.asarray(xyz1, np.float64) @ matrix.T
    px_per_degree = viewing_mm * np.tan(np.radians(1.0)) / mm_per_px
    blurred = np.zeros_like(channels)
    for channel, name in enumerate(_CHANNELS):
        kernel = _EYE["blur"][name]
        total = sum(kernel["weight"])  # as printed they sum to 1 but for rounding
        for half_width_deg, weight in zip(kernel["half_width_deg"], kernel["weight"], strict=True):
            sigma = half_width_deg / np.sqrt(2 * np.log(2)) * px_per_degree
            part = gaussian_filter(channels[..., channel], sigma, mode="reflect", truncate=3.0)
            blurred[..., channel] += weight / total * part
    return lab_from_xyz1(blurred @ np.linalg.inv(matrix).T)


def contrast(lab: Floats) -> float:
    """Root-mean-square distance dE*ab of a picture's colours from their mean.

    Parameters
    ----------
    lab : ndarray, shape (rows, columns, 3)
        CIELAB, as from `seen_lab`.

    Returns
    -------
    float
        Contrast in dE*ab; 0 for a flat field.
    """
    return float(np.sqrt(lab.reshape(-1, 3).var(axis=0).sum()))
