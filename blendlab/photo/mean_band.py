"""How far the mean colour read from a photo of a sheet may be off."""

import numpy as np
import numpy.typing as npt

from ..colour.difference import delta_e00
from ..colour.spaces import lab_from_xyz1
from .light import Light

Floats = npt.NDArray[np.float64]

# Of the band of a single colour: errors of several colours cancel in part, more so where light is fitted to
# the flakes' own colours. With the third, set so that nine of ten hold in tests/bench/no_paper.py.
MEAN_PART, FITTED_PART = 0.7, 0.4
LIGHT_PART = 1.9  # times the fitted gains' own standard deviations
DRAWS, SEED = 400, 11


def mean_band90(light: Light, mean_xyz1: Floats, gain_covariance: Floats) -> float:
    """Return the dE00 within which the mean is nine times in ten.

    Parameters
    ----------
    mean_xyz1 : ndarray, shape (3,)
        The mean as read.
    gain_covariance : ndarray, shape (3, 3)
        Of log gains of X, Y, Z; counts only where nothing in the photo shows the light.
    """
    single = light.camera.band90_delta_e00
    if light.paper != "none":
        return MEAN_PART * single
    size, axes = np.linalg.eigh(gain_covariance)
    steps = np.random.default_rng(SEED).standard_normal((DRAWS, 3)) * np.sqrt(np.maximum(size, 0.0))
    seen = lab_from_xyz1(mean_xyz1 * np.exp(LIGHT_PART * steps @ axes.T))
    by_light = float(np.quantile(delta_e00(seen, lab_from_xyz1(mean_xyz1)), 0.9))
    return float(np.hypot(FITTED_PART * single, by_light))
