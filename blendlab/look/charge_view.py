"""The laid charge before it melts, from above and from the side: flakes in their own colours, unlit."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ..colour.spaces import srgb1_from_hex
from ..folding.charge import lay_charge
from ..folding.old_sheet import chances, lay
from ..recipe.recipe import Flake, Recipe, Sheet

PLAN_PX = 200  # longer side of the plan, px
BESIDE = 0.03  # white between plan and side, as a part of the plan
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
    return _drawn(laid.leaves_at(_spots(recipe.sheet, px)), laid.leaves.flakes, recipe.sheet, px)


def sketches(recipes: Sequence[Recipe], px: int) -> list[Pixels]:
    """Draw recipes that differ in their lays alone, many times quicker than `charge_view`.

    Volumes are not exact, and offcuts have their mean colours. All lie in the same cells, which are looked up
    once.
    """
    found, cells = [], None
    for recipe in recipes:
        charge = lay_charge(recipe, chances(recipe)[0], weighed=False, walked=False)
        if cells is None:
            cells = charge.cells_at(_spots(recipe.sheet, px))
        found.append(_drawn(charge.labels.ravel()[cells], recipe.flakes, recipe.sheet, px))
    return found


def _spots(sheet: Sheet, px: int) -> Floats:
    """Return the points of all pixels, those of the plan before those of the section, mm, shape (n, 3)."""
    length, width, height = sheet.size_mm
    rows, tall, columns = _sides(sheet, px)
    x = ((np.arange(columns) + 0.5) / columns - 0.5) * length
    y = (0.5 - (np.arange(rows) + 0.5) / rows) * width
    z = (1.0 - (np.arange(tall) + 0.5) / tall) * height
    sides = ((x, y[:, None], np.array(height)), (x, np.array(0.0), z[:, None]))
    return np.concatenate([np.stack(np.broadcast_arrays(*side), axis=-1).reshape(-1, 3) for side in sides])


def _drawn(seen: npt.NDArray[np.integer], flakes: Sequence[Flake], sheet: Sheet, px: int) -> Pixels:
    """Return the picture in which each pixel shows one of the flakes."""
    colours = np.round([255 * srgb1_from_hex(flake.srgb) for flake in flakes]).astype(np.uint8)
    rows, _, columns = _sides(sheet, px)
    plan, side = np.split(colours[seen].reshape(-1, columns, 3), [rows])
    gap = np.full((round(BESIDE * px), columns, 3), 255, np.uint8)
    return np.concatenate([plan, gap, side])


def view_shape(sheet: Sheet, px: int = PLAN_PX) -> tuple[int, int]:
    """Return rows and columns of `charge_view`."""
    rows, tall, columns = _sides(sheet, px)
    return rows + round(BESIDE * px) + tall, columns


def _sides(sheet: Sheet, px: int) -> tuple[int, int, int]:
    """Return rows of the plan and of the section, and columns."""
    length, width, height = sheet.size_mm
    per_mm = px / max(length, width)
    columns, rows = (max(1, round(side * per_mm)) for side in (length, width))
    return rows, max(TALL_PX, round(height * per_mm)), columns
