"""Draw pixels to a tolerance: few light paths where the surface is calm, many where it is not.

Light paths are followed at the corners and in the middles of cells of several pixels. Where a middle looks
like the mean of its corners, the cell counts as smooth and its pixels are interpolated from these five;
otherwise smaller cells are tried, and finally single pixels, each with paths of its own until they agree.
Cells share their corners, and a cell also counts as rough if a finer corner next to it disagrees, so that no
edge shows between cells. Pixels that do not join, as at a solid's outline, share nothing.

Cells are counted from the first pixel of the picture, block by block, so a pixel depends neither on how the
work is divided nor on the size of the picture.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt

from ..colour.spaces import lab_from_xyz1

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.signedinteger[Any]]
Mask = npt.NDArray[np.bool_]
Values = npt.NDArray[np.float32]  # of light paths or pixels, along the last axis: light, then composition
Follow = Callable[[Floats], Values]

BLOCK_ROWS, BLOCK_COLUMNS = 32, 1024  # pixels; multiples of the largest cell
CELLS = (8, 4, 2)  # pixels along a side
CELL_MM, BROAD_CELL_MM = 2.0, 4.0  # a cell's longest side; of all but the largest where forms are broad
BROAD = 250.0  # flakes stacked in a mm of depth, from which on a light path averages all finer forms
# Differences in colour, dE*ab, up to which light paths count as alike.
SMOOTH = 2.5  # a cell's middle and the mean of its corners
SMALL_SMOOTH = 4.0  # the same in the smallest cells, which are too small to be seen
EVEN = 7.0  # the corners of a pixel
CALM = 24.0  # these and its middle
LOUD = 14.0  # the mean of these five and of four more
SETTLED = 4.0  # the means of eight and of eight more
STEEP = 0.5  # height of a pixel on the slab, in flakes
JOINED_STEP, JOINED_TURN = 0.1, 0.98  # pixels join a step apart, within a part of it, that face the same way
CORNERS = ((0, 0), (0, 1), (1, 0), (1, 1))  # down and to the right


def lattice(count: int, stride: int) -> Floats:
    """Return even positions in a pixel, down and right from its middle, no two in one row or column."""
    n = np.arange(count)
    points: Floats = (np.stack([n, n * stride % count], axis=-1) + 0.5) / count - 0.5
    return points


FOUR = np.array([(-0.375, -0.125), (-0.125, 0.375), (0.125, -0.375), (0.375, 0.125)])
SIXTEEN, SIXTY_FOUR = lattice(16, 7), lattice(64, 27)


def lab(values: Values) -> Values:
    """CIELAB of light."""
    return lab_from_xyz1(values[..., :3]).astype(np.float32)


def squared(vectors: Floats | Values) -> Any:
    """Squared lengths of vectors along the last axis."""
    return np.einsum("...i,...i", vectors, vectors)


def distance(one: Values, other: Values) -> Values:
    """Distance of colours, dE*ab."""
    found: Values = np.sqrt(squared(one - other))
    return found


def spread(colours: Values) -> Values:
    """Largest distance of several colours, along the first axis, from their mean, dE*ab."""
    farthest: Values = distance(colours, colours.mean(axis=0)).max(axis=0)
    return farthest


def placed(frames: Floats, down: npt.ArrayLike, right: npt.ArrayLike) -> Floats:
    """Return light paths that begin at an offset from the middles of pixels.

    Parameters
    ----------
    frames : ndarray, shape (..., 12)
        As a `Surface` gives them.
    down, right : array_like
        How far, in pixels; they broadcast with the frames.

    Returns
    -------
    ndarray of float64, shape (..., 6)
        Where each begins, mm, and its direction into the plastic, a unit vector.
    """
    down, right = np.asarray(down)[..., None], np.asarray(right)[..., None]
    starts = frames[..., :3] + right * frames[..., 3:6] + down * frames[..., 6:9]
    return np.concatenate([starts, np.broadcast_to(frames[..., 9:], starts.shape)], axis=-1)


def joined(frames: Floats) -> Mask:
    """Tell which pixels form one surface with those to the right, below and diagonally below.

    Parameters
    ----------
    frames : ndarray, shape (rows, columns, 12)
        NaN where nothing is shown.

    Returns
    -------
    ndarray of bool, shape (rows, columns)
        Pixels beyond the last row and column count as joined.
    """
    whole = np.isfinite(frames[..., 0])
    for down, right in CORNERS[1:]:
        here = frames[: len(frames) - down, : frames.shape[1] - right]
        there = frames[down:, right:]
        with np.errstate(invalid="ignore"):
            off = there[..., :3] - here[..., :3] - right * here[..., 3:6] - down * here[..., 6:9]
            step = np.minimum(squared(here[..., 3:6]), squared(here[..., 6:9]))
            alike = np.einsum("...i,...i", here[..., 9:], there[..., 9:]) > JOINED_TURN
            whole[: len(here), : here.shape[1]] &= alike & (squared(off) < JOINED_STEP**2 * step)
    return whole


def surface_weights(size: int) -> Floats:
    """Return the weights of the corners and the middle of a smooth cell in each of its pixels.

    The surface is bilinear between the corners and bulges towards the middle; along a side it meets the
    neighbour's.

    Returns
    -------
    ndarray, shape (size, size, 5)
        Corners in the order of `CORNERS`, then the middle; each pixel's sum to 1.
    """
    at = (np.arange(size) + 0.5) / size
    y, x = at[:, None], at[None, :]
    corners = np.stack([(y if down else 1 - y) * (x if right else 1 - x) for down, right in CORNERS], axis=-1)
    bulge = 16 * (y * (1 - y) * x * (1 - x))[..., None]
    return np.concatenate([corners - bulge / 4, bulge], axis=-1)


class Block:
    """Some pixels being drawn: their frames, and the known light paths at their corners.

    Corner (i, j) is the upper left one of pixel (i, j); beyond the last pixel, its lower or right one.
    """

    def __init__(self, frames: Floats, follow: Follow, kinds: int, flakes_per_mm: float, care: float) -> None:
        """Start with nothing known; parameters as for `draw_block`."""
        rows, columns = frames.shape[:2]
        self.frames, self.follow = frames, follow
        rise = np.nan_to_num(np.hypot(frames[..., 5], frames[..., 8]))
        self.steep = rise * flakes_per_mm > STEEP
        self.broad = flakes_per_mm > BROAD
        self.even, self.calm, self.loud = EVEN / care, CALM / care, LOUD / care
        self.scattered = care > 1.0
        self.pixels = np.full((rows, columns, 3 + kinds), np.nan, np.float32)
        self.known = np.zeros((rows + 1, columns + 1), bool)
        self.corners = np.zeros((rows + 1, columns + 1, 3 + kinds), np.float32)
        self.colours = np.zeros((rows + 1, columns + 1, 3), np.float32)

    def ask(self, wanted: Mask) -> None:
        """Follow the light paths of the corners wanted that are not known yet."""
        i, j = np.nonzero(wanted & ~self.known)
        row, column = np.minimum(i, len(self.frames) - 1), np.minimum(j, self.frames.shape[1] - 1)
        found = self.follow(placed(self.frames[row, column], i - row - 0.5, j - column - 0.5))
        self.corners[i, j], self.colours[i, j], self.known[i, j] = found, lab(found), True

    def draw_smooth(self, left: Mask, size: int) -> None:
        """Draw the smooth cells among those wholly in what is left, and take them out of it."""
        rows, columns = left.shape[0] // size, left.shape[1] // size
        if not left[: rows * size, : columns * size].any():
            return
        inside = left[: rows * size, : columns * size]
        whole = inside.reshape(rows, size, columns, size).all(axis=(1, 3))
        half, limit = size // 2, SMALL_SMOOTH if size == min(CELLS) else SMOOTH

        def at(values: npt.NDArray[np.generic], down: int, right: int):  # type: ignore[no-untyped-def]
            return values[down : down + rows * size : size, right : right + columns * size : size]

        ends = [(down * size, right * size) for down, right in CORNERS]
        sides = {(0, half): (0, 1), (half, 0): (0, 2), (half, size): (1, 3), (size, half): (2, 3)}
        wanted = np.zeros_like(self.known)
        for place in (*ends, (half, half)):
            at(wanted, *place)[whole] = True
        self.ask(wanted)
        five = np.stack([at(self.corners, *place) for place in (*ends, (half, half))])
        rough = whole & (distance(lab(five[:4].mean(axis=0)), at(self.colours, half, half)) > limit)
        asked = np.zeros_like(rough)
        while (rough & ~asked).any():  # until no finer corner disagrees with a smooth cell
            wanted[:] = False
            for place in sides:
                at(wanted, *place)[rough & ~asked] = True
            asked = rough.copy()
            self.ask(wanted)
            for place, (one, other) in sides.items():
                mean = lab((five[one] + five[other]) / 2)
                rough |= whole & at(self.known, *place) & (distance(mean, at(self.colours, *place)) > limit)
        smooth = whole & ~rough
        drawn = np.einsum("yxf,fnd->nyxd", surface_weights(size).astype(np.float32), five[:, smooth])
        cells = self.pixels[: rows * size, : columns * size].reshape(rows, size, columns, size, -1)
        cells.swapaxes(1, 2)[smooth] = drawn
        inside.reshape(rows, size, columns, size).swapaxes(1, 2)[smooth] = False

    def draw_pixels(self, here: tuple[Integers, ...], corners: Values, colours: Values) -> None:
        """Draw pixels from their corners and as many further paths as they need.

        Parameters
        ----------
        here : tuple of ndarray of int
            Their rows and columns.
        corners, colours : ndarray, shape (4, n, ...)
            Values and CIELAB of their corners.
        """
        rim = corners.mean(axis=0)
        self.pixels[here] = rim
        uneven = (spread(colours) > self.even) | self.steep[here]
        here, rim = (here[0][uneven], here[1][uneven]), rim[uneven]
        middle = self.within(here, np.zeros((1, 2)))
        self.pixels[here] = (rim + middle[0]) / 2
        busy = (spread(np.concatenate([colours[:, uneven], lab(middle)])) > self.calm) | self.steep[here]
        here, rim, middle = (here[0][busy], here[1][busy]), rim[busy], middle[:, busy]
        four = self.within(here, FOUR)
        self.pixels[here] = (rim + middle[0] + 6 * four.mean(axis=0)) / 8
        loud = (distance(lab((rim + middle[0]) / 2), lab(four.mean(axis=0))) > self.loud) | self.steep[here]
        here, five = (here[0][loud], here[1][loud]), (rim + middle[0] + 4 * four.mean(axis=0))[loud]
        sixteen = self.within(here, SIXTEEN)
        first, second = sixteen[::2].mean(axis=0), sixteen[1::2].mean(axis=0)
        self.pixels[here] = (five + 8 * (first + second)) / 22
        unsettled = (self.steep[here] | self.scattered) & (distance(lab(first), lab(second)) > SETTLED)
        here = here[0][unsettled], here[1][unsettled]
        self.pixels[here] = (22 * self.pixels[here] + 64 * self.within(here, SIXTY_FOUR).mean(axis=0)) / 86

    def within(self, here: tuple[Integers, ...], offsets: Floats) -> Values:
        """Values of light paths within pixels, shape (offsets, pixels, ...)."""
        paths = placed(self.frames[here], offsets[:, :1], offsets[:, 1:])
        found = self.follow(paths.reshape(-1, 6))
        return found.reshape(len(offsets), -1, found.shape[-1])


def draw_block(frames: Floats, follow: Follow, kinds: int, flakes_per_mm: float, care: float = 1.0) -> Values:
    """Draw the pixels of a block.

    Parameters
    ----------
    frames : ndarray of float64, shape (rows, columns, 12)
        As a `Surface` gives them; NaN where nothing is shown.
    follow : callable
        Returns the values of light paths, given as `placed` returns them.
    flakes_per_mm : float
        Flakes stacked in a mm of depth. Pixels that pass several may hide them between their corners, so they
        are always looked into.
    care : float
        1 or more: `EVEN`, `CALM` and `LOUD` are divided by it. Beyond 1, any pixel may get all the paths that
        a steep one may.

    Returns
    -------
    ndarray of float32, shape (rows, columns, 3 + kinds)
        Mean light and composition of each pixel, NaN where nothing is shown.
    """
    block = Block(frames, follow, kinds, flakes_per_mm, care)
    left = joined(frames) & ~block.steep
    lone = np.nonzero(np.isfinite(frames[..., 0]) & ~left)
    longest = np.sqrt(np.nanmax(squared(frames[..., 3:9].reshape(-1, 2, 3)), initial=0.0))
    for size in CELLS:
        most_mm = BROAD_CELL_MM if block.broad and size < max(CELLS) else CELL_MM
        if size * longest <= most_mm:
            block.draw_smooth(left, size)
    wanted = np.zeros_like(block.known)
    for down, right in CORNERS:
        wanted[down : down + len(left), right : right + left.shape[1]] |= left
    block.ask(wanted)
    here = np.nonzero(left)
    at = [(here[0] + down, here[1] + right) for down, right in CORNERS]
    rims, colours = (np.stack([of[place] for place in at]) for of in (block.corners, block.colours))
    block.draw_pixels(here, rims, colours)
    corners = block.within(lone, np.array(CORNERS) - 0.5)
    block.draw_pixels(lone, corners, lab(corners))
    return block.pixels
