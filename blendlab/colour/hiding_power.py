"""How thick a plastic must be to hide what is behind it.

The printed-line test: lay pieces of increasing thickness on a printed line with a drop of water between, so
that no air is left; the first one under which the line disappears gives `hide_mm`. In numbers: over black
the piece reaches 98 % of its luminance over white paper (the limit of full hiding in ISO 6504-3).
"""

from dataclasses import dataclass

from ..tables import read_toml
from . import film, saunderson, spectra
from .spaces import Floats

_TABLE = read_toml("hiding/hiding.toml")
BLACK, PAPER = 0.0, float(_TABLE["paper"]["value"])  # reflectance of what the piece is laid on
HIDDEN: float = _TABLE["hidden"]["value"]

_MIN_MM, _MAX_MM = 1e-7, 1e7  # brackets only; no plastic comes near either


@dataclass(frozen=True)
class Typical:
    """Thickness at which some usual stock hides a printed line.

    Parameters
    ----------
    low, usual, high : float
        Thickness, mm.
    srgb : str, optional
        A colour it may have; None where its colour does not identify it.
    kind : str, optional
        Its class, where that identifies it.
    """

    name: str
    low: float
    usual: float
    high: float
    srgb: str | None = None
    kind: str | None = None


def typical() -> tuple[Typical, ...]:
    """Return the table shown next to the field for a hiding thickness: estimates, from memory."""
    return tuple(Typical(**row) for row in _TABLE["stock_mm"])


def hide_mm(k_per_mm: Floats, s_per_mm: Floats, k2: float) -> Floats:
    """Thickness, mm, shape (flakes,), at which K and S, shape (flakes, bands), pass the printed-line test.

    K and S are per mm; in another unit they give the thickness in its inverse.
    """

    def contrast_ratio(thickness_mm: Floats) -> Floats:
        on_black, on_paper = (
            film.over(backing, k_per_mm, s_per_mm, thickness_mm[:, None]) for backing in (BLACK, PAPER)
        )
        seen_black, seen_paper = (saunderson.seen_from_inside(inside, k2) for inside in (on_black, on_paper))
        return spectra.luminance(seen_black) / spectra.luminance(seen_paper)

    return film.where_reached(contrast_ratio, HIDDEN, _MIN_MM, _MAX_MM, k_per_mm.shape[:1])
