"""How thick a plastic must be to hide what is behind it, and the strength that follows.

The printed-line test: lay pieces of increasing thickness on a printed line with a drop of water between, so
that no air is left; the first one under which the line disappears gives `hide_mm`. In numbers: over black
the piece reaches 98 % of its luminance over white paper (the limit of full hiding in ISO 6504-3, from
memory).
"""

from dataclasses import dataclass

import numpy as np

from ..recipe.recipe import Flake
from ..tables import read_toml
from . import film, saunderson, spectra
from .spaces import Floats

_TABLE = read_toml("hiding/hiding.toml")
BLACK, PAPER = 0.0, float(_TABLE["paper"]["value"])  # reflectance of what the piece is laid on
HIDDEN: float = _TABLE["hidden"]["value"]

# An estimate from usual pigment loadings of moulded HDPE, from memory. It makes white hide at about 1.1 mm,
# yellow 0.8, red 1.4, green and blue 0.4-0.7, slate 0.25. Uncertain by ± 50 %.
_S_DARK, _S_RISE, _S_POWER = 1.4, 14.6, 0.7
_MIN_HIDE_MM = 0.1  # black; without it pure black would be infinitely strong

_MIN_DEPTH, _MAX_DEPTH = 1e-6, 1e6  # brackets only; no plastic comes near either


@dataclass(frozen=True)
class Typical:
    """Thickness at which some usual stock hides a printed line.

    Parameters
    ----------
    name : str
        The stock.
    low, usual, high : float
        Thickness, mm.
    srgb : str, optional
        A colour it may have; None where its colour does not identify it.
    """

    name: str
    low: float
    usual: float
    high: float
    srgb: str | None = None


def typical() -> tuple[Typical, ...]:
    """Return the table shown beside the field for a hiding thickness: estimates, from memory."""
    return tuple(Typical(**row) for row in _TABLE["stock_mm"])


def known_by(flake: Flake) -> str:
    """Say how the colour and the strength of a flake are known.

    Examples
    --------
    >>> known_by(Flake("harbour blue", "#14409a", 50, hide_mm=0.6))
    'colour as given; strength by the printed-line test'
    """
    if flake.chip is not None:
        return "colour and strength by two readings of a pressed chip"
    colour = "colour as given" if flake.spectrum is None else "colour by a measured spectrum"
    strength = "estimated from the lightness" if flake.hide_mm is None else "by the printed-line test"
    return f"{colour}; strength {strength}"


def strengths(seen: Floats, hide_mm: Floats, k2: float) -> tuple[Floats, Floats]:
    """K and S per mm of plastics from their colour and their hiding thickness.

    Parameters
    ----------
    seen : ndarray, shape (flakes, bands)
        Seen reflectance of thick pieces, away from 0 and 1.
    hide_mm : ndarray, shape (flakes,)
        Hiding thickness, mm; NaN where it is to be estimated from the lightness.
    k2 : float
        Part of diffuse light that the face reflects back inside.

    Returns
    -------
    k_per_mm, s_per_mm : ndarray, shape (flakes, bands)
        S is the same in all bands of a flake.
    """
    ratio = film.k_over_s(saunderson.inside_from_seen(seen, k2))
    hiding = depth_that_hides(ratio, k2)
    estimate = _S_DARK + _S_RISE * spectra.luminance(seen) ** _S_POWER
    default = np.minimum(estimate, hiding / _MIN_HIDE_MM)
    s = np.where(np.isnan(hide_mm), default, hiding / hide_mm)[:, None] * np.ones_like(ratio)
    return ratio * s, s


def depth_that_hides(k_over_s: Floats, k2: float) -> Floats:
    """Optical depth S·X at which a plastic passes the printed-line test.

    Parameters
    ----------
    k_over_s : ndarray, shape (flakes, bands)
        K for S = 1.
    k2 : float
        Part of diffuse light that the face reflects back inside.

    Returns
    -------
    ndarray, shape (flakes,)
        Depth, above 0.
    """

    def contrast_ratio(depth: Floats) -> Floats:
        on_black, on_paper = (
            spectra.luminance(saunderson.seen_from_inside(film.over(rg, k_over_s, 1.0, depth[:, None]), k2))
            for rg in (BLACK, PAPER)
        )
        return on_black / on_paper

    return film.where_reached(contrast_ratio, HIDDEN, _MIN_DEPTH, _MAX_DEPTH, k_over_s.shape[:1])
