"""Distances between colours."""

from math import atan2, cos, exp, hypot, pi, radians, sin, sqrt

import numpy as np
from numpy.typing import ArrayLike

from ..runtime.compiled import compiled
from .spaces import Floats

_FULL_TURN = 2 * pi
_25_TO_7 = 25.0**7


def delta_e00(lab1: ArrayLike, lab2: ArrayLike) -> Floats:
    """CIEDE2000 with unit weights (ISO/CIE 11664-6), shape (...); about 1 is just visible side by side.

    Parameters
    ----------
    lab1, lab2 : array_like, shape (..., 3)
        CIELAB values; they broadcast.

    Examples
    --------
    >>> float(delta_e00([50, 2.6772, -79.7751], [50, 0, -82.7485]).round(4))
    2.0425
    """
    first, second = np.broadcast_arrays(np.asarray(lab1, dtype=float), np.asarray(lab2, dtype=float))
    found = np.empty(first.shape[:-1])
    _fill(
        np.ascontiguousarray(first).reshape(-1, 3),
        np.ascontiguousarray(second).reshape(-1, 3),
        found.reshape(-1),
    )
    return found


@compiled()
def ciede2000(lightness1: float, a1: float, b1: float, lightness2: float, a2: float, b2: float) -> float:
    """CIEDE2000 of one pair, for use inside compiled loops.

    From Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1):21-30; the numbers are their equations.
    """
    stretch = 1 + _lost_chroma((hypot(a1, b1) + hypot(a2, b2)) / 2) / 2  # (2)-(4): 1 + G
    chroma1, chroma2 = hypot(a1 * stretch, b1), hypot(a2 * stretch, b2)  # (5)-(6)
    hue1, hue2 = _hue(a1 * stretch, b1), _hue(a2 * stretch, b2)  # (7)

    lightness = (lightness1 + lightness2) / 2  # (12)
    chroma = (chroma1 + chroma2) / 2  # (13)
    turn = hue2 - hue1
    hue = (hue1 + hue2) / 2
    if chroma1 * chroma2 == 0:  # a grey has no hue: (10), (14), first case
        turn, hue = 0.0, hue1 + hue2
    elif abs(turn) > pi:  # take the shorter way round: (10), (14)
        turn -= _FULL_TURN if turn > 0 else -_FULL_TURN
        hue += pi if hue < pi else -pi

    weight = (
        1
        - 0.17 * cos(hue - radians(30.0))
        + 0.24 * cos(2 * hue)
        + 0.32 * cos(3 * hue + radians(6.0))
        - 0.20 * cos(4 * hue - radians(63.0))
    )  # (15)
    middle = (lightness - 50) ** 2
    along_l = (lightness2 - lightness1) / (1 + 0.015 * middle / sqrt(20 + middle))  # (8), (18)
    along_c = (chroma2 - chroma1) / (1 + 0.045 * chroma)  # (9), (19)
    along_h = 2 * sqrt(chroma1 * chroma2) * sin(turn / 2) / (1 + 0.015 * chroma * weight)  # (11), (20)
    blue = radians(30.0) * exp(-(((hue - radians(275.0)) / radians(25.0)) ** 2))  # (16)
    rotation = -2 * (1 - _lost_chroma(chroma)) * sin(2 * blue)  # (17), (21)
    total = along_l**2 + along_c**2 + along_h**2 + rotation * along_c * along_h  # (22)
    return sqrt(max(total, 0.0))


@compiled(inline="always")
def _lost_chroma(chroma: float) -> float:
    """1 − √(C⁷ / (C⁷ + 25⁷)), which falls from 1 for greys to 0 for vivid colours."""
    power = chroma**7
    return 1 - sqrt(power / (power + _25_TO_7))


@compiled(inline="always")
def _hue(a: float, b: float) -> float:
    """Hue angle in radians, 0 to 2π."""
    return atan2(b, a) % _FULL_TURN


@compiled()
def _fill(lab1: Floats, lab2: Floats, found: Floats) -> None:
    """Fill `found` with the difference of each pair of rows."""
    for row in range(len(found)):
        found[row] = ciede2000(
            lab1[row, 0], lab1[row, 1], lab1[row, 2], lab2[row, 0], lab2[row, 1], lab2[row, 2]
        )
