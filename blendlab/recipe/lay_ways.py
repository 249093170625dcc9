"""Usual ways to lay the flakes of a recipe, each at one tap: layers, stripes, heaps, a border and so on.

The commonest flake is the ground; the others make the pattern, in falling order of grams. Chips strewn before
later presses are part of the work and stay as they are.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from .flake import Flake
from .lay import SCATTER, Lay
from .lay_edits import Lays, grams_of, laid

HEAPS = (4, 1, 2, 6)  # of the second flake, the third and so on: few of them at the same spots
SLOPES = (0.0, 180.0, 90.0, -90.0)  # of gradients, likewise
CHEQUER = 4  # fields a side
CHIPS_COVER = 0.4  # of the face at most: as much again and they read as a layer

Names = list[str]
Flakes = Sequence[Flake]


def _names(flakes: Flakes) -> Names:
    """Return the names of flakes in falling order of their grams."""
    return [flake.name for flake in sorted(flakes, key=lambda flake: -flake.grams)]


def _stirred(flakes: Flakes, _: float) -> Lays:
    return (Lay(tuple(_names(flakes))),)


def _layers(flakes: Flakes, _: float) -> Lays:
    return tuple(Lay((name,), "layer") for name in _names(flakes))


def _stripes(flakes: Flakes, _: float) -> Lays:
    return tuple(Lay((name,), "stripes") for name in _names(flakes))


def _heaps(flakes: Flakes, _: float) -> Lays:
    ground, *others = _names(flakes)
    heaps = (Lay((name,), "heaps", count=HEAPS[n % len(HEAPS)]) for n, name in enumerate(others))
    return Lay((ground,)), *heaps


def _border(flakes: Flakes, _: float) -> Lays:
    ground, edge, *others = _names(flakes)
    return Lay((edge,), "border"), Lay((ground, *others))


def _quarters(flakes: Flakes, _: float) -> Lays:
    """Return a flake a quarter; of three the commonest has two, and more than four share."""
    names = _names(flakes)
    if len(names) == 3:
        half = max(flake.grams for flake in flakes) / 2
        corners = Lay((names[0],), "quarters", grams=((names[0], half),)), Lay((names[0],), "quarters")
        return corners[0], *(Lay((name,), "quarters") for name in names[1:]), corners[1]
    return tuple(Lay(tuple(names[n::4]), "quarters") for n in range(min(4, len(names))))


def _chequer(flakes: Flakes, _: float) -> Lays:
    """Return two lays, to the lighter of which each flake is added in turn."""
    grams = [0.0, 0.0]
    sides: list[Names] = [[], []]
    for flake in sorted(flakes, key=lambda flake: -flake.grams):
        lighter = int(grams[1] < grams[0])
        grams[lighter] += flake.grams
        sides[lighter].append(flake.name)
    return tuple(Lay(tuple(side), "quarters", count=CHEQUER) for side in sides)


def _side_to_side(flakes: Flakes, _: float) -> Lays:
    ground, *others = _names(flakes)
    slopes = (Lay((name,), "gradient", angle_deg=SLOPES[n % len(SLOPES)]) for n, name in enumerate(others))
    return Lay((ground,)), *slopes


def _chips_on_top(flakes: Flakes, thickness_mm: float) -> Lays:
    """Return the scarcest flake as chips, as many as lie apart, on the rest stirred."""
    *others, last = _names(flakes)
    chip = next(flake for flake in flakes if flake.name == last)
    total = sum(flake.grams for flake in flakes)
    most = total * CHIPS_COVER * min(chip.size_mm[2] / thickness_mm, 1.0)
    if chip.grams <= most:
        return Lay(tuple(others)), Lay((last,), SCATTER)
    return Lay((*others, last)), Lay((last,), SCATTER, grams=((last, most),))


WAYS: dict[str, Callable[[Flakes, float], Lays]] = {
    "stirred": _stirred,
    "layers": _layers,
    "stripes": _stripes,
    "heaps": _heaps,
    "border": _border,
    "quarters": _quarters,
    "chequer": _chequer,
    "side to side": _side_to_side,
    "chips on top": _chips_on_top,
}


def laid_so(way: str, lays: Sequence[Lay], flakes: Flakes, thickness_mm: float) -> Lays:
    """Return the lays that lay flakes in one of the `WAYS`.

    Parameters
    ----------
    lays : sequence of Lay
        How they lie now: chips strewn before a later press stay.
    flakes : sequence of Flake
        Those of the recipe; a single one is stirred whatever the way.
    thickness_mm : float
        Of the first slab.
    """
    late = [n for n, lay in enumerate(lays) if lay.is_late]
    strewn = grams_of(lays or _stirred(flakes, thickness_mm), flakes)[late]
    first = [flake.grams for flake in flakes] - strewn.sum(axis=0)
    here = [replace(flake, grams=g) for flake, g in zip(flakes, first.tolist(), strict=True) if g > 0]
    found = WAYS[way](here, thickness_mm) if len(here) > 1 else _stirred(here, thickness_mm)
    if len(found) == 1 and not late:
        return ()
    grams = np.zeros((len(found), len(flakes)))
    grams[:, first > 0] = grams_of(found, here)
    return laid([*found, *(lays[n] for n in late)], np.vstack([grams, strewn]), flakes)
