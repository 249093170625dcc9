"""Scattering that was not measured: how it falls with wavelength, and how strong it usually is."""

from typing import Final

from ..tables import read_toml
from . import spectra
from .spaces import Floats

_TABLE = read_toml("strength/strength.toml")
_REFERENCE_NM = 550.0

# Scattering in each band as a multiple of that at 550 nm, shape (bands,).
FALL: Final[Floats] = (spectra.WAVELENGTH_NM / _REFERENCE_NM) ** _TABLE["fall"]["power"]


def by_lightness(luminance: Floats) -> Floats:
    """S per mm at 550 nm of opaque stock from its luminance, 0 to 1: an estimate.

    Examples
    --------
    >>> import numpy as np
    >>> by_lightness(np.array([0.0, 1.0])).tolist()
    [1.2, 16.0]
    """
    row = _TABLE["by_lightness"]
    estimate: Floats = row["dark"] + row["rise"] * luminance ** row["power"]
    return estimate
