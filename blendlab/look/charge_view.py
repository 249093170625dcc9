"""The laid charge before it melts, from above and from the side: flakes in their own colours, unlit."""

import numpy as np
import numpy.typing as npt

from ..colour.spaces import srgb1_from_hex
from ..folding.old_sheet import Laid, chances, lay
from ..recipe.recipe import Recipe

PLAN_PX = 200  # longer side of the plan, px
BESIDE_PX = 6  # white between plan and side
TALL_PX = 24  # least height of the side view, which is drawn higher than it is where need be

Floats = npt.NDArray[np.float64]
Pixels = npt.NDArray[np.uint8]


def charge_view(recipe: Recipe, px: int = PLAN_PX) -> Pixels:
    """Draw what a recipe lays before its first press.

    Parameters
    ----------
    recipe : Recipe
        Chips strewn before later presses are not in it.
    px : int
        Pixels along the longer side of the plan.

    Returns
    -------
    ndarray of uint8, shape (rows, columns, 3)
        The plan from above, right as in `top_face`; under it the section along its middle, drawn up where the
        slab is thin.
    """
    laid = lay(recipe, chances(recipe)[0])
    colours = np.round([255 * srgb1_from_hex(leaf.srgb) for leaf in laid.leaves.flakes]).astype(np.uint8)
    length, width, height = laid.charge.size_mm
    per_mm = px / max(length, width)
    columns, rows = (max(1, round(side * per_mm)) for side in (length, width))
    tall = max(TALL_PX, round(height * per_mm))
    x = ((np.arange(columns) + 0.5) / columns - 0.5) * length
    y = (0.5 - (np.arange(rows) + 0.5) / rows) * width
    z = (1.0 - (np.arange(tall) + 0.5) / tall) * height
    plan = _leaves(laid, x, y[:, None], np.array(height))
    side = _leaves(laid, x, np.array(0.0), z[:, None])
    gap = np.full((BESIDE_PX, columns, 3), 255, np.uint8)
    return np.concatenate([colours[plan], gap, colours[side]])


def _leaves(laid: Laid, x: Floats, y: Floats, z: Floats) -> npt.NDArray[np.int64]:
    """Return the leaves at points given by coordinates that broadcast."""
    x, y, z = np.broadcast_arrays(x, y, z)
    return laid.leaves_at(np.stack([x, y, z], axis=-1).reshape(-1, 3)).reshape(x.shape)
