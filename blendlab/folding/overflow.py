"""How much of a recipe's lays does not fit their places, and so spreads to the spots around them."""

import numpy as np

from ..recipe.lay import SCATTER
from ..recipe.recipe import Recipe
from .places import distance_mm, reach_mm, turns

SIDE = 200  # spots along each side of the plan, which are counted to measure areas
MATTERS = 0.02  # part of a lay that may spread without mention: areas are counted more finely than this


def overflow(recipe: Recipe) -> dict[int, float]:
    """Return how much of lays does not fit their places.

    Returns
    -------
    dict of int to float
        By number of the lay, from 0, the part of it that spreads, 0 to 1. Chips lie one deep; what has a
        width goes through the whole slab at most; the fields of a board are equal. All else takes the room
        that it needs.
    """
    lays, size = recipe.as_laid, recipe.sheet.size_mm
    shares, presses = recipe.lay_shares, np.array([lay.before_press or 0 for lay in lays])
    present = [shares[presses <= press].sum() for press in presses]  # of the sheet, once each lay is in
    volumes = shares.sum(axis=1) / present
    steps = (np.arange(SIDE) + 0.5) / SIDE - 0.5
    plan = np.stack(np.meshgrid(steps * size[0], steps * size[1]), axis=-1).reshape(-1, 2)
    thick = np.array([min(flake.size_mm[2] / size[2], 1.0) for flake in recipe.flakes])
    found = {}
    for n, (lay, turn) in enumerate(zip(lays, turns(lays, volumes), strict=True)):
        if lay.place == SCATTER:
            held = float(shares[n] @ thick) / (shares[n].sum() or 1.0)
        elif lay.place == "quarters" or lay.width_mm is not None:
            held = float((distance_mm(lay, turn, plan, size) <= reach_mm(lay)).mean())
        else:
            continue
        over = 1.0 - held / volumes[n] if volumes[n] > 0.0 else 0.0
        if over > MATTERS:
            found[n] = float(over)
    return found
