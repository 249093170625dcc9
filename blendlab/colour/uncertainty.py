"""Uncertainty of a mean colour, propagated from what was declared.

First-order propagation (ISO/IEC Guide 98-3, 5.1): each input is moved a little, the change of the mean is
scaled to the standard deviation of that input, and the squares add up. All inputs count as independent.

Not included, for lack of open measurements: how well Kubelka-Munk describes pressed HDPE.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..recipe.recipe import Recipe
from . import hiding_power, pigment, spectra
from .means import Averaging, as_light, as_pigment
from .pigment import Palette
from .spaces import Floats, lab_from_xyz1, xyz1_from_lab

_STEP = 0.01  # of L*, a* and b*, and as a part of grams and strength: small for a slope, large for 64 bits
_SIDES = np.array([1.0, -1.0])


@dataclass(frozen=True)
class Declared:
    """Standard deviations of what goes into a recipe.

    Parameters
    ----------
    colour_delta_e : float
        Of a flake's colour, as root-mean-square ΔE*ab, alike in L*, a* and b*.
    weighing_g : float
        Of each weighing, g.
    hide_part : float
        Of a measured hiding thickness (or chip), as a part of it.
    estimate_part : float
        Of a strength estimated from the colour, as a part of it.
    """

    colour_delta_e: float = 2.0
    weighing_g: float = 1.0
    hide_part: float = 0.25
    estimate_part: float = 0.5


@dataclass(frozen=True)
class Cause:
    """Contribution of one input to the uncertainty of a mean colour.

    Parameters
    ----------
    flake : str
        Name of the flake.
    what : str
        ``"colour"``, ``"weighing"`` or ``"strength"``.
    delta_e : float
        Root-mean-square ΔE*ab of the mean from this cause alone.
    """

    flake: str
    what: str
    delta_e: float


@dataclass(frozen=True)
class Uncertainty:
    """Uncertainty of a mean colour, one standard deviation.

    Parameters
    ----------
    lab : tuple of float
        Of L*, a* and b*.
    delta_e : float
        Root-mean-square ΔE*ab between the predicted and the true mean.
    causes : tuple of Cause
        Largest first.
    """

    lab: tuple[float, float, float]
    delta_e: float
    causes: tuple[Cause, ...]


def of_area_mean(recipe: Recipe, declared: Declared | None = None) -> Uncertainty:
    """Uncertainty of `means.area_mean`; strength does not enter it."""
    return _uncertainty(recipe, as_light, declared or Declared())


def of_full_blend(recipe: Recipe, declared: Declared | None = None) -> Uncertainty:
    """Uncertainty of `means.full_blend`."""
    return _uncertainty(recipe, as_pigment, declared or Declared())


def _uncertainty(
    recipe: Recipe, average_of: Callable[[Palette], Averaging], declared: Declared
) -> Uncertainty:
    """Add up the squares of all changes; each set of them has shape (flakes, inputs a flake, 3)."""
    flakes = pigment.palette(recipe.flakes, recipe.refractive_index)
    average = average_of(flakes)
    axis = declared.colour_delta_e / np.sqrt(3)
    changes = {
        "colour": axis * _by_colour(recipe, average, average_of(_recoloured(recipe, flakes))),
        "weighing": declared.weighing_g * _by_grams(recipe, average),
    }
    if average_of is as_pigment:
        measured = [flake.hide_mm is not None or flake.chip is not None for flake in recipe.flakes]
        part = np.where(measured, declared.hide_part, declared.estimate_part)[:, None, None]
        changes["strength"] = part * _by_strength(recipe, average)
    squares = sum((change**2).sum(axis=(0, 1)) for change in changes.values())
    causes = (
        Cause(flake.name, what, float(np.sqrt((rows**2).sum())))
        for what, change in changes.items()
        for flake, rows in zip(recipe.flakes, change, strict=True)
    )
    lightness, a, b = (float(value) for value in np.sqrt(squares))
    return Uncertainty(
        (lightness, a, b),
        float(np.sqrt(np.sum(squares))),
        tuple(sorted(causes, key=lambda cause: -cause.delta_e)),
    )


def _recoloured(recipe: Recipe, flakes: Palette) -> Palette:
    """Each flake with L*, a* and b* moved up and down by a step: six rows a flake.

    Its hiding thickness is kept, or estimated anew; a chip keeps its S.
    """
    xyz1 = spectra.xyz1_from_reflectance(flakes.reflectance)[:, None, None, :]
    steps = _STEP * np.eye(3)[:, None, :] * _SIDES[:, None]
    change = xyz1_from_lab(lab_from_xyz1(xyz1) + steps) - xyz1
    seen = spectra.tinted(flakes.reflectance[:, None, None, :], change).reshape(
        -1, flakes.reflectance.shape[1]
    )
    hide_mm = [np.nan if flake.hide_mm is None else flake.hide_mm for flake in recipe.flakes]
    k, s = hiding_power.strengths(seen, np.repeat(hide_mm, 6), flakes.inner_reflection)
    read = np.repeat([flake.chip is not None for flake in recipe.flakes], 6)[:, None]
    kept = np.repeat(flakes.s_per_mm, 6, axis=0)
    k, s = np.where(read, k / s * kept, k), np.where(read, kept, s)
    return Palette(tuple(np.repeat(flakes.names, 6)), seen, k, s, flakes.refractive_index)


def _by_colour(recipe: Recipe, average: Averaging, moved: Averaging) -> Floats:
    """Change of the mean with each flake's L*, a* and b*, a unit of them."""
    variants = moved.amounts.reshape(len(recipe.flakes), 3, 2, -1)
    swap = recipe.shares[:, None, None, None] * (variants - average.amounts[:, None, None, :])
    return _between_sides(average.lab_of(recipe.shares @ average.amounts + swap)) / _STEP


def _by_grams(recipe: Recipe, average: Averaging) -> Floats:
    """Change of the mean with each flake's mass, a gram of it."""
    grams = np.array([flake.grams for flake in recipe.flakes])
    parts = recipe.shares  # not grams, whose sum may overflow
    charges = parts + _STEP * (parts * np.eye(len(parts)))[:, None, :] * _SIDES[:, None]
    shares = charges / charges.sum(axis=-1, keepdims=True)
    return (_between_sides(average.lab(shares)) / (_STEP * grams)[:, None])[:, None, :]


def _by_strength(recipe: Recipe, average: Averaging) -> Floats:
    """Change of the mean with each flake's K and S together, the whole of them."""
    swing = _STEP * recipe.shares[:, None] * average.amounts
    moved = recipe.shares @ average.amounts + swing[:, None, :] * _SIDES[:, None]
    return (_between_sides(average.lab_of(moved)) / _STEP)[:, None, :]


def _between_sides(lab: Floats) -> Floats:
    """Half the difference between the two sides, on the last axis but one."""
    half: Floats = (lab[..., 0, :] - lab[..., 1, :]) / 2
    return half
