"""A recipe for a wanted colour: which flakes, and how much of each."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .. import checks
from ..recipe.flake_list import Stocked, charge
from ..recipe.recipe import GLOSSY, REFRACTIVE_INDEX
from ..runtime.progress import ProgressCallback, no_progress
from ..tables import read_toml
from . import search, spectra
from .describe_difference import describe
from .means import as_light, as_pigment
from .pigment import Palette, palette
from .spaces import Colour, Floats

# A colour has three dimensions: any colour that more flakes can mix, some four of them can (Carathéodory).
MAX_FLAKES = 4
IN_REACH: float = read_toml("eye/eye.toml")["side_by_side_delta_e00"]["value"]  # CIEDE2000
MEANS = {"full": as_pigment, "area": as_light}


@dataclass(frozen=True)
class Match:
    """One recipe near a wanted colour: volume shares above 0, summing to 1, the largest first."""

    shares: dict[str, float]
    blend: Colour
    delta_e00: float


@dataclass(frozen=True)
class Answer:
    """Result of a search.

    Parameters
    ----------
    matches : tuple of Match
        Nearest first; of two that agree to a hundredth, the one with fewer flakes.
    remark : str
        One sentence: how near it comes, and how it differs.
    lacking : tuple of str
        Flakes of which more on hand would halve the difference, if any.
    """

    wanted: Colour
    matches: tuple[Match, ...]
    remark: str
    lacking: tuple[str, ...] = ()


def wanted_colour(text: str) -> Colour:
    """Read a wanted colour, ``#rrggbb`` or ``L, a, b``.

    InputError where it is neither, L* is outside 0-100, or a* or b* outside ±150.

    Examples
    --------
    >>> wanted_colour("52.1, -8, 20.5").srgb
    '#7c7f59'
    """
    parts = text.replace(",", " ").split()
    if len(parts) != 3:
        return Colour.from_hex(checks.hex_colour("the wanted colour", text.strip()))
    values = []
    for axis, part, low in zip("Lab", parts, (0, -150, -150), strict=True):
        try:
            value: object = checks.Typed(part)
        except ValueError:
            value = part
        remedy = "give #rrggbb, or L, a and b"
        values.append(checks.number(f"{axis} of the wanted colour", value, low, -low or 100, remedy))
    return Colour.from_lab(values)


def nearest(
    wanted: Colour,
    stock: Sequence[Stocked],
    most: int = 3,
    mass_g: float | None = None,
    mean: str = "full",
    keep: int = 5,
    refractive_index: float = REFRACTIVE_INDEX,
    finish: str = GLOSSY,
    on_progress: ProgressCallback = no_progress,
) -> Answer:
    """Find shares of flakes whose mean colour is nearest to a wanted one.

    InputError where the list is empty, a number breaks its rule, or the grams on hand do not make up the
    mass.

    Parameters
    ----------
    most : int
        Largest number of flakes in one recipe, 1-4.
    mass_g : float, optional
        Total mass, g; if given, no flake is used beyond its grams on hand.
    mean : str
        ``"full"`` for the full blend, ``"area"`` for the area mean.
    keep : int
        Largest number of recipes to return, 1 or more.
    """
    most = checks.whole("the number of flakes to use", most, 1, MAX_FLAKES, f"choose 1 to {MAX_FLAKES}")
    average_of = MEANS[checks.one_of("the mean to match", mean, tuple(MEANS))]
    limits = _limits(stock, mass_g)
    chosen = charge(stock, {flake.name: 1.0 for flake, limit in zip(stock, limits, strict=True) if limit > 0})
    flakes = palette(chosen, refractive_index, finish)
    field = search.Field(wanted, average_of(flakes), _strength(flakes, mean), limits[limits > 0])
    fullest = np.sort(limits)[-most:].sum()
    if mass_g is not None and fullest < search.WHOLE:
        rule = f"a mix of at most {most} flakes on hand must make up the mass of {mass_g:.10g} g"
        found = checks.Raw(f"{fullest * mass_g:.10g} g at most")
        checks.refuse(rule, found, "allow more flakes, plan less, or fill up the stock")
    matches = tuple(_match(flakes.names, field, find) for find in search.best(field, most, keep, on_progress))
    best = matches[0]
    remark = describe(wanted, best.blend, best.delta_e00, IN_REACH)
    lacking: tuple[str, ...] = ()
    if best.delta_e00 > IN_REACH and np.any(limits < 1):
        free = nearest(wanted, stock, most, None, mean, 1, refractive_index, finish).matches[0]
        if free.delta_e00 < best.delta_e00 / 2:
            lacking = tuple(free.shares)
            remark += f" With enough on hand of {', '.join(lacking)} it would be {free.delta_e00:.1f}."
    return Answer(wanted, matches, remark, lacking)


def _limits(stock: Sequence[Stocked], mass_g: float | None) -> Floats:
    """Largest share of each flake, 0 to 1: what is on hand, as a part of the mass."""
    if not stock:
        checks.refuse("the flake list must hold a flake", None, "add what is on hand")
    if mass_g is None:
        return np.ones(len(stock))
    mass_g = checks.positive("the total mass in grams", mass_g, "give what the sheet is to weigh")
    on_hand = np.array([flake.grams for flake in stock])
    if on_hand.sum() < mass_g:
        rule = f"the flakes on hand must make up the mass of {mass_g:.10g} g"
        checks.refuse(rule, checks.Raw(f"{on_hand.sum():.10g} g"), "plan less, or fill up the stock")
    return np.minimum(on_hand / mass_g, 1.0)


def _strength(flakes: Palette, mean: str) -> Floats:
    """Weight of each flake's share in the mean: its absorption plus scattering; equal for the area mean."""
    if mean == "area":
        return np.ones(len(flakes.names))
    weight: Floats = spectra.luminance(flakes.k_per_mm + flakes.s_per_mm)
    return weight


def _match(names: tuple[str, ...], field: search.Field, find: search.Find) -> Match:
    """Turn a find into the names and numbers that a maker reads."""
    order = np.argsort(-find.shares, kind="stable")
    named = {names[find.members[i]]: float(find.shares[i]) for i in order if find.shares[i] > 0}
    sums = find.shares @ field.average.amounts[list(find.members)]
    return Match(named, Colour.from_lab(field.average.lab_of(sums)), find.distance)
