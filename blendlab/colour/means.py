"""The colour of a whole recipe, three ways.

The eye averages coarse marbling as light (`area_mean`). Layers thinner than the depth light reaches blend
like pigment (`full_blend`): darker, and yellow with blue turns green. Folding leads from the first
to the second. The plain mean of CIELAB values (`cielab_mean`) is the everyday baseline and has no physics.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..recipe.recipe import Recipe
from . import film, saunderson, spectra
from .pigment import Palette, palette_of
from .spaces import Colour, Floats, lab_from_xyz1


@dataclass(frozen=True, eq=False)
class Averaging:
    """A way of averaging flakes to one colour.

    Parameters
    ----------
    amounts : ndarray, shape (flakes, quantities)
        Quantities that add up by volume share.
    lab_of : callable
        From sums of shape (..., quantities) to CIELAB of shape (..., 3).
    """

    amounts: Floats
    lab_of: Callable[[Floats], Floats]

    def lab(self, shares: Floats) -> Floats:
        """CIELAB, shape (..., 3), of shares of shape (..., flakes) that sum to 1."""
        return self.lab_of(shares @ self.amounts)


def as_light(flakes: Palette) -> Averaging:
    """Averaging by the eye, of pieces too small to resolve: XYZ adds up."""
    light = spectra.xyz1_from_reflectance(flakes.reflectance)
    return Averaging(flakes.seen(light), lab_from_xyz1)


def as_pigment(flakes: Palette) -> Averaging:
    """Complete blending in a thick sheet: absorption and scattering add up."""
    bands = flakes.k_per_mm.shape[-1]

    def lab_of(sums: Floats) -> Floats:
        inside = film.thick(sums[..., :bands], sums[..., bands:])
        seen = saunderson.seen_from_inside(inside, flakes.inner_reflection)
        return lab_from_xyz1(flakes.seen(spectra.xyz1_from_reflectance(seen)))

    return Averaging(np.concatenate([flakes.k_per_mm, flakes.s_per_mm], axis=-1), lab_of)


def area_mean(recipe: Recipe) -> Colour:
    """Colour of the sheet from a distance while its pieces are whole: the mean of their light by share."""
    return Colour.from_lab(as_light(palette_of(recipe)).lab(recipe.shares))


def full_blend(recipe: Recipe) -> Colour:
    """Colour of a thick sheet once it is completely mixed."""
    return Colour.from_lab(as_pigment(palette_of(recipe)).lab(recipe.shares))


def cielab_mean(recipe: Recipe) -> Colour:
    """Colour whose CIELAB values are the mean of those of the flakes, by share."""
    flakes = as_light(palette_of(recipe))
    return Colour.from_lab(recipe.shares @ flakes.lab_of(flakes.amounts))
