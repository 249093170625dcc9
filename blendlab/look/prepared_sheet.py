"""A recipe ready to be looked at: its charge, its programme, its pigments."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from math import log

from ..colour.pigment import Palette, leaf_palette_of, light_depth_mm, palette_of
from ..folding.charge import Charge
from ..folding.old_sheet import Laid, chances, lay
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
    palette : Palette
        Of what its charge comes down to: the leaves of the recipe, or its flakes where offcuts are not cut.
    light_depth_mm : float
        How deep light goes in the recipe's full blend, at most the sheet's thickness.
    laid : Laid, optional
        The charge with its offcuts cut; without it an offcut is a flake of its mean colour.
    lay_again : callable, optional
        Lays the first slab for a picture after a strain, where some flakes are stiffer than others.
    """

    recipe: Recipe
    charge: Charge
    programme: Programme
    palette: Palette
    light_depth_mm: float
    laid: Laid | None = None
    lay_again: Callable[[float], Laid] | None = None

    def laid_after(self, folds: int) -> Laid | None:
        """Return the first slab for a picture after so many folds: its stiffer flakes stay behind."""
        if self.lay_again is None or folds == 0:  # before any fold nothing stays behind
            return self.laid
        return self.lay_again(log(self.programme.thinning(folds)))

    def charge_after(self, folds: int) -> Charge:
        """Return the charge of `laid_after`."""
        laid = self.laid_after(folds)
        return self.charge if laid is None else laid.charge

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
        Offcuts are cut from one and the same sheet.
    """
    charge_rng, programme_rng = chances(recipe, replicate)
    folds = recipe.folding.folds if most_folds is None else most_folds
    programme = draw_programme(recipe.folding, recipe.sheet, folds, programme_rng, strewings(recipe))
    laid = lay(recipe, charge_rng, programme=programme)
    prepared = replace(assemble(recipe, laid.charge, programme), palette=leaf_palette_of(recipe), laid=laid)
    if not any(flake.stock for flake in recipe.flakes):
        return prepared

    @lru_cache(maxsize=MAX_FOLDS + 1)
    def lay_again(strain: float) -> Laid:
        return lay(recipe, chances(recipe, replicate)[0], strain, programme)

    return replace(prepared, lay_again=lay_again)


def assemble(recipe: Recipe, charge: Charge, programme: Programme) -> PreparedSheet:
    """Add a recipe's pigments to a charge and a programme drawn for it; its offcuts are not cut."""
    pigments = palette_of(recipe)
    light_depth = recipe.reach_factor * light_depth_mm(pigments, recipe.shares)
    return PreparedSheet(recipe, charge, programme, pigments, min(light_depth, recipe.sheet.thickness_mm))
