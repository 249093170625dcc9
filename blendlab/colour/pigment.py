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

from ..recipe.recipe import REFRACTIVE_INDEX, Flake
from ..runtime.compiled import compiled
from . import chip, film, hiding_power, saunderson, spectra
from .spaces import Floats, linear_from_srgb1, srgb1_from_hex

REACH = 0.63  # of the full luminance: 1 − 1/e
_MIN_MM, _MAX_MM = 1e-6, 1e6  # brackets only; no plastic comes near either


@dataclass(frozen=True, eq=False)
class Palette:
    """Optical properties of several flakes.

    Parameters
    ----------
    names : tuple of str
        Flake names.
    reflectance : ndarray, shape (flakes, bands)
        Seen reflectance of a thick piece.
    k_per_mm, s_per_mm : ndarray, shape (flakes, bands)
        Absorption and scattering inside.
    refractive_index : float
        Of the plastic, 1 or more; its face reflects light.
    """

    names: tuple[str, ...]
    reflectance: Floats
    k_per_mm: Floats
    s_per_mm: Floats
    refractive_index: float

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


def palette(flakes: Iterable[Flake], refractive_index: float = REFRACTIVE_INDEX) -> Palette:
    """Turn flakes into pigments.

    Parameters
    ----------
    flakes : iterable of Flake
        At least one.
    refractive_index : float
        Of the plastic, 1 (no face) to 2.

    Returns
    -------
    Palette
        Rows in the order of the flakes.

    Raises
    ------
    InputError
        Where a flake's chip hides its backing.
    """
    rows = tuple(flakes)
    k2 = saunderson.inner_reflection(refractive_index)
    given = np.array([np.nan if flake.hide_mm is None else flake.hide_mm for flake in rows])
    k, s = hiding_power.strengths(np.stack([_reflectance(flake) for flake in rows]), given, k2)
    for row, flake in enumerate(rows):
        if flake.chip is not None:
            k[row], s[row] = chip.strengths(flake.name, flake.chip, k2)
    seen = saunderson.seen_from_inside(film.thick(k, s), k2)
    return Palette(tuple(flake.name for flake in rows), seen, k, s, refractive_index)


def _reflectance(flake: Flake) -> Floats:
    """Seen reflectance of a thick piece as declared, shape (bands,)."""
    if flake.spectrum is not None:
        return spectra.reflectance_from_spectrum(flake.spectrum)
    return spectra.reflectance_from_linear(linear_from_srgb1(srgb1_from_hex(flake.srgb)))


def hide_mm(flakes: Palette) -> Floats:
    """Thickness at which each flake hides a printed line, mm, shape (flakes,), given or estimated."""
    mean_s = flakes.s_per_mm.mean(axis=-1)
    ratio = flakes.k_per_mm / mean_s[:, None]
    thickness: Floats = hiding_power.depth_that_hides(ratio, flakes.inner_reflection) / mean_s
    return thickness


def mixed(flakes: Palette, compositions: ArrayLike) -> tuple[Floats, Floats]:
    """K and S per mm of blends, each of shape (..., bands): sums by volume share."""
    shares = np.asarray(compositions, dtype=float)
    return shares @ flakes.k_per_mm, shares @ flakes.s_per_mm


def blend(flakes: Palette, compositions: ArrayLike) -> Floats:
    """Seen reflectance of flakes blended completely, thick.

    Parameters
    ----------
    flakes : Palette
        The pigments.
    compositions : array_like, shape (..., flakes)
        Volume shares, 0 or more, not all 0. Only their proportions count.

    Returns
    -------
    ndarray, shape (..., bands)
        Reflectance, 0 to 1.
    """
    return saunderson.seen_from_inside(film.thick(*mixed(flakes, compositions)), flakes.inner_reflection)


def light_depth_mm(flakes: Palette, shares: ArrayLike) -> float:
    """How deep light reaches in a blend, mm.

    Parameters
    ----------
    flakes : Palette
        The pigments.
    shares : array_like, shape (flakes,)
        Volume shares of the blend.

    Returns
    -------
    float
        Depth at which the blend over black shows 63 % of its full luminance.
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
    flakes : Palette
        The pigments.

    Returns
    -------
    ndarray of float32, shape (rows, 3)
        XYZ, white Y = 1; within 1e-4 of the 64-bit path.
    """
    light = np.empty((len(compositions), 3), dtype=np.float32)
    leaving = np.float32(1 - flakes.inner_reflection)
    _light(np.ascontiguousarray(compositions), *flakes.for_kernel, _WEIGHTS, leaving, light)
    return light


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
