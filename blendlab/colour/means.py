"""The colour of a whole recipe, three ways.

Coarse marbling is averaged by the eye as light (`area_mean`). Layers thinner than light's reach blend like
pigment (`full_blend`), darker, and yellow with blue goes green; folding leads from the first to the second.
The plain mean of CIELAB values (`cielab_mean`) is the everyday baseline and has no physics.
"""

from ..recipe import Recipe
from . import pigment, spectra
from .spaces import Colour, Floats, lab_from_xyz1


def area_mean(recipe: Recipe) -> Colour:
    """Colour of the sheet from afar while its pieces are whole: the mean of their light by share."""
    return Colour.from_xyz1(recipe.shares @ xyz1_of_flakes(recipe))


def full_blend(recipe: Recipe) -> Colour:
    """Colour of the sheet once mixed through and through, thick."""
    blended = pigment.blend(pigment.palette(recipe.flakes, recipe.refractive_index), recipe.shares)
    return Colour.from_xyz1(spectra.xyz1_from_reflectance(blended))


def cielab_mean(recipe: Recipe) -> Colour:
    """Colour whose CIELAB values are the mean of the flakes', by share."""
    return Colour.from_lab(recipe.shares @ lab_from_xyz1(xyz1_of_flakes(recipe)))


def xyz1_of_flakes(recipe: Recipe) -> Floats:
    """XYZ of a thick piece of each flake, shape (flakes, 3)."""
    flakes = pigment.palette(recipe.flakes, recipe.refractive_index)
    return spectra.xyz1_from_reflectance(flakes.reflectance)
