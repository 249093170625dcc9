"""Saunderson's correction: the face of the plastic reflects light where plastic meets air.

Kubelka-Munk describes light inside. Light that is seen has crossed the face twice, and the face reflects more
than half of the diffuse light that reaches it from inside (Saunderson 1942, J. Opt. Soc. Am. 32:727).

Seen reflectance in this program excludes the mirror-like gloss and is relative to a perfectly white plastic
behind the same face: screen colours are relative to a white as well, and each of them then has a reflectance
inside. The part k1 reflected on the way in scales all light alike and drops out.
"""

from math import log

import numpy as np
from numpy.typing import ArrayLike

from .spaces import Floats


def gloss_reflection(refractive_index: float) -> float:
    """k1: part of a straight beam from air that the face reflects (Fresnel, normal incidence).

    Examples
    --------
    >>> round(gloss_reflection(1.54), 4), round(gloss_reflection(1.50), 4)
    (0.0452, 0.04)
    """
    return ((refractive_index - 1) / (refractive_index + 1)) ** 2


def outer_reflection(refractive_index: float) -> float:
    """Part of diffuse light from air that the face reflects.

    Fresnel reflectance averaged over the hemisphere, in closed form: Duntley 1942, J. Opt. Soc. Am. 32:61.

    Examples
    --------
    >>> round(outer_reflection(1.54), 4), round(outer_reflection(1.50), 4)
    (0.0976, 0.0918)
    """
    n = refractive_index
    if n == 1:
        return 0.0
    square, fourth = n**2, n**4
    return (
        0.5
        + (n - 1) * (3 * n + 1) / (6 * (n + 1) ** 2)
        + square * (square - 1) ** 2 / (square + 1) ** 3 * log((n - 1) / (n + 1))
        - 2 * n**3 * (square + 2 * n - 1) / ((square + 1) * (fourth - 1))
        + 8 * fourth * (fourth + 1) / ((square + 1) * (fourth - 1) ** 2) * log(n)
    )


def inner_reflection(refractive_index: float) -> float:
    """k2: part of diffuse light from inside that the face reflects, 1 − (1 − r_outer)/n².

    Examples
    --------
    >>> round(inner_reflection(1.54), 4), round(inner_reflection(1.50), 4)
    (0.6195, 0.5963)
    """
    return 1 - (1 - outer_reflection(refractive_index)) / refractive_index**2


def backing_under_air(backing: ArrayLike, refractive_index: float) -> Floats:
    """Effective backing of plastic that is dry on a surface: its own lower face, air, the surface.

    Light bounces between the two, which sums to k2 + (1 − k2)(1 − r)Rg / (1 − r·Rg), where r is the part
    reflected from outside.

    Examples
    --------
    >>> backing_under_air([0.0, 1.0], 1.54).round(4)
    array([0.6195, 1.    ])
    """
    rg = np.asarray(backing, dtype=float)
    outer, inner = outer_reflection(refractive_index), inner_reflection(refractive_index)
    seen: Floats = inner + (1 - inner) * (1 - outer) * rg / (1 - outer * rg)
    return seen


def saunderson(reflectance: ArrayLike, k1: float, k2: float) -> Floats:
    """Reflectance as an instrument reads it, gloss excluded: (1 − k1)(1 − k2)R / (1 − k2·R).

    Parameters
    ----------
    reflectance : array_like
        R inside the plastic, 0 to 1.
    k1, k2 : float
        Parts reflected by the face from outside and from inside, 0 to 1. With ``k1 = 0`` the result is
        relative to a perfectly white plastic: the seen reflectance of this program.
    """
    inside = np.asarray(reflectance, dtype=float)
    return (1 - k1) * (1 - k2) * inside / (1 - k2 * inside)


def seen_from_inside(reflectance: ArrayLike, k2: float) -> Floats:
    """Seen reflectance, relative to white plastic behind the same face."""
    return saunderson(reflectance, 0.0, k2)


def inside_from_seen(reflectance: ArrayLike, k2: float) -> Floats:
    """Reflectance inside: the inverse of `seen_from_inside`."""
    seen = np.asarray(reflectance, dtype=float)
    return seen / (1 - k2 + k2 * seen)
