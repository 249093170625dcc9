"""A recipe ready to be looked at: its charge, its programme, its pigments."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from math import log

import numpy as np

from ..colour.pigment import Palette, light_depth_mm, palette_of
from ..folding.charge import Charge, lay_charge
from ..folding.programme import Programme, draw_programme
from ..folding.scatter import strewings
from ..recipe.folding_moves import MAX_FOLDS
from ..recipe.recipe import Recipe, Sheet


@dataclass(frozen=True, eq=False)
class PreparedSheet:
    """All that is drawn and computed once for a recipe.

    Attributes
    ----------
    programme : Programme
        Its steps; any fold count up to its cycles can be looked at.
    light_depth_mm : float
        How deep light goes in the recipe's full blend, at most the sheet's thickness.
    lay_again : callable, optional
        Lays the first slab for a picture after a strain, where some flakes are stiffer than others.
    """

    recipe: Recipe
    charge: Charge
    programme: Programme
    palette: Palette
    light_depth_mm: float
    lay_again: Callable[[float], Charge] | None = None

    def charge_after(self, folds: int) -> Charge:
        """Return the first slab for a picture after so many folds: its stiffer flakes stay behind."""
        if self.lay_again is None or folds == 0:  # before any fold nothing stays behind
            return self.charge
        return self.lay_again(log(self.programme.thinning(folds)))

    def sheet_after(self, folds: int) -> Sheet:
        """Return the slab's size after some folds; spacers that change also change the plan."""
        return Sheet(*self.programme.sizes_mm[folds])


def prepare(recipe: Recipe, most_folds: int | None = None, replicate: int = 0) -> PreparedSheet:
    """Draw the chances of a recipe from its seed.

    Parameters
    ----------
    most_folds : int, optional
        Cycles to draw, by default the recipe's folds. More cycles leave the first ones as they are.
    replicate : int
        0 for the recipe's own sheet; other numbers give further sheets, as if the recipe were pressed again.
    """
    charge_rng, programme_rng = chances(recipe, replicate)
    folds = recipe.folding.folds if most_folds is None else most_folds
    charge = lay_charge(recipe, charge_rng)
    programme = draw_programme(recipe.folding, recipe.sheet, folds, programme_rng, strewings(recipe))
    prepared = assemble(recipe, charge, programme)
    if not any(flake.stock for flake in recipe.flakes):
        return prepared

    @lru_cache(maxsize=MAX_FOLDS + 1)
    def lay_again(strain: float) -> Charge:
        return lay_charge(recipe, chances(recipe, replicate)[0], strain=strain)

    return replace(prepared, lay_again=lay_again)


def chances(recipe: Recipe, replicate: int = 0) -> list[np.random.Generator]:
    """Return the generators of a sheet's charge and of its programme; parameters as for `prepare`."""
    return list(np.random.default_rng([recipe.folding.seed, replicate]).spawn(2))


def assemble(recipe: Recipe, charge: Charge, programme: Programme) -> PreparedSheet:
    """Add a recipe's pigments to a charge and a programme drawn for it."""
    pigments = palette_of(recipe)
    light_depth = recipe.reach_factor * light_depth_mm(pigments, recipe.shares)
    return PreparedSheet(recipe, charge, programme, pigments, min(light_depth, recipe.sheet.thickness_mm))
