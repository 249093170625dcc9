"""Flakes as pigments: two-constant Kubelka-Munk, and the light of their blends.

Each flake has absorption K and scattering S per mm in every band. Blends add both by volume, so strength
counts as well as colour: a little black swamps a lot of white, and natural stock hardly dilutes. The ratio
K/S follows from the colour of the flake; S itself from how thick it must be to hide what is behind it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numba import prange
from numpy.typing import ArrayLike, NDArray

from ..recipe.leaves import leaves_of
from ..recipe.recipe import GLOSSY, REFRACTIVE_INDEX, Flake, Recipe
from ..runtime.compiled import compiled
from . import film, hiding_power, saunderson, spectra, strength
from . import finish as face
from .spaces import Floats

REACH = 0.63  # of the full luminance: 1 − 1/e
_MIN_MM, _MAX_MM = 1e-6, 1e6  # brackets only; no plastic comes near either


@dataclass(frozen=True, eq=False)
class Palette:
    """Optical properties of several flakes.

    Parameters
    ----------
    reflectance : ndarray, shape (flakes, bands)
        Seen reflectance of a thick piece.
    k_per_mm, s_per_mm : ndarray, shape (flakes, bands)
        Absorption and scattering inside.
    refractive_index : float
        Of the plastic, 1 or more; its face reflects light.
    veil : float
        Part of the light that the face scatters back, by its finish.
    """

    names: tuple[str, ...]
    reflectance: Floats
    k_per_mm: Floats
    s_per_mm: Floats
    refractive_index: float
    veil: float = 0.0

    def seen(self, xyz1: Floats) -> Floats:
        """Light of a sheet, shape (..., 3), as seen through the veil of its face."""
        return face.veiled(xyz1, self.veil)

    @cached_property
    def inner_reflection(self) -> float:
        """k2, the part of diffuse light that the face reflects back inside."""
        return saunderson.inner_reflection(self.refractive_index)

    @cached_property
    def for_kernel(self) -> tuple[NDArray[np.int64], NDArray[np.float32], NDArray[np.float32]]:
        """Order of summation, K and S as the compiled loop takes them, computed once.

        Summed by name, so that a picture does not depend on the order of the flakes by even one bit.
        """
        by_name = np.argsort(np.array(self.names))
        k, s = (each[by_name].astype(np.float32) for each in (self.k_per_mm, self.s_per_mm))
        return by_name, k, s


def palette(
    flakes: Iterable[Flake], refractive_index: float = REFRACTIVE_INDEX, finish: str = GLOSSY
) -> Palette:
    """Turn flakes into pigments; an offcut is the mean of what it holds, in light and as a pigment.

    InputError where a chip hides its backing, or the partner of a let-down is unknown.

    Parameters
    ----------
    refractive_index : float
        Of the plastic, 1 (no face) to 2.
    """
    rows = tuple(flakes)
    leaves = leaves_of(rows)
    found = strength.known(leaves.flakes, saunderson.inner_reflection(refractive_index))
    count = len(leaves.flakes)
    seen, k, s = (each[:count] for each in (found.reflectance, found.k_per_mm, found.s_per_mm))
    if not leaves.plain:
        seen, k, s = (leaves.parts @ each for each in (seen, k, s))
    veil = face.veil(finish, refractive_index)
    return Palette(tuple(flake.name for flake in rows), seen, k, s, refractive_index, veil)


def palette_of(recipe: Recipe) -> Palette:
    """Pigments of a recipe, seen through the face of its sheet."""
    return palette(recipe.flakes, recipe.refractive_index, recipe.sheet.finish)


def leaf_palette_of(recipe: Recipe) -> Palette:
    """Pigments of a recipe's leaves, seen through the face of its sheet."""
    return palette(recipe.leaves.flakes, recipe.refractive_index, recipe.sheet.finish)


def hide_mm(flakes: Palette) -> Floats:
    """Thickness at which each flake hides a printed line, mm, shape (flakes,), measured or estimated."""
    return hiding_power.hide_mm(flakes.k_per_mm, flakes.s_per_mm, flakes.inner_reflection)


def mixed(flakes: Palette, compositions: ArrayLike) -> tuple[Floats, Floats]:
    """K and S per mm of blends, each of shape (..., bands): sums by volume share."""
    shares = np.asarray(compositions, dtype=float)
    return shares @ flakes.k_per_mm, shares @ flakes.s_per_mm


def blend(flakes: Palette, compositions: ArrayLike) -> Floats:
    """Seen reflectance, shape (..., bands), of flakes blended completely, thick.

    Compositions, shape (..., flakes), are volume shares, 0 or more, not all 0; only their proportions count.
    """
    return saunderson.seen_from_inside(film.thick(*mixed(flakes, compositions)), flakes.inner_reflection)


def light_depth_mm(flakes: Palette, shares: ArrayLike) -> float:
    """How deep light reaches in a blend of given shares, shape (flakes,), mm.

    It is the thickness that shows 63 % of the blend's full luminance over black.
    """
    k, s = mixed(flakes, shares)
    full = spectra.luminance(blend(flakes, shares))

    def on_black(depth_mm: Floats) -> Floats:
        inside = film.over(0.0, k, s, depth_mm[:, None])
        return spectra.luminance(saunderson.seen_from_inside(inside, flakes.inner_reflection))

    return float(film.where_reached(on_black, REACH * full, _MIN_MM, _MAX_MM, (1,))[0])


def light_of(compositions: NDArray[np.float32], flakes: Palette) -> NDArray[np.float32]:
    """XYZ of many blends, as from `blend` but compiled and in 32 bits, for pictures.

    Parameters
    ----------
    compositions : ndarray of float32, shape (rows, flakes)
        Volume shares, 0 or more; only their proportions count. A row of zeros has no colour (NaN).

    Returns
    -------
    ndarray of float32, shape (rows, 3)
        XYZ, white Y = 1; within 1e-4 of the 64-bit path.
    """
    light = np.empty((len(compositions), 3), dtype=np.float32)
    leaving = np.float32(1 - flakes.inner_reflection)
    _light(np.ascontiguousarray(compositions), *flakes.for_kernel, _WEIGHTS, leaving, light)
    return face.veiled(light, flakes.veil)


_WEIGHTS = np.ascontiguousarray(spectra.WEIGHTS.T, dtype=np.float32)  # (3, bands)
_ROWS_A_TASK = 1024


@compiled(parallel=True, fastmath={"contract", "reassoc", "arcp", "nsz"})
def _light(
    compositions: NDArray[np.float32],
    order: NDArray[np.int64],
    k_per_mm: NDArray[np.float32],
    s_per_mm: NDArray[np.float32],
    weights: NDArray[np.float32],
    leaving: np.float32,
    light: NDArray[np.float32],
) -> None:
    """Fill `light` by the equations of `blend`, with both fractions combined into one division.

    With 1/R = (S + K + γ)/S inside, the seen one is (1 − k2)/(1/R − k2) = (1 − k2)S / ((1 − k2)S + K + γ).
    """
    rows, flakes = compositions.shape
    bands = k_per_mm.shape[1]
    for task in prange((rows + _ROWS_A_TASK - 1) // _ROWS_A_TASK):
        k = np.empty(bands, np.float32)
        s = np.empty(bands, np.float32)
        for row in range(task * _ROWS_A_TASK, min((task + 1) * _ROWS_A_TASK, rows)):
            k[:] = 0
            s[:] = 0
            for flake in range(flakes):
                share = compositions[row, order[flake]]
                if share != 0:  # most samples hold few of the flakes
                    for band in range(bands):
                        k[band] += share * k_per_mm[flake, band]
                        s[band] += share * s_per_mm[flake, band]
            x = y = z = np.float32(0)
            for band in range(bands):
                out = leaving * s[band]
                two = np.float32(2)
                seen = out / (out + k[band] + np.sqrt(k[band] * (k[band] + two * s[band])))
                x += weights[0, band] * seen
                y += weights[1, band] * seen
                z += weights[2, band] * seen
            light[row, 0] = x
            light[row, 1] = y
            light[row, 2] = z
