"""Changes to a list of lays that keep every gram laid: what leaves one lay goes to another.

Each takes the lays and the flakes of a recipe and returns lays that fit those flakes.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from .flake import Flake
from .lay import SCATTER, Lay, fractions

Grams = npt.NDArray[np.float64]  # of each flake in each lay, shape (lays, flakes)
Lays = tuple[Lay, ...]
MIN_PART = 1e-6  # of a flake; less of it is none


def grams_of(lays: Sequence[Lay], flakes: Sequence[Flake]) -> Grams:
    """Return the grams of each flake in each lay, shape (lays, flakes)."""
    found: Grams = fractions(lays, flakes) * [flake.grams for flake in flakes]
    return found


def laid(lays: Sequence[Lay], grams: Grams, flakes: Sequence[Flake]) -> Lays:
    """Return the lays with those grams, without empty ones; the last lay of a flake takes what is left."""
    held = grams > MIN_PART * np.array([flake.grams for flake in flakes])
    found = []
    for n, lay in enumerate(lays):
        mine = np.flatnonzero(held[n]).tolist()
        parts = tuple((flakes[i].name, float(grams[n, i])) for i in mine if held[n + 1 :, i].any())
        if mine:
            found.append(replace(lay, flakes=tuple(flakes[i].name for i in mine), grams=parts or None))
    return tuple(found)


def _with_rest(lays: Sequence[Lay], grams: Grams, without: int) -> tuple[Lays, Grams, int]:
    """Return the lays, their grams, and which takes what leaves lay `without`: a new one if need be."""
    others = [n for n in range(len(lays)) if n != without and not lays[n].is_late]
    stirred = [n for n in others if lays[n].place == "throughout"]
    if others:
        return tuple(lays), grams, (stirred or others)[0]
    extra = Lay(lays[without].flakes)
    return (*lays, extra), np.vstack([grams, np.zeros(grams.shape[1])]), len(lays)


def with_flakes(lays: Sequence[Lay], n: int, names: Collection[str], flakes: Sequence[Flake]) -> Lays:
    """Give lay n these flakes, each whole where it had none of it; those that it loses go to others."""
    found, grams, rest = _with_rest(lays, grams_of(lays, flakes), n)
    for i, flake in enumerate(flakes):
        if flake.name in names and grams[n, i] == 0.0:
            grams[:, i] = 0.0
            grams[n, i] = flake.grams
        elif flake.name not in names:
            grams[rest, i] += grams[n, i]
            grams[n, i] = 0.0
    return laid(found, grams, flakes)


def with_part(lays: Sequence[Lay], n: int, name: str, part_g: float, flakes: Sequence[Flake]) -> Lays:
    """Give lay n so many grams of one of its flakes; the rest stays in, or goes to, the other lays."""
    found, grams, rest = _with_rest(lays, grams_of(lays, flakes), n)
    i = [flake.name for flake in flakes].index(name)
    left = max(flakes[i].grams - part_g, 0.0)
    others = grams[:, i].copy()
    others[n] = 0.0
    if others.sum() == 0.0:
        others[rest] = 1.0
    grams[:, i] = left * others / others.sum()
    grams[n, i] = flakes[i].grams - left
    return laid(found, grams, flakes)


def with_one_more(lays: Sequence[Lay], flakes: Sequence[Flake]) -> Lays:
    """Add a layer on top: of the scarcest flake that lies with others, else of half the commonest flake."""
    grams = grams_of(lays, flakes)
    new = np.zeros(len(flakes))
    shared = (grams > 0)[(grams > 0).sum(axis=1) > 1].any(axis=0)
    if shared.any():
        i = min(map(int, np.flatnonzero(shared)), key=lambda i: flakes[i].grams)
        new[i] = flakes[i].grams
        grams[:, i] = 0.0
    else:
        i = int(np.argmax([flake.grams for flake in flakes]))
        new[i] = flakes[i].grams / 2
        grams[:, i] /= 2
    return laid((*lays, Lay((flakes[i].name,), "layer")), np.vstack([grams, new]), flakes)


def without_lay(lays: Sequence[Lay], n: int, flakes: Sequence[Flake]) -> Lays:
    """Take lay n out; its flakes go to the other lays. None are left where all is stirred again."""
    left = with_flakes(lays, n, (), flakes) if len(lays) > 1 else ()
    return () if left and left == (Lay(left[0].flakes),) else left


def earlier(lays: Sequence[Lay], n: int, flakes: Sequence[Flake]) -> Lays:
    """Lay lay n one earlier."""
    order = list(range(len(lays)))
    order[n - 1], order[n] = order[n], order[n - 1]
    return laid([lays[m] for m in order], grams_of(lays, flakes)[order], flakes)


def with_chips(lays: Sequence[Lay], press: int, flakes: Sequence[Flake]) -> Lays:
    """Strew chips before a press: half of the scarcest flake that is laid before the first."""
    grams = grams_of(lays, flakes)
    early = [n for n, lay in enumerate(lays) if not lay.is_late]
    here = grams[early].sum(axis=0)
    i = int(np.argmin(np.where(here > 0, here, np.inf)))
    new = np.zeros(len(flakes))
    new[i] = here[i] / 2
    grams[early, i] /= 2
    chips = Lay((flakes[i].name,), SCATTER, before_press=press)
    return laid((*lays, chips), np.vstack([grams, new]), flakes)
