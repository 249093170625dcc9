"""A mix as it can be weighed: whole pieces, or whole grams."""

from collections.abc import Mapping, Sequence

from ...recipe.flake_list import Stocked
from ...units import Units, some

FINE = 1 / 20  # of a mix; pieces that weigh more of it are cut up, so they do not count as whole
GRAMS = (1.0, 0.1)  # steps of a scale, the finer one for a mix below
SMALL_G = 50.0


def makeable(shares: Mapping[str, float], flakes: Sequence[Stocked], mass_g: float) -> dict[str, float]:
    """Round the shares of a mix to what can be put on a scale.

    Parameters
    ----------
    shares : mapping of str to float
        By flake name, summing to 1.

    Returns
    -------
    dict of str to float
        Grams above 0 by flake name; a flake that rounds to nothing is left out, but for the largest.
    """
    step = {flake.name: _step_g(flake, mass_g) for flake in flakes}
    grams = {name: round(share * mass_g / step[name]) * step[name] for name, share in shares.items()}
    kept = {name: round(amount, 3) for name, amount in grams.items() if amount > 0}
    if kept:
        return kept
    largest = max(shares, key=lambda name: shares[name])
    return {largest: step[largest]}


def amount(flake: Stocked, grams: float, mass_g: float, units: Units) -> str:
    """Say an amount: in pieces too, where those are whole."""
    step = _step_g(flake, mass_g)
    if step != flake.piece_g:
        return units.mass.text(grams, digits=step < 1)
    return f"{some(round(grams / step), 'piece')}, {units.mass.text(grams, 1)}"


def _step_g(flake: Stocked, mass_g: float) -> float:
    """Grams of what a flake is taken by: a piece where that is small in the mix, else a step of the scale."""
    if flake.piece_g and flake.piece_g <= FINE * mass_g:
        return flake.piece_g
    return GRAMS[mass_g < SMALL_G]
