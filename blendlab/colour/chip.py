"""K and S of a flake from two readings of a pressed chip, over black and over white."""

from typing import NoReturn

import numpy as np

from ..checks import Raw, refuse
from ..recipe.measurements import Chip
from . import film, hiding_power, saunderson, spectra
from .spaces import Floats, linear_from_srgb1, srgb1_from_hex

MIN_CONTRAST = 0.02  # between the readings: below it, eight-bit colours say nothing about S
MAX_RATIO = 0.97  # of luminance over black to luminance over white


def strengths(name: str, chip: Chip, k2: float) -> tuple[Floats, Floats]:
    """Absorption and scattering per mm of a flake from its chip, each of shape (bands,).

    In a band where the backing shows, both follow from the film equation. Where it does not, the readings
    give only their ratio, and S is taken from the other bands. InputError where the chip hides its backing,
    so that its strength cannot be measured.
    """
    dark, light = (
        saunderson.inside_from_seen(
            spectra.reflectance_from_linear(linear_from_srgb1(srgb1_from_hex(srgb))), k2
        )
        for srgb in (chip.over_black, chip.over_white)
    )
    if spectra.luminance(dark) > MAX_RATIO * spectra.luminance(light):
        _refuse_hiding(name, chip)
    light = np.maximum(light, dark)  # a colour cast in the photo may swap the two in a band
    ratio, s = film.from_two_backings(dark, light, hiding_power.BLACK, hiding_power.PAPER, chip.thickness_mm)
    ratio = np.maximum(ratio, film.k_over_s(spectra.LIGHTEST))
    usable = np.where(np.isfinite(s) & (light - dark > MIN_CONTRAST), light - dark, 0.0)
    if not np.any(usable):
        _refuse_hiding(name, chip)
    usual = np.average(np.where(usable > 0, s, 0.0), weights=usable)
    s = np.where(usable > 0, s, usual)
    return ratio * s, s


def _refuse_hiding(name: str, chip: Chip) -> NoReturn:
    """Refuse a chip that is too thick to measure."""
    refuse(
        f"the chip of flake {name!r} must let its backing show",
        Raw(f"{chip.over_black} over black and {chip.over_white} over white"),
        "press a thinner chip",
    )
