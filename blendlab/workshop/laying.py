"""How a load of the charge is laid, in words: grams for each lay in the order of laying, and what spreads.

A load is `load_g` grams of a recipe.
"""

from typing import Any

from ..folding.overflow import overflow
from ..recipe.lay import Lay
from ..recipe.lay_words import lay_words
from ..recipe.recipe import Recipe
from ..units import METRIC, Units


def laid_grams(recipe: Recipe, load_g: float) -> tuple[tuple[Lay, dict[str, float]], ...]:
    """Return the lays in their order, each with the grams of its flakes; none where all is stirred."""
    if not recipe.lays:
        return ()
    names = [flake.name for flake in recipe.flakes]
    rows = zip(recipe.lays, (recipe.lay_shares * load_g).tolist(), strict=True)
    return tuple((lay, {name: g for name, g in zip(names, row, strict=True) if g > 0}) for lay, row in rows)


def lay_lines(recipe: Recipe, load_g: float, units: Units = METRIC) -> tuple[str, ...]:
    """Return a line for each lay, numbered in their order: its flakes with their grams, its place."""
    return tuple(
        f"{number}. {_weighed(grams, units)}: {lay_words(lay, units)}"
        for number, (lay, grams) in enumerate(laid_grams(recipe, load_g), start=1)
    )


def spread_lines(recipe: Recipe, load_g: float, units: Units = METRIC) -> tuple[str, ...]:
    """Return what does not fit where it is laid, a sentence each."""
    if not recipe.lays:
        return ()
    grams = [sum(each.values()) for _, each in laid_grams(recipe, load_g)]
    return tuple(
        f"Lay {n + 1} is more than its place holds: "
        f"{units.mass.text(part * grams[n], 1)} of it spread to its neighbours."
        for n, part in overflow(recipe).items()
    )


def unstrewn_lines(recipe: Recipe, folds: int) -> tuple[str, ...]:
    """Return what is not strewn by a fold count, a sentence each."""
    return tuple(
        f"Lay {number} is strewn on fold {lay.before_press}: this sheet is not folded so often."
        for number, lay in enumerate(recipe.lays, start=1)
        if (lay.before_press or 0) > folds
    )


def strewn_text(recipe: Recipe, load_g: float, press: int, units: Units = METRIC) -> str:
    """Return what is strewn before a press after the first, with its grams; empty where nothing is."""
    laid = laid_grams(recipe, load_g)
    return " and ".join(_weighed(grams, units) for lay, grams in laid if lay.before_press == press)


def lays_json(recipe: Recipe, load_g: float) -> dict[str, Any]:
    """Return the lays for JSON; empty where all is stirred."""
    laid = [
        {**lay.as_table(), "grams": {name: round(g, 2) for name, g in grams.items()}}
        for lay, grams in laid_grams(recipe, load_g)
    ]
    return {"lays": laid} if laid else {}


def _weighed(grams: dict[str, float], units: Units) -> str:
    """Return flakes with what they weigh."""
    return ", ".join(f"{units.mass.text(g, 1)} {name}" for name, g in grams.items())
