"""Reflectance spectra in bands, from colours and to colours.

Observer and illuminant are CIE 1931 2 degree and D65. Both are part of the band weights in ``tables/bands``,
so no spectral package is loaded at run time.

A colour does not determine a spectrum. The one chosen here (Mallett & Yuksel 2019) is a mix of three basis
reflectances, smooth and within 0 and 1, that returns exactly the colour it came from. Blends of flakes known
only by colour depend on that choice; a measured spectrum avoids it.
"""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from ..recipe.measurements import Spectrum
from ..tables import read_csv
from .spaces import Floats, linear_from_xyz1

# K/S is infinite for a perfect black and zero for a perfect white. Either limit moves a colour by less than
# 0.03 in CIEDE2000.
DARKEST: Final = 3e-5
LIGHTEST: Final = 0.9999

_WITHIN_NM = np.arange(-4.5, 5.0)  # steps of 1 nm across a band of 10
_BANDS = read_csv("bands/bands.csv")
WAVELENGTH_NM: Final[Floats] = _BANDS["nm"]
WEIGHTS: Final[Floats] = np.stack([_BANDS[axis] for axis in "xyz"], axis=-1)  # (bands, 3)
_BASIS: Final[Floats] = np.stack([_BANDS[primary] for primary in ("red", "green", "blue")])  # (3, bands)


def reflectance_from_linear(linear_rgb: ArrayLike) -> Floats:
    """Reflectance, shape (..., bands), of linear sRGB light, shape (..., 3), under D65."""
    return within_reach(np.asarray(linear_rgb, dtype=float) @ _BASIS)


def tinted(reflectance: ArrayLike, xyz1_change: ArrayLike) -> Floats:
    """Move the colour of a reflectance, shape (..., bands), by XYZ of shape (..., 3), a mix of the basis."""
    return within_reach(np.asarray(reflectance, dtype=float) + linear_from_xyz1(xyz1_change) @ _BASIS)


def within_reach(reflectance: ArrayLike) -> Floats:
    """Keep reflectance away from 0 and 1, where K/S has no usable value."""
    kept: Floats = np.clip(np.asarray(reflectance, dtype=float), DARKEST, LIGHTEST)
    return kept


def reflectance_from_spectrum(spectrum: Spectrum) -> Floats:
    """Average a spectrum, (nm, reflectance) in rising order, in each band; beyond its ends it is constant."""
    nm, reflectance = np.array(spectrum).T
    return within_reach(np.interp(WAVELENGTH_NM[:, None] + _WITHIN_NM, nm, reflectance).mean(axis=-1))


def xyz1_from_reflectance(reflectance: ArrayLike) -> Floats:
    """XYZ, white Y = 1, of reflectance of shape (..., bands); a perfect white has the sRGB white."""
    return np.asarray(reflectance, dtype=float) @ WEIGHTS


def luminance(reflectance: ArrayLike) -> Floats:
    """Y, white = 1, of reflectance of shape (..., bands)."""
    return np.asarray(reflectance, dtype=float) @ WEIGHTS[:, 1]
