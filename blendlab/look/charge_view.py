"""The laid charge before it melts, from above and from the side: flakes in their own colours, unlit."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from ..colour.spaces import srgb1_from_hex
from ..folding.charge import lay_charge
from ..folding.old_sheet import chances, lay
from ..recipe.recipe import Recipe, Sheet

PLAN_PX = 200  # longer side of the plan, px
BESIDE_PX = 6  # white between plan and side
TALL_PX = 24  # least height of the side view, which is drawn higher than it is where need be

Floats = npt.NDArray[np.float64]
Pixels = npt.NDArray[np.uint8]
LookUp = Callable[[Floats], npt.NDArray[np.integer]]


def charge_view(recipe: Recipe, px: int = PLAN_PX, sketch: bool = False) -> Pixels:
    """Draw what a recipe lays before its first press.

    Parameters
    ----------
    recipe : Recipe
        Chips strewn before later presses are not in it.
    px : int
        Pixels along the longer side of the plan.
    sketch : bool
        Whether volumes need not be exact, nor offcuts show what is in them: several times quicker.

    Returns
    -------
    ndarray of uint8, shape (rows, columns, 3)
        The plan from above, right as in `top_face`; under it the section along its middle, drawn up where the
        slab is thin.
    """
    rng, flakes = chances(recipe)[0], recipe.flakes
    look_up: LookUp
    if sketch:
        look_up = lay_charge(recipe, rng, weighed=False, walked=False).kinds_at
    else:
        laid = lay(recipe, rng)
        look_up, flakes = laid.leaves_at, laid.leaves.flakes
    colours = np.round([255 * srgb1_from_hex(flake.srgb) for flake in flakes]).astype(np.uint8)
    length, width, height = recipe.sheet.size_mm
    rows, tall, columns = _sides(recipe.sheet, px)
    x = ((np.arange(columns) + 0.5) / columns - 0.5) * length
    y = (0.5 - (np.arange(rows) + 0.5) / rows) * width
    z = (1.0 - (np.arange(tall) + 0.5) / tall) * height
    plan = _at(look_up, x, y[:, None], np.array(height))
    side = _at(look_up, x, np.array(0.0), z[:, None])
    gap = np.full((BESIDE_PX, columns, 3), 255, np.uint8)
    return np.concatenate([colours[plan], gap, colours[side]])


def view_shape(sheet: Sheet, px: int = PLAN_PX) -> tuple[int, int]:
    """Return rows and columns of `charge_view`."""
    rows, tall, columns = _sides(sheet, px)
    return rows + BESIDE_PX + tall, columns


def _sides(sheet: Sheet, px: int) -> tuple[int, int, int]:
    """Return rows of the plan and of the section, and columns."""
    length, width, height = sheet.size_mm
    per_mm = px / max(length, width)
    columns, rows = (max(1, round(side * per_mm)) for side in (length, width))
    return rows, max(TALL_PX, round(height * per_mm)), columns


def _at(look_up: LookUp, x: Floats, y: Floats, z: Floats) -> npt.NDArray[np.integer]:
    """Look up points given by coordinates that broadcast."""
    x, y, z = np.broadcast_arrays(x, y, z)
    return look_up(np.stack([x, y, z], axis=-1).reshape(-1, 3)).reshape(x.shape)
