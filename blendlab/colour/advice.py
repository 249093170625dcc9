"""What would make a blend more certain: a sentence for each flake whose strength is in doubt."""

from collections.abc import Iterator

import numpy as np

from ..recipe.flake import Flake
from ..recipe.recipe import Recipe
from . import saunderson, spectra, strength
from .difference import delta_e00
from .spaces import Floats, lab_from_xyz1
from .strength import Known
from .uncertainty import STRENGTH, causes

MATTERS_DELTA_E_AB = 3.0  # a strength that moves the blend less is not mentioned
_MIN_DELTA_E00 = 6.0  # least difference of a useful let-down from either of its parts
_PERCENT = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 95, 98, 99)


def for_recipe(recipe: Recipe) -> tuple[str, ...]:
    """Say which strengths to measure, which class to choose and which let-down to make again."""
    k2 = saunderson.inner_reflection(recipe.refractive_index)
    known = strength.known(recipe.leaves.flakes, k2)
    moved = {cause.flake: cause.delta_e for cause in causes(recipe) if cause.what == STRENGTH}
    partners = dict(known.partners)
    found: list[str] = []
    for row, flake in enumerate(recipe.leaves.flakes):
        if flake.let_down is not None:
            found += _of_let_down(known, row, partners[row], k2)
        elif moved[flake.name] > MATTERS_DELTA_E_AB:
            found += _of_strength(flake, known.basis[row])
    return tuple(found)


def _of_strength(flake: Flake, basis: str) -> Iterator[str]:
    """Say what to do about a strength that the colour does not reveal."""
    if basis == "pale":
        yield (
            f"{flake.name} may be white or natural, which differ fifteenfold in strength: say opaque or "
            "natural, or test it on a printed line."
        )
    elif basis == "dark":
        yield (
            f"{flake.name} is too dark for its colour to reveal its strength: make a let-down of it in a "
            "white flake, or test it on a printed line."
        )


def _of_let_down(known: Known, row: int, partner: int, k2: float) -> Iterator[str]:
    """Say whether a let-down is too weak, too strong, or at odds with the theory."""
    made = strength.made_as(known.flakes[row])
    name, in_name = known.flakes[row].name, known.flakes[partner].name
    mixture = _lab(strength.declared_reflectance(made))
    ends = np.stack([_lab(known.reflectance[at]) for at in (row, partner)])
    shown = delta_e00(mixture, ends)
    percent, best = _best_percent(known, row, partner, k2)
    if min(shown) < _MIN_DELTA_E00:
        like, verdict = (name, "too strong") if shown[0] < shown[1] else (in_name, "too weak")
        start = f"The let-down of {name} in {in_name} is {verdict}, hardly different from {like}"
        if best < _MIN_DELTA_E00:
            yield f"{start}, and no other percentage would tell more: make it in a flake of another colour."
        else:
            yield f"{start}: {percent:g} % would tell more than {made.percent:g} %."
    misfit = known.misfit_delta_e00[row]
    if misfit > strength.MAX_MISFIT_DELTA_E00:
        yield (
            f"No K and S explain the let-down of {name} in {in_name}: the nearest mixture is {misfit:.1f} "
            "ΔE00 away from the colour read, so its strength counts as guessed; read all three colours "
            "again in the same light."
        )


def _best_percent(known: Known, row: int, partner: int, k2: float) -> tuple[float, float]:
    """Percentage whose let-down differs most from both its parts, and that smaller difference in ΔE00."""
    k, s = (each[[row, partner]] for each in (known.k_per_mm, known.s_per_mm))
    mixtures = _lab(strength.mixed_reflectance(k, s, np.array(_PERCENT) / 100, k2))
    ends = [_lab(known.reflectance[at]) for at in (row, partner)]
    nearer = np.minimum(*(delta_e00(mixtures, end) for end in ends))
    at = int(np.argmax(nearer))
    return _PERCENT[at], float(nearer[at])


def _lab(reflectance: Floats) -> Floats:
    return lab_from_xyz1(spectra.xyz1_from_reflectance(reflectance))
