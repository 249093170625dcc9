"""K and S of flakes from what is known of each.

Best first: a chip over two backings; a let-down in a known flake; the printed-line test; the class that the
maker states; the lightness of the colour alone. The ratio K/S always follows from the colour of the flake.
"""

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from ..recipe.flake import Flake, LetDown, let_down_order
from . import chip, film, hiding_power, let_down, saunderson, scattering, spectra
from .difference import delta_e00
from .let_down import Bands
from .spaces import Floats, lab_from_xyz1, linear_from_srgb1, srgb1_from_hex

_MIN_HIDE_MM = 0.1  # black; without it pure black would be infinitely strong
_CLASS_HIDE_MM = {stock.kind: stock.usual for stock in hiding_power.typical() if stock.kind}
_PALE_L, _NEUTRAL_CHROMA = 80.0, 12.0  # what is lighter and duller may be white or natural
_DARK_L = 36.0  # below it a colour says little about strength
MAX_MISFIT_DELTA_E00 = 3.0  # of a let-down; beyond it a strength counts as guessed


class Known(NamedTuple):
    """Strengths of several flakes, and what they rest on.

    Parameters
    ----------
    flakes : tuple of Flake
        The given ones, then the partners that their let-downs bring along.
    partners : tuple of (int, int)
        Rows of each let-down flake and of its partner, in the order in which they must be worked out.
    reflectance, k_per_mm, s_per_mm : ndarray, shape (flakes, bands)
        Seen reflectance of a thick piece; absorption and scattering per mm.
    usable : ndarray of bool, shape (flakes, bands)
        Bands in which a let-down fixes the strength; none for flakes without one.
    misfit_delta_e00 : ndarray, shape (flakes,)
        CIEDE2000 between a let-down as read and as K and S give it; 0 for flakes without one.
    basis : tuple of str
        What each strength rests on: keys of ``usual_error`` in ``tables/strength``.
    """

    flakes: tuple[Flake, ...]
    partners: tuple[tuple[int, int], ...]
    reflectance: Floats
    k_per_mm: Floats
    s_per_mm: Floats
    usable: Bands
    misfit_delta_e00: Floats
    basis: tuple[str, ...]


def known(flakes: Sequence[Flake], k2: float) -> Known:
    """Work out K and S of flakes, each from the best that is known of it.

    InputError where a chip hides its backing, or a let-down has no partner.

    Parameters
    ----------
    k2 : float
        Part of diffuse light that the face reflects back inside.
    """
    return _known(tuple(flakes), k2)


@lru_cache(maxsize=64)  # a page needs the same flakes for each of its means
def _known(flakes: tuple[Flake, ...], k2: float) -> Known:
    """Work out what `known` returns, once for the same flakes; its arrays are read-only."""
    rows, partners = _with_partners(flakes)
    seen = np.stack([declared_reflectance(flake) for flake in rows])
    s = _without_let_downs(rows, seen, k2)
    k = film.k_over_s(saunderson.inside_from_seen(seen, k2)) * s
    for row, flake in enumerate(rows):
        if flake.chip is not None:
            k[row], s[row] = chip.strengths(flake.name, flake.chip, k2)
    seen = saunderson.seen_from_inside(film.thick(k, s), k2)
    usable, misfit = np.zeros(seen.shape, dtype=bool), np.zeros(len(rows))
    for row, partner in partners:
        made = made_as(rows[row])
        mixture = declared_reflectance(made)
        read = let_down.Readings(seen[row], mixture, seen[partner], s[partner], made.percent / 100, k2)
        usable[row] = let_down.usable_bands(read)
        if usable[row].any():
            ratio = k[row] / s[row]
            s[row] = let_down.scattering_per_mm(read, usable[row])
            k[row] = ratio * s[row]
        given = mixed_reflectance(k[[row, partner]], s[[row, partner]], np.array([made.percent / 100]), k2)[0]
        misfit[row] = delta_e00(*(lab_from_xyz1(spectra.xyz1_from_reflectance(r)) for r in (mixture, given)))
    basis = tuple(map(_basis, rows, seen, usable.any(axis=-1) & (misfit < MAX_MISFIT_DELTA_E00)))
    for array in (seen, k, s, usable, misfit):
        array.setflags(write=False)
    return Known(rows, partners, seen, k, s, usable, misfit, basis)


def mixed_reflectance(k_per_mm: Floats, s_per_mm: Floats, parts: Floats, k2: float) -> Floats:
    """Seen reflectance of mixtures of two flakes, shape (mixtures, bands).

    Parameters
    ----------
    k_per_mm, s_per_mm : ndarray, shape (2, bands)
        Of both flakes.
    parts : ndarray, shape (mixtures,)
        Part of the first one, 0 to 1.
    """
    shares = np.stack([parts, 1 - parts], axis=-1)
    return saunderson.seen_from_inside(film.thick(shares @ k_per_mm, shares @ s_per_mm), k2)


def declared_reflectance(source: Flake | LetDown) -> Floats:
    """Seen reflectance of a thick piece, from its spectrum or else its colour, shape (bands,)."""
    if source.spectrum is not None:
        return spectra.reflectance_from_spectrum(source.spectrum)
    return spectra.reflectance_from_linear(linear_from_srgb1(srgb1_from_hex(source.srgb or "")))


def made_as(flake: Flake) -> LetDown:
    """Return the let-down of a flake that has one."""
    assert flake.let_down is not None
    return flake.let_down


def known_by(flake: Flake) -> str:
    """Say how the colour and the strength of a flake are known.

    Examples
    --------
    >>> known_by(Flake("harbour blue", "#14409a", 50, hide_mm=0.6))
    'colour as given; strength by the printed-line test'
    """
    if flake.cut_from is not None:
        return "colour and strength by the flakes of the sheet it is cut from"
    if flake.chip is not None:
        return "colour and strength by two readings of a pressed chip"
    colour = "colour as given" if flake.spectrum is None else "colour by a measured spectrum"
    if flake.let_down is not None:
        return f"{colour}; strength by a let-down in {flake.let_down.partner_name}"
    if flake.hide_mm is not None:
        return f"{colour}; strength by the printed-line test"
    if flake.kind in _CLASS_HIDE_MM:
        return f"{colour}; strength estimated from its class, {flake.kind}"
    return f"{colour}; strength estimated from the lightness"


def must_choose(flake: Flake) -> bool:
    """Whether a flake is so pale and neutral that only its class can tell white from natural stock.

    Examples
    --------
    >>> must_choose(Flake("bottle", "#e8e4d8", 50)), must_choose(Flake("coal", "#1a1a1a", 50))
    (True, False)
    """
    if flake.cut_from is not None:
        return False
    return _basis(flake, declared_reflectance(flake), flake.let_down is not None) == "pale"


def _basis(flake: Flake, reflectance: Floats, let_down_holds: bool) -> str:
    """Name what the strength of a flake rests on."""
    if flake.chip is not None:
        return "chip"
    if let_down_holds:
        if flake.kind in _CLASS_HIDE_MM:
            return "let_down_translucent"
        measured = flake.spectrum is not None and made_as(flake).spectrum is not None
        return "let_down_spectrum" if measured else "let_down_colour"
    if flake.hide_mm is not None:
        return "printed_line"
    if flake.kind in _CLASS_HIDE_MM:
        return "class"
    lightness, a, b = lab_from_xyz1(spectra.xyz1_from_reflectance(reflectance))
    if flake.kind is None and lightness > _PALE_L and np.hypot(a, b) < _NEUTRAL_CHROMA:
        return "pale"
    return "dark" if lightness < _DARK_L else "lightness"


def _with_partners(flakes: Sequence[Flake]) -> tuple[tuple[Flake, ...], tuple[tuple[int, int], ...]]:
    """Flakes followed by the partners their let-downs bring along, and rows of let-downs and partners."""
    rows, partners = list(flakes), []
    named = {flake.name: row for row, flake in enumerate(flakes)}

    def link(row: int) -> None:
        partner = made_as(rows[row]).partner
        at = named[partner] if isinstance(partner, str) else len(rows)
        if not isinstance(partner, str):
            rows.append(partner)
            if partner.let_down is not None:
                link(at)
        partners.append((row, at))

    for row in let_down_order(flakes):
        link(row)
    return tuple(rows), tuple(partners)


def _without_let_downs(flakes: Sequence[Flake], seen: Floats, k2: float) -> Floats:
    """S per mm by the printed-line test, the class or the lightness, shape (flakes, bands)."""
    ratio = film.k_over_s(saunderson.inside_from_seen(seen, k2))
    # Thickness that would hide if S were 1 per mm at 550 nm.
    unit_mm = hiding_power.hide_mm(ratio * scattering.FALL, np.broadcast_to(scattering.FALL, ratio.shape), k2)
    given = np.array([flake.hide_mm or _CLASS_HIDE_MM.get(flake.kind or "", np.nan) for flake in flakes])
    estimate = np.minimum(scattering.by_lightness(spectra.luminance(seen)), unit_mm / _MIN_HIDE_MM)
    s: Floats = np.where(np.isnan(given), estimate, unit_mm / given)[:, None] * scattering.FALL
    return s
