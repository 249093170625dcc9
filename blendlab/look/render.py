"""From a surface to light: follow light paths back to the flakes, blend each, average those of a pixel.

Light enters the plastic and returns from as deep as `light_depth_mm`. Flakes along one path blend as pigment;
paths side by side within a pixel average as light. By default each path is followed whole (`light_paths`) and
each pixel gets as many as it needs (`adaptive`); a given number of samples selects brute force
(`brute_force`), the reference for both.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import isqrt

import numpy as np
import numpy.typing as npt

from .. import checks
from ..colour.pigment import light_of
from ..colour.spaces import linear_from_xyz1, srgb1_from_linear
from ..folding.charge import Charge
from ..folding.mixing import intensity_of_segregation
from ..folding.old_sheet import layers_per_mm
from ..folding.programme import Programme
from ..folding.step_tables import ROLL
from ..recipe.slab_size import Size
from .adaptive import BLOCK_COLUMNS, BLOCK_ROWS, draw_block, placed
from .brute_force import sampled
from .light_paths import followed
from .offcut_paths import followed_through, sampled_through
from .prepared_sheet import PreparedSheet
from .surfaces import Surface

Floats = npt.NDArray[np.float64]
Values = npt.NDArray[np.float32]

ROUNDING = 1e-6  # mm by which a point of the surface may seem to be outside
POINTS_AT_ONCE = 1 << 18  # of brute force: bounds memory, and how long others wait for the cores
TAME = 0.3  # drag times unevenness up to which a few paths tell what is in a pixel
ROLLED = 6.0  # care that a rolled slab takes: its layers come to the face closer than a pixel
PLASTIC = 1.324717957244746  # the real root of g**3 = g + 1


@dataclass(frozen=True, eq=False)
class Picture:
    """What is seen of a surface.

    Attributes
    ----------
    xyz1 : ndarray of float32, shape (rows, columns, 3)
        Light of each pixel, Y of white = 1; NaN where the surface shows nothing.
    seen : ndarray of float64, shape (names of the palette,)
        Composition averaged over all light paths, summing to 1.
    segregation : float
        Intensity of segregation (Danckwerts) of samples as wide as a pixel and as deep as light reaches.
    """

    xyz1: Values
    seen: Floats
    segregation: float


def srgb8(xyz1: Values) -> npt.NDArray[np.uint8]:
    """Screen pixels, uint8, of a picture's light, shape (..., 3), what a screen cannot show clipped."""
    encoded = srgb1_from_linear(np.clip(linear_from_xyz1(xyz1), 0.0, 1.0))
    return np.rint(encoded * 255).astype(np.uint8)


def sample_offsets(paths: int) -> Floats:
    """Return evenly spread, unaligned positions of a pixel's light paths.

    Parameters
    ----------
    paths : int
        How many, at least 1.

    Returns
    -------
    ndarray of float64, shape (paths, 2)
        Down and right in pixels from the middle, within half a pixel: points of the plastic-number lattice
        (Roberts 2018, from memory).
    """
    points: Floats = (0.5 + np.arange(paths)[:, None] / [PLASTIC, PLASTIC**2]) % 1 - 0.5
    return points


def paths_and_points(samples: int) -> tuple[int, int]:
    """Divide a pixel's brute-force samples into paths and points.

    Parameters
    ----------
    samples : int
        At least 1.

    Returns
    -------
    tuple of int
        Light paths of the pixel, and points along each: as many, or more if the number is not a square, as
        layers change faster down a path than flakes do from path to path.
    """
    paths = isqrt(samples)
    return paths, samples // paths


def in_slab(paths: Floats, light_depth_mm: float, height_mm: float) -> Floats:
    """Return light paths, shape (n, 6), as `followed` and `sampled` take them.

    Scattered light wanders sideways about as far as it goes in (diffusion theory, from memory). Seen from
    above, layers that lie flat are the same along the way; a cut looks along them, and blends those that are
    thinner than light reaches only by what wanders across: a path goes as far up or down as it goes level,
    away from the nearer face.

    Parameters
    ----------
    paths : ndarray of float64, shape (..., 6)
        As from `placed`.
    light_depth_mm : float
        How deep light reaches, mm.
    height_mm : float
        Of the folded slab, from whose middle `followed` counts.
    """
    ways: Floats = paths.reshape(-1, 6) * np.repeat([1.0, light_depth_mm], 3)
    ways[:, 2] -= height_mm / 2
    level = np.hypot(ways[:, 3], ways[:, 4])
    ways[:, 5] += np.copysign(level, np.where(ways[:, 5] == 0.0, -ways[:, 2], ways[:, 5]))
    return ways


def compositions(
    frames: Floats, charge: Charge, programme: Programme, folds: int, light_depth_mm: float, paths: int
) -> Values:
    """Follow an equal number of light paths of every pixel back to the flakes they pass.

    Parameters
    ----------
    frames : ndarray of float64, shape (pixels, 12)
        As a `Surface` gives them, all of them in the slab.
    folds : int
        How many cycles were done, at most those drawn.

    Returns
    -------
    ndarray of float32, shape (pixels, paths, kinds)
        Shares along each light path, summing to 1.
    """
    starts = placed(frames[:, None], *sample_offsets(paths).T)
    ways = in_slab(starts, light_depth_mm, programme.sizes_mm[folds][2])
    return followed(ways, charge, programme, folds).reshape(len(frames), paths, -1)


def _within(frames: Floats, size_mm: Size) -> npt.NDArray[np.bool_]:
    """Return which pixels' middles are in the slab; NaN is not."""
    off = np.abs(frames[..., :3] - [0.0, 0.0, size_mm[2] / 2])
    within: npt.NDArray[np.bool_] = np.all(off <= np.array(size_mm) / 2 + ROUNDING, axis=-1)
    return within


def _care(prepared: PreparedSheet, folds: int) -> float:
    """Return how much more carefully than usual pixels are drawn, 1 or more, as `draw_block` takes it."""
    folding, steps = prepared.recipe.folding, prepared.programme.after(folds).steps
    wild = (folding.drag * folding.unevenness / TAME) ** 2
    return max(wild, ROLLED if any(step.kind == ROLL for step in steps) else 1.0)


def _to_tolerance(prepared: PreparedSheet, folds: int) -> Callable[[Floats], Values]:
    """Return what draws the frames of a strip to a tolerance."""
    charge, laid = prepared.charge_after(folds), prepared.laid_after(folds)
    programme, height_mm = prepared.programme, prepared.programme.sizes_mm[folds][2]
    per_mm = layers_per_mm(laid) if laid else float(charge.cells_per_mm[2])
    flakes_per_mm, care = per_mm * programme.thinning(folds), _care(prepared, folds)
    kinds = len(prepared.palette.names)

    def follow(paths: Floats) -> Values:
        ways = in_slab(paths, prepared.light_depth_mm, height_mm)
        if laid is None or laid.leaves.plain:
            found = followed(ways, charge, programme, folds)
        else:
            found = followed_through(ways, laid, programme, folds)
        return np.concatenate([light_of(found, prepared.palette), found], axis=-1)

    def draw(frames: Floats) -> Values:
        starts = range(0, frames.shape[1], BLOCK_COLUMNS)
        parts = (frames[:, start : start + BLOCK_COLUMNS] for start in starts)
        return np.concatenate(
            [draw_block(part, follow, kinds, flakes_per_mm, care) for part in parts], axis=1
        )

    return draw


def _by_brute_force(prepared: PreparedSheet, folds: int, samples: int) -> Callable[[Floats], Values]:
    """Return a function that draws the frames of a strip by brute force."""
    count, points = paths_and_points(samples)
    offsets, phases, charge = (
        sample_offsets(count),
        (np.arange(count) + 0.5) / count,
        prepared.charge_after(folds),
    )
    laid, height_mm = prepared.laid_after(folds), prepared.programme.sizes_mm[folds][2]

    def look(frames: Floats) -> Values:
        ways = in_slab(placed(frames[:, None], *offsets.T), prepared.light_depth_mm, height_mm)
        if laid is None or laid.leaves.plain:
            found = sampled(ways, phases, points, charge, prepared.programme, folds)
        else:
            found = sampled_through(ways, phases, points, laid, prepared.programme, folds)
        paths = np.concatenate([light_of(found, prepared.palette), found], axis=-1)
        pixels: Values = paths.reshape(len(frames), count, -1).mean(axis=1)
        return pixels

    def draw(frames: Floats) -> Values:
        shown = np.isfinite(frames[..., 0])
        pixels = np.full((*shown.shape, 3 + len(prepared.palette.names)), np.nan, np.float32)
        here = frames[shown]
        at_once = max(1, POINTS_AT_ONCE // samples)
        parts = [look(here[start : start + at_once]) for start in range(0, len(here), at_once)]
        pixels[shown] = np.concatenate([*parts, np.zeros((0, pixels.shape[-1]), np.float32)])
        return pixels

    return draw


def render(surface: Surface, prepared: PreparedSheet, folds: int, samples: int | None = None) -> Picture:
    """Look at a surface of the sheet.

    InputError where the surface is wholly outside the slab.

    Parameters
    ----------
    folds : int
        How many cycles were done, at most those drawn.
    samples : int, optional
        Points followed back for each pixel by brute force, divided by `paths_and_points`. By default the
        picture is drawn to a tolerance.
    """
    rows, columns = surface.shape
    draw = _to_tolerance(prepared, folds) if samples is None else _by_brute_force(prepared, folds, samples)
    xyz1 = np.empty((rows, columns, 3), np.float32)
    kinds, count = len(prepared.palette.names), 0
    total, squares = np.zeros(kinds), np.zeros(kinds)
    for first in range(0, rows, BLOCK_ROWS):
        last = min(first + BLOCK_ROWS, rows)
        frames = surface.frames(first, last).reshape(-1, columns, 12)
        frames[~_within(frames, prepared.programme.sizes_mm[folds])] = np.nan
        pixels = draw(frames)
        xyz1[first:last] = pixels[..., :3]
        held = pixels[..., 3:].reshape(-1, kinds).astype(np.float64)
        held = held[np.isfinite(held[:, 0])]
        count += len(held)
        total += held.sum(axis=0)
        squares += (held**2).sum(axis=0)
    if not count:
        checks.refuse(
            "a surface must show some of the slab", None, "place it within the slab after its folds"
        )
    seen = total / total.sum()
    return Picture(xyz1, seen, intensity_of_segregation(seen, squares / count))
