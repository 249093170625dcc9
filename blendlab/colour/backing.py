"""A thin sheet: what shows through it from behind.

Natural and tinted stock lets light through for many millimetres, so a sheet of it looks different on a white
table, on a black one and against a window. The sheet is taken to be dry, with air under it.
"""

import numpy as np
from numpy.typing import ArrayLike

from . import film, saunderson, spectra
from .hiding_power import BLACK, PAPER
from .pigment import Palette, mixed
from .spaces import Colour, Floats

BACKINGS = ("white", "black", "own", "window")


def look_on(flakes: Palette, shares: ArrayLike, thickness_mm: float, backing: str) -> Colour:
    """Colour of a blended sheet of some thickness, without gloss.

    Parameters
    ----------
    shares : array_like, shape (flakes,)
        Volume shares of the blend.
    thickness_mm : float
        Of the sheet, mm, above 0.
    backing : str
        One of `BACKINGS`: dry on white or on black, on more of its own colour, or held up to a window,
        seen against the light and relative to the open window.
    """
    show = _against_light if backing == "window" else _on
    light = spectra.xyz1_from_reflectance(show(flakes, shares, thickness_mm, backing))
    return Colour.from_xyz1(light if backing == "window" else flakes.seen(light))


def _on(flakes: Palette, shares: ArrayLike, thickness_mm: float, backing: str) -> Floats:
    """Seen reflectance of a sheet on a backing, shape (bands,)."""
    k, s = mixed(flakes, shares)
    behind: Floats = film.thick(k, s)
    if backing != "own":
        bare = {"white": PAPER, "black": BLACK}[backing]
        behind = saunderson.backing_under_air(bare, flakes.refractive_index)
    inside = film.over(behind, k, s, thickness_mm)
    return saunderson.seen_from_inside(inside, flakes.inner_reflection)


def _against_light(flakes: Palette, shares: ArrayLike, thickness_mm: float, _: str) -> Floats:
    """Part of diffuse light that passes through a sheet and both its faces, shape (bands,).

    Either face reflects light back inside, and it crosses the layer again: with R and T of the layer alone,
    (1 − r)(1 − k2)T / [(1 − k2·R)² − (k2·T)²], where r is the part reflected from outside.
    """
    k, s = mixed(flakes, shares)
    k2, entering = flakes.inner_reflection, 1 - saunderson.outer_reflection(flakes.refractive_index)
    r, t = film.over(0.0, k, s, thickness_mm), film.through(k, s, thickness_mm)
    passed: Floats = entering * (1 - k2) * t / ((1 - k2 * r) ** 2 - (k2 * t) ** 2)
    return np.maximum(passed, 0.0)
