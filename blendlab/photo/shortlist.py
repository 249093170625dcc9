"""Shortlist the flakes that may be in a photographed sheet, from all those on hand.

The photo's colours are first treated as those of unblended flakes, whose distribution is linear in the
shares; this ranks the flakes. A few challengers at a time are then fitted together with the best so far, as a
lightly and as a heavily folded sheet, and those with the largest shares stay.
"""

from dataclasses import replace

import numpy as np
from scipy.optimize import nnls

from ..colour.spaces import lab_from_xyz1, xyz1_from_hex
from ..recipe.flake import with_partners
from ..recipe.recipe import MAX_FLAKES, Flake
from ..runtime.progress import ProgressCallback, each
from .move_fit import Case
from .share_fit import fit, wave_means

MAX_ON_HAND = 60
KEPT = 7  # flakes that stay in each round; the others of a full recipe are challengers
FOLDS = (1, 6)  # fold counts that a round assumes
NEAR = 12.0  # dE*ab over which a flake counts as near a colour of the photo


def shortlist(case: Case, on_progress: ProgressCallback) -> tuple[Flake, ...]:
    """Return the `KEPT` flakes that best explain a face, in the list's order; all if a recipe holds them."""
    flakes = case.on_hand
    if len(flakes) <= MAX_FLAKES:
        return flakes
    ranked = _ranked(case)
    kept, rest = ranked[:KEPT], ranked[KEPT:]
    size = MAX_FLAKES - KEPT
    for start in each(range(0, len(rest), size), on_progress):
        kept = _best(case, [*kept, *rest[start : start + size]])
    return with_partners((flakes[n] for n in sorted(kept)), flakes)


def _ranked(case: Case) -> list[int]:
    """Rank the flakes by their shares in a sheet that is not blended, then by nearness to its colours."""
    colours = case.colours[:: max(1, len(case.colours) // 2000)]
    pure = np.array([xyz1_from_hex(flake.srgb) for flake in case.on_hand])
    shares, _ = nnls(wave_means(pure[:, None]).T, wave_means(colours))
    distance = np.linalg.norm(lab_from_xyz1(pure)[:, None] - lab_from_xyz1(np.maximum(colours, 0.0)), axis=-1)
    near = np.exp(-0.5 * (distance / NEAR) ** 2).mean(axis=1)
    return [int(n) for n in np.argsort(-(shares + 0.1 * near), kind="stable")]


def _best(case: Case, tried: list[int]) -> list[int]:
    """Return the `KEPT` flakes of those tried that have the largest shares where they fit best."""
    some = replace(case, on_hand=with_partners((case.on_hand[n] for n in tried), case.on_hand))
    problem = some.problem(case.colours, some.on_hand)
    even = np.full(len(tried), 1 / len(tried))
    found = min((fit(problem, folds, even, np.zeros(3)) for folds in FOLDS), key=lambda one: one.misfit)
    order = np.argsort(-found.shares, kind="stable")[:KEPT]
    return [tried[n] for n in order]
