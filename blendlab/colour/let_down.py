"""K and S of a flake from one known mixture with a flake that is known already: a let-down.

In each band the masstone, which is the flake alone, gives K1 = Q1·S1. The let-down, which holds a part c of
it, gives c·K1 + (1 − c)·K2 = Qm·(c·S1 + (1 − c)·S2). Q is K/S of a reflectance; K2 and S2 belong to the known
partner, and K2 = Q2·S2. These are two linear equations with two unknowns that cannot be negative. With
p = (Qm − Q2)/(Q1 − Q2), the place of the mixture on the way from the partner to the masstone, the
non-negative least-squares solution is

    S1 = S2·(1 − c)/c · p/(1 − p),  K1 = Q1·S1,  p kept within 0 and 1.

A band is unusable where the let-down looks like the partner or like the masstone, or is lighter or darker
than both. There S1 follows from the usable bands, along the usual fall of scattering.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from . import film, saunderson, scattering
from .spaces import Floats

Bands = NDArray[np.bool_]

READING_SD = 0.002  # of a seen reflectance: that of an instrument, or the rounding of eight bits
_MAX_LOG_SD = 0.5  # of a strength: a band whose reading leaves more uncertainty is unusable
_DARKEST_READ = 3e-4  # below this the uncertainty of a reading does not grow any further
_END = 1e-4  # keeps p off 0 and 1, where S1 would be 0 or infinite


class Readings(NamedTuple):
    """What a let-down is worked out from.

    Parameters
    ----------
    masstone, mixture, partner : ndarray, shape (..., bands)
        Seen reflectance of the flake alone, of the let-down and of the flake it is made in, all thick.
    part : float
        Part of the let-down flake in the mixture, above 0 and below 1.
    k2 : float
        Part of diffuse light that the face reflects back inside.
    """

    masstone: Floats
    mixture: Floats
    partner: Floats
    partner_s_per_mm: Floats
    part: float
    k2: float


def usable_bands(read: Readings) -> Bands:
    """Find the bands that fix the strength, shape (..., bands).

    The uncertainty of each reading is propagated, to first order, to the logarithm of K1 + S1. A masstone so
    dark that Q1 is uncertain does no harm: K1 then hardly depends on it.
    """
    q1, qm, q2 = (_k_over_s(seen, read.k2) for seen in read[:3])
    sd1, sdm, sd2 = (_k_over_s_sd(seen, read.k2) for seen in read[:3])
    with np.errstate(divide="ignore", invalid="ignore"):
        variance = (
            (sdm * (1 / (qm - q2) + 1 / (q1 - qm))) ** 2
            + (sd1 * (1 / (1 + q1) - 1 / (q1 - qm))) ** 2
            + (sd2 / (qm - q2)) ** 2
        )
        between = (qm - q2) / (q1 - qm) > 0
    usable: Bands = between & (variance < _MAX_LOG_SD**2)
    return usable


def scattering_per_mm(read: Readings, usable: Bands) -> Floats:
    """S1 per mm of the let-down flake, shape (..., bands), above 0.

    Parameters
    ----------
    read : Readings
        Leading shapes broadcast.
    usable : ndarray of bool, shape (bands,)
        As from `usable_bands`, at least one of them.
    """
    q1, qm, q2 = (_k_over_s(seen, read.k2) for seen in read[:3])
    place = np.where(usable, (qm - q2) / np.where(q1 == q2, 1.0, q1 - q2), 0.5)
    place = np.clip(place, _END, 1 - _END)
    s = read.partner_s_per_mm * (1 - read.part) / read.part * place / (1 - place)
    filled: Floats = scattering.FALL * np.exp(np.log(s / scattering.FALL) @ _fill(usable))
    return filled


def _fill(usable: Bands) -> Floats:
    """Matrix that keeps the usable values of a row, interpolates between and extends beyond them."""
    at = np.arange(len(usable))
    return np.stack([np.interp(at, at[usable], unit[usable]) for unit in np.eye(len(usable))])


def _k_over_s(seen: Floats, k2: float) -> Floats:
    """K/S of a thick piece from its seen reflectance."""
    return film.k_over_s(saunderson.inside_from_seen(seen, k2))


def _k_over_s_sd(seen: Floats, k2: float) -> Floats:
    """Standard deviation of K/S from that of a reading, by |d(K/S)/dR| = (1 − R²)/2R², R inside."""
    read = np.maximum(seen, _DARKEST_READ)
    inside = saunderson.inside_from_seen(read, k2)
    inside_per_seen = (1 - k2) / (1 - k2 + k2 * read) ** 2
    sd: Floats = READING_SD * inside_per_seen * (1 - inside**2) / (2 * inside**2)
    return sd
