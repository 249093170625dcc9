"""From the finished sheet to the slab that is pressed, and back."""

from dataclasses import replace
from math import sqrt

from .. import checks
from ..recipe.folding_moves import Folding
from ..recipe.recipe import Recipe
from ..recipe.slab_size import THICKNESS_MM, Size
from ..tables.ranges import Range
from .order import Order, Plastic

SAME_MM = 1e-3  # sizes closer than this count as equal


def as_pressed(recipe: Recipe, order: Order, plastic: Plastic) -> Recipe:
    """Return a recipe on the slab that becomes one tile of an order.

    InputError where the slab is outside a sheet's limits, or the moves cannot end on it.

    Parameters
    ----------
    recipe : Recipe
        Its grams are kept. Spacers that change from press to press keep their proportions; the first slab
        has the volume of the last.

    Returns
    -------
    Recipe
        The very same recipe where its slab already has the size.
    """
    length, width, thickness = order.pressed_mm
    hot = plastic.hot(length).usual, plastic.hot(width).usual, plastic.spacer(thickness).usual
    if all(abs(found - side) < SAME_MM for found, side in zip(last_slab_mm(recipe), hot, strict=True)):
        return recipe
    spacers = recipe.folding.spacers_mm if recipe.folding.folds else None
    if not spacers:
        return recipe.on(recipe.sheet.resized(hot))
    scale = hot[2] / spacers[min(recipe.folding.folds, len(spacers)) - 1]
    for mm in (recipe.sheet.thickness_mm, *spacers):
        _check_scaled(mm, scale)
    folding = replace(recipe.folding, spacers_mm=tuple(mm * scale for mm in spacers))
    first = _first_slab(folding, recipe.sheet.thickness_mm * scale, hot)
    return recipe.on(recipe.sheet.resized(first), folding=folding)


def tile_g(order: Order, plastic: Plastic) -> Range:
    """Return the mass of one tile of an order before it is trimmed, g."""
    length, width, thickness = order.pressed_mm
    volume_cm3, density = length * width * thickness / 1000, plastic.density_cold_g_cm3
    return Range(*(volume_cm3 * d for d in density))


def last_slab_mm(recipe: Recipe) -> Size:
    """Return the hot size after the recipe's last press, mm."""
    cycles = recipe.folding.cycles(recipe.sheet.size_mm)
    return cycles[-1].after_mm if cycles else recipe.sheet.size_mm


def finished_mm(recipe: Recipe, trim_mm: float, plastic: Plastic) -> Size:
    """Return the finished size of the sheet that a recipe gives, mm: cold and trimmed.

    Parameters
    ----------
    trim_mm : float
        Cut off along every edge, mm.

    Returns
    -------
    tuple of float
        Length, width and thickness, the reverse of `as_pressed`.
    """
    length, width, height = last_slab_mm(recipe)
    a_mm = 1 / plastic.hot(1.0).usual
    cold = height / plastic.spacer(1.0).usual
    return length * a_mm - 2 * trim_mm, width * a_mm - 2 * trim_mm, cold


def _check_scaled(spacer_mm: float, scale: float) -> None:
    """Refuse a spacer that is too low or too high once it is scaled to the order."""
    low, high = THICKNESS_MM
    if not low <= spacer_mm * scale <= high:
        rule = f"the recipe's spacers must be {low:g} to {high:g} mm high when scaled to the order"
        found = checks.Raw(f"{spacer_mm * scale:.2f} mm for {spacer_mm:.10g} mm")
        checks.refuse(rule, found, "order another thickness, or change the recipe's spacers")


def _first_slab(folding: Folding, first_mm: float, hot_mm: Size) -> Size:
    """Return the size of the first slab, of a given height, that the moves turn into a slab of a given size.

    The moves scale the sides nearly in proportion, so correcting the start by the ratio missed at the end
    converges within a few iterations.
    """
    length, width, height = hot_mm
    start = length * sqrt(height / first_mm), width * sqrt(height / first_mm)
    for _ in range(20):
        end = folding.cycles((*start, first_mm))[-1].after_mm
        off = length / end[0], width / end[1]
        if max(abs(off[0] - 1), abs(off[1] - 1)) < 1e-4:
            break
        start = start[0] * off[0], start[1] * off[1]
    else:
        rule = f"the moves must be able to end on a hot slab of {length:.1f} x {width:.1f} mm"
        found = checks.Raw(f"{end[0]:.1f} x {end[1]:.1f} mm")
        checks.refuse(rule, found, "turn the slab between folds, or order another shape")
    return (*start, first_mm)
