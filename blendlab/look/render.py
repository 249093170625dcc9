"""From a surface to light: follow each pixel's light paths back to the flakes, blend, average.

Light enters the plastic and comes back from down to `light_depth_mm`. What lies along one path shares a
composition and blends as pigment; paths side by side within a pixel average as light. All pixels use
the same sample positions, so neighbours agree and no speckle is drawn, and the paths of one pixel begin at
different depths, so that together they pass over no layer. Where two neighbouring samples of a path are
flakes distant in the first slab, the stretch between them is averaged by `add_composition`.
"""

from dataclasses import dataclass
from math import isqrt
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numba import get_num_threads, prange

from .. import checks
from ..colour.pigment import light_of
from ..colour.spaces import linear_from_xyz1, srgb1_from_linear
from ..folding.charge import Charge
from ..folding.composition import add_composition
from ..folding.mixing import intensity_of_segregation
from ..folding.programme import Programme
from ..folding.step_tables import StepTables
from ..folding.trace import BLOCK, block_back
from ..recipe.slab_size import Size
from ..runtime.compiled import compiled
from .prepared_sheet import PreparedSheet
from .surfaces import Surface

Floats = npt.NDArray[np.float64]

LOST = 1.0  # distance in cells of the charge from which two samples no longer share a straight path
ROUNDING = 1e-6  # mm by which a point of the surface may seem to lie outside
PATHS_AT_ONCE = 1 << 16  # bounds memory whatever the picture's size, and what others wait for the cores


@dataclass(frozen=True, eq=False)
class Picture:
    """What is seen of a surface.

    Attributes
    ----------
    xyz1 : ndarray of float32, shape (rows, columns, 3)
        Light of each pixel, Y of white = 1; NaN where the surface shows nothing.
    seen : ndarray of float64, shape (kinds,)
        Composition averaged over all light paths, summing to 1.
    segregation : float
        Intensity of segregation (Danckwerts) of samples as broad as a pixel and as deep as light's reach.
    """

    xyz1: npt.NDArray[np.float32]
    seen: npt.NDArray[np.float64]
    segregation: float


def srgb8(xyz1: npt.NDArray[np.float32]) -> npt.NDArray[np.uint8]:
    """Screen pixels of a picture's light, what a screen cannot show clipped.

    Parameters
    ----------
    xyz1 : ndarray, shape (..., 3)
        Light, Y of white = 1.

    Returns
    -------
    ndarray of uint8, shape (..., 3)
        sRGB, 0-255.
    """
    encoded = srgb1_from_linear(np.clip(linear_from_xyz1(xyz1), 0.0, 1.0))
    return np.rint(encoded * 255).astype(np.uint8)


class LightPaths(NamedTuple):
    """How the samples of a pixel are placed, the same for all pixels.

    Attributes
    ----------
    offsets : ndarray, shape (paths, 2)
        Where each path begins, right and down in pixels from the middle.
    points : int
        Samples along each path.
    step_mm : float
        Depth from sample to sample.
    """

    offsets: Floats
    points: int
    step_mm: float


@compiled()
def _gap(here: Floats, there: Floats) -> float:
    """Return the distance between two places, counted in cells."""
    du, dv, dw = here[0] - there[0], here[1] - there[1], here[2] - there[2]
    return float((du * du + dv * dv + dw * dw) ** 0.5)


@compiled()
def _look(
    places: Floats, thinning: Floats, rise: tuple[float, float], charge: Charge, out: npt.NDArray[np.float32]
) -> None:
    """Add up the composition along each light path of one pixel, from where its samples were.

    A sample stands for its path halfway to the next ones. How many flakes that crosses shows in the distance
    to the nearer of these in the charge; the farther may be beyond a fold. Where folds are closer than
    samples it shows in `thinning`, how many times more depth than here was passed there: at least, or at most
    where the samples have lost each other. `rise` says how far the slab's height changes from sample to
    sample, across the pixel and along a path, in the charge's cells.
    """
    paths, points = places.shape[:2]
    for i in range(paths):
        for k in range(points):
            here = places[i, k]
            up, down = _gap(here, places[i, max(k - 1, 0)]), _gap(here, places[i, min(k + 1, points - 1)])
            along = min(up, down) if 0 < k < points - 1 else max(up, down)
            thin = thinning[i, k, 0 if along > LOST else 1]
            crossed = max(1.0, along, thin * rise[1])
            side = max(1.0, thin * rise[0] * paths**-0.5)
            place = (here[0], here[1], here[2])
            add_composition(place, along, crossed * side, 1.0 / points, charge, out[i])


@compiled()
def _place(frame: Floats, paths: LightPaths, slab_mm: Size, places: Floats) -> None:
    """Place the samples of one pixel in the folded slab, mm; rounding leaves none outside."""
    a, b, h = 0.5 * slab_mm[0], 0.5 * slab_mm[1], slab_mm[2]
    count = len(paths.offsets)
    for i in range(count):
        p, q = paths.offsets[i, 0], paths.offsets[i, 1]
        for k in range(paths.points):
            d = (k + (i + 0.5) / count) * paths.step_mm
            places[i, k, 0] = min(max(frame[0] + p * frame[3] + q * frame[6] + d * frame[9], -a), a)
            places[i, k, 1] = min(max(frame[1] + p * frame[4] + q * frame[7] + d * frame[10], -b), b)
            places[i, k, 2] = min(max(frame[2] + p * frame[5] + q * frame[8] + d * frame[11], 0.0), h)


@compiled()
def _look_at_block(
    frames: Floats,
    paths: LightPaths,
    slab_mm: Size,
    tables: StepTables,
    charge: Charge,
    out: npt.NDArray[np.float32],
) -> None:
    """Add up the composition of every light path of some pixels, a group of them at a time."""
    cells = charge.labels.shape
    per_mm = cells[0] / charge.length_mm, cells[1] / charge.width_mm, cells[2] / charge.height_mm
    per_pixel = len(paths.offsets) * paths.points
    group = max(BLOCK // per_pixel, 1)  # pixels whose points go side by side
    places = np.empty((group, len(paths.offsets), paths.points, 3))
    thinning = np.empty((group, len(paths.offsets), paths.points, 2))
    points, thinned = places.reshape(-1, 3), thinning.reshape(-1, 2)
    for first in range(0, len(frames), group):
        here = frames[first : first + group]
        for n in range(len(here)):
            _place(here[n], paths, slab_mm, places[n])
        count = len(here) * per_pixel
        thinned[:] = 1.0
        block_back(points[:count], thinned[:count], tables)
        for m in range(count):  # from mm to cells
            points[m, 0] = (points[m, 0] + 0.5 * charge.length_mm) * per_mm[0]
            points[m, 1] = (points[m, 1] + 0.5 * charge.width_mm) * per_mm[1]
            points[m, 2] *= per_mm[2]
        for n in range(len(here)):
            f = here[n]
            rise = (
                (f[5] * f[5] + f[8] * f[8]) ** 0.5 * per_mm[2],
                abs(f[11]) * paths.step_mm * per_mm[2],
            )
            _look(places[n], thinning[n], rise, charge, out[first + n])


@compiled(parallel=True)
def _compositions(
    frames: Floats, paths: LightPaths, slab_mm: Size, tables: StepTables, charge: Charge, blocks: int
) -> npt.NDArray[np.float32]:
    """Return the composition of every light path of every pixel, shape (pixels, paths, kinds)."""
    pixels = len(frames)
    kinds = len(charge.compositions) - charge.levels[-1].start  # the last level is a single box
    out = np.zeros((pixels, len(paths.offsets), kinds), np.float32)
    for block in prange(blocks):
        here = slice(block * pixels // blocks, (block + 1) * pixels // blocks)
        _look_at_block(frames[here], paths, slab_mm, tables, charge, out[here])
    return out


def sample_offsets(across: int) -> npt.NDArray[np.float64]:
    """Return even, unaligned positions of a pixel's light paths.

    Parameters
    ----------
    across : int
        How many, at least 1.

    Returns
    -------
    ndarray of float64, shape (across, 2)
        Right and down in pixels from the middle, within half a pixel. They are the points of the
        plastic-number lattice (Roberts 2018, from memory), brought to the middle.
    """
    plastic = 1.324717957244746  # the real root of g**3 = g + 1
    points = (0.5 + np.arange(across)[:, None] / [plastic, plastic**2]) % 1
    centred: npt.NDArray[np.float64] = points - points.mean(axis=0)
    return centred


def paths_and_points(samples: int) -> tuple[int, int]:
    """Share out a pixel's samples.

    Parameters
    ----------
    samples : int
        At least 1.

    Returns
    -------
    tuple of int
        Light paths of the pixel, and points along each: as many, or more where that does not fill a square,
        for layers change faster down a path than flakes do from path to path.
    """
    paths = isqrt(samples)
    return paths, samples // paths


def _within(frames: npt.NDArray[np.float64], size_mm: Size) -> npt.NDArray[np.bool_]:
    """Return which pixels' middles are in the slab; NaN is not."""
    length, width, height = size_mm
    off = np.abs(frames[:, :3] - [0.0, 0.0, height / 2])
    within: npt.NDArray[np.bool_] = np.all(off <= np.array([length, width, height]) / 2 + ROUNDING, axis=1)
    return within


def compositions(
    frames: npt.NDArray[np.float64],
    charge: Charge,
    programme: Programme,
    folds: int,
    light_depth_mm: float,
    samples: int,
) -> npt.NDArray[np.float32]:
    """Follow the light paths of pixels back to the flakes they cross.

    Parameters
    ----------
    frames : ndarray of float64, shape (pixels, 12)
        As a `Surface` gives them, all of them in the slab.
    charge : Charge
        The first slab.
    programme : Programme
        How it was folded and pressed.
    folds : int
        How many cycles were done, at most those drawn.
    light_depth_mm : float
        How deep light goes.
    samples : int
        Points followed back for each pixel, shared out by `paths_and_points`.

    Returns
    -------
    ndarray of float32, shape (pixels, light paths, kinds)
        Shares along each light path, summing to 1.
    """
    across, points = paths_and_points(samples)
    paths = LightPaths(sample_offsets(across), points, light_depth_mm / points)
    slab_mm, tables = programme.sizes_mm[folds], programme.after(folds)
    return _compositions(frames, paths, slab_mm, tables, charge, 16 * get_num_threads())


def _mean_of_paths(values: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Mean over the light paths of each pixel; NumPy's own takes seven times as long."""
    mean: npt.NDArray[np.float32] = np.einsum("nps->ns", values) / np.float32(values.shape[1])
    return mean


def render(surface: Surface, prepared: PreparedSheet, folds: int, samples: int) -> Picture:
    """Look at a surface of the sheet.

    Parameters
    ----------
    surface : Surface
        What is seen.
    prepared : PreparedSheet
        The sheet's charge, programme and pigments.
    folds : int
        How many cycles were done, at most those drawn.
    samples : int
        Points followed back for each pixel, shared out by `paths_and_points`.

    Returns
    -------
    Picture
        Light and composition.

    Raises
    ------
    InputError
        Where the surface is wholly outside the slab.
    """
    rows, columns = surface.shape
    across, _ = paths_and_points(samples)
    charge, programme = prepared.charge, prepared.programme
    xyz1 = np.full((rows * columns, 3), np.nan, np.float32)
    total, squares = np.zeros(charge.kinds), np.zeros(charge.kinds)  # nothing seen adds nothing
    at_once = max(1, PATHS_AT_ONCE // (columns * across))
    for first in range(0, rows, at_once):
        frames = surface.frames(first, min(first + at_once, rows))
        shown = np.flatnonzero(_within(frames, programme.sizes_mm[folds]))
        paths = compositions(frames[shown], charge, programme, folds, prepared.light_depth_mm, samples)
        pixels = _mean_of_paths(paths).astype(np.float64)
        total += pixels.sum(axis=0)
        squares += (pixels**2).sum(axis=0)
        light = light_of(paths.reshape(-1, charge.kinds), prepared.palette)
        xyz1[first * columns + shown] = _mean_of_paths(light.reshape(-1, across, 3))
    if not total.any():
        checks.refuse(
            "a surface must show some of the slab", None, "place it within the slab after its folds"
        )
    seen = total / total.sum()
    segregation = intensity_of_segregation(seen, squares / total.sum())
    return Picture(xyz1.reshape(rows, columns, 3), seen, segregation)
