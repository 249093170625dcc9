"""What an eye sees of a picture from a distance: S-CIELAB (Zhang & Wandell 1997).

The picture's XYZ is converted to a light-dark, a red-green and a blue-yellow channel, each blurred as the eye
blurs it at the viewing distance, and converted back before CIELAB is taken.
"""

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter

from ..colour.spaces import lab_from_xyz1
from ..tables import read_toml

Floats = npt.NDArray[np.float64]

_EYE = read_toml("eye/eye.toml")
_CHANNELS = ("light_dark", "red_green", "blue_yellow")
_SIGMA_PER_WIDTH = 1 / (2 * np.sqrt(2 * np.log(2)))  # of a Gaussian, from its full width at half maximum
_SUPPORT_DEG: float = _EYE["support"]["value_deg"]
VIEWING_MM = 500.0  # a sheet held at reading distance
JUST_SEEN: float = _EYE["just_seen_delta_e_ab"]["value"]


def seen_lab(xyz1: npt.ArrayLike, mm_per_px: float, viewing_mm: float = VIEWING_MM) -> Floats:
    """CIELAB of a picture as the eye sees it from a distance.

    Parameters
    ----------
    xyz1 : array_like, shape (rows, columns, 3)
        Light of each pixel, Y of white = 1.

    Returns
    -------
    ndarray of float64, shape (rows, columns, 3)
        L*, a*, b*; a flat field keeps its plain CIELAB. Light that the kernels' negative surround
        takes below 0 counts as 0, as in the authors' program.
    """
    matrix = np.array([_EYE["opponents"][channel] for channel in _CHANNELS])
    channels = np.asarray(xyz1, np.float64) @ matrix.T
    px_per_degree = viewing_mm * np.tan(np.radians(1.0)) / mm_per_px
    blurred = np.stack(
        [_blurred(channels[..., at], name, px_per_degree) for at, name in enumerate(_CHANNELS)], axis=-1
    )
    return lab_from_xyz1(np.maximum(blurred @ np.linalg.inv(matrix).T, 0.0))


def _blurred(channel: Floats, name: str, px_per_degree: float) -> Floats:
    """One opponent channel, shape (rows, columns), as the eye blurs it.

    Each Gaussian is truncated to the support and normalised there before it is weighted, so the widest one is
    nearly flat over the support and does not reach beyond it.
    """
    kernel = _EYE["blur"][name]
    radius_px = max(int(np.ceil(_SUPPORT_DEG * px_per_degree / 2)) - 1, 0)
    total = sum(kernel["weight"])  # as printed they sum to 1 except for rounding
    blurred = np.zeros_like(channel)
    for width_deg, weight in zip(kernel["full_width_deg"], kernel["weight"], strict=True):
        sigma_px = width_deg * _SIGMA_PER_WIDTH * px_per_degree
        blurred += weight / total * gaussian_filter(channel, sigma_px, mode="reflect", radius=radius_px)
    return blurred


def contrast(lab: Floats) -> float:
    """Root-mean-square distance dE*ab of a picture's CIELAB, shape (rows, columns, 3), from its mean."""
    return float(np.sqrt(lab.reshape(-1, 3).var(axis=0).sum()))
