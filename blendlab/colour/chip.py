"""K and S of a flake from two readings of a pressed chip, over black and over white."""

from typing import NoReturn

import numpy as np

from ..checks import Raw, refuse
from ..recipe.measurements import Chip
from . import film, hiding_power, saunderson, spectra
from .spaces import Floats, linear_from_srgb1, srgb1_from_hex

SHOWS_LEAST = 0.02  # of contrast between the readings: below it, eight-bit colours say nothing about S
HIDES_MOST = 0.97  # of luminance over white that remains over black


def strengths(name: str, chip: Chip, k2: float) -> tuple[Floats, Floats]:
    """Absorption and scattering of a flake from its chip.

    Where a band lets its backing show, both follow from the film equation. Where it does not, the readings
    give their ratio alone, and S is taken as in the other bands.

    Parameters
    ----------
    name : str
        The flake's, for a refusal.
    chip : Chip
        The readings.
    k2 : float
        Part of diffuse light that the face turns back inside.

    Returns
    -------
    k_per_mm, s_per_mm : ndarray, shape (bands,)
        Per mm.

    Raises
    ------
    InputError
        Where the chip hides its backing, so that nothing tells its strength.
    """
    dark, light = (
        saunderson.inside_from_seen(
            spectra.reflectance_from_linear(linear_from_srgb1(srgb1_from_hex(srgb))), k2
        )
        for srgb in (chip.over_black, chip.over_white)
    )
    if spectra.luminance(dark) > HIDES_MOST * spectra.luminance(light):
        _refuse_hiding(name, chip)
    light = np.maximum(light, dark)  # a cast of the photo may turn the two round in a band
    ratio, s = film.from_two_backings(dark, light, hiding_power.BLACK, hiding_power.PAPER, chip.thickness_mm)
    ratio = np.maximum(ratio, film.k_over_s(spectra.LIGHTEST))
    telling = np.where(np.isfinite(s) & (light - dark > SHOWS_LEAST), light - dark, 0.0)
    if not np.any(telling):
        _refuse_hiding(name, chip)
    usual = np.average(np.where(telling > 0, s, 0.0), weights=telling)
    s = np.where(telling > 0, s, usual)
    return ratio * s, s


def _refuse_hiding(name: str, chip: Chip) -> NoReturn:
    """Say that the chip is too thick to tell."""
    refuse(
        f"the chip of flake {name!r} must let its backing show",
        Raw(f"{chip.over_black} over black and {chip.over_white} over white"),
        "press a thinner chip",
    )
