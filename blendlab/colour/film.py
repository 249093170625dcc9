"""Kubelka-Munk: light in a layer of plastic that absorbs (K) and scatters (S), both per mm.

Written in K and S rather than in the customary a = 1 + K/S and b = √(a² − 1), so that layers without
absorption, without scattering, very thin or very thick need no special cases. With γ = √(K(K + 2S)) = bS:

- thick layer: R∞ = S / (S + K + γ)  (Kubelka & Munk 1931);
- layer of thickness X on a backing Rg, with τ = tanh(γX)/γ:
  R = [Rg + (S − (K + S)Rg)τ] / [1 + (K + S − S·Rg)τ], the hyperbolic equation of Kubelka 1948,
  J. Opt. Soc. Am. 38:448, multiplied through by tanh;
- light let through by the same layer: T = 1 / [cosh γX + (K + S) sinh(γX)/γ]  (ibid.).

All reflectances are inside the plastic, without its face; a backing is in optical contact.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from .spaces import Floats


def k_over_s(reflectance: ArrayLike) -> Floats:
    """K/S = (1 − R)²/2R of a thick layer with reflectance R, above 0 (Kubelka & Munk 1931).

    Examples
    --------
    >>> k_over_s([0.25, 0.5])
    array([1.125, 0.25 ])
    """
    r = np.asarray(reflectance, dtype=float)
    ratio: Floats = (1 - r) ** 2 / (2 * r)
    return ratio


def thick(k_per_mm: ArrayLike, s_per_mm: ArrayLike) -> Floats:
    """Reflectance of a layer so thick that its backing does not matter.

    Parameters
    ----------
    k_per_mm, s_per_mm : array_like
        Absorption and scattering per mm, 0 or more, not both 0; they broadcast. Only their ratio counts.

    Examples
    --------
    >>> float(thick(1.0, 1.0))
    0.2679491924311227
    """
    k, s = np.asarray(k_per_mm, dtype=float), np.asarray(s_per_mm, dtype=float)
    reflectance: Floats = s / (s + k + np.sqrt(k * (k + 2 * s)))
    return reflectance


def over(backing: ArrayLike, k_per_mm: ArrayLike, s_per_mm: ArrayLike, thickness_mm: ArrayLike) -> Floats:
    """Reflectance of a layer on a backing.

    Parameters
    ----------
    backing : array_like
        Reflectance Rg under the layer, 0 to 1.
    k_per_mm, s_per_mm : array_like
        Absorption and scattering per mm, 0 or more.
    thickness_mm : array_like
        Thickness, mm, 0 or more. All four broadcast.
    """
    rg = np.asarray(backing, dtype=float)
    k, s = np.asarray(k_per_mm, dtype=float), np.asarray(s_per_mm, dtype=float)
    tau = _tau(k, s, np.asarray(thickness_mm, dtype=float))
    reflectance: Floats = (rg + (s - (k + s) * rg) * tau) / (1 + (k + s - s * rg) * tau)
    return reflectance


def through(k_per_mm: ArrayLike, s_per_mm: ArrayLike, thickness_mm: ArrayLike) -> Floats:
    """Part of diffuse light that a layer transmits, 0 to 1; parameters as for `over`."""
    k, s = np.asarray(k_per_mm, dtype=float), np.asarray(s_per_mm, dtype=float)
    x = np.asarray(thickness_mm, dtype=float)
    once = np.exp(-np.sqrt(k * (k + 2 * s)) * x)
    transmitted: Floats = (
        2 * once / (1 + once**2) / (1 + (k + s) * _tau(k, s, x))
    )  # 1/cosh written so as not to overflow
    return transmitted


def from_two_backings(
    on_dark: ArrayLike, on_light: ArrayLike, dark: float, light: float, thickness_mm: float
) -> tuple[Floats, Floats]:
    """K/S and S of a layer from its reflectance over two backings: the inverse of `over`.

    Each reading gives τS as a function of a = 1 + K/S; equating the two leaves a as the only unknown. Over
    a perfect black (`dark` = 0) this is a = ½[Rw + (R0 − Rw + Rg)/(R0·Rg)] and
    SX = artanh(bR0/(1 − aR0))/b (Kubelka 1948).

    Parameters
    ----------
    on_dark, on_light : array_like
        Reflectance over each, 0 to 1.
    dark, light : float
        Reflectance of the two backings, 0 to 1, the second higher.
    thickness_mm : float
        Of the layer, mm, above 0.

    Returns
    -------
    k_over_s, s_per_mm : ndarray
        S is NaN where no layer fits the readings, and infinite where the layer hides the backing completely.
    """
    r, w = np.asarray(on_dark, dtype=float), np.asarray(on_light, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        a = ((dark - r) * (1 + w * light) - (light - w) * (1 + r * dark)) / (
            (dark - r) * (w + light) - (light - w) * (r + dark)
        )
        ratio = np.maximum(a - 1, 0.0)
        b = np.sqrt(ratio * (ratio + 2))
        t = (dark - r) / ((1 + ratio) * (r + dark) - r * dark - 1)  # tanh(bSX)/b
        s = np.where(b > 0, np.arctanh(b * t) / np.where(b > 0, b, 1), t) / thickness_mm
    return ratio, s


def _tau(k: Floats, s: Floats, x: Floats) -> Floats:
    """tanh(γX)/γ, which is X without absorption."""
    gamma = np.sqrt(k * (k + 2 * s))
    safe = np.where(gamma > 0, gamma, 1.0)
    return np.where(gamma > 0, np.tanh(safe * x) / safe, x)


def where_reached(
    rising: Callable[[Floats], Floats], level: Floats | float, low: float, high: float, shape: tuple[int, ...]
) -> Floats:
    """Solve ``rising(x) = level`` for many x at once, by bisection on a logarithmic scale.

    SciPy offers the same, but importing its root finders takes a third of the time of a whole command.

    Parameters
    ----------
    rising : callable
        Function of an array of `shape`; each element rises with its own x.
    level : ndarray or float
        Value to reach, broadcasting with `shape`.
    low, high : float
        Bracket, above 0. Where the level is outside, the nearer end is returned.
    shape : tuple of int
        Number of unknowns.

    Returns
    -------
    ndarray of `shape`
        x to 1 part in 10⁹.
    """
    below, above = np.full(shape, low), np.full(shape, high)
    while np.any(above > below * (1 + 1e-9)):
        middle = np.sqrt(below * above)
        short = rising(middle) < level
        below, above = np.where(short, middle, below), np.where(short, above, middle)
    found: Floats = np.sqrt(below * above)
    return found
