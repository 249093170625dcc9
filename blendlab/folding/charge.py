"""The melted charge before any fold: flakes as platelets.

The slab is filled by a lattice of cells, one for each flake (or a block of cells where a kind is cut larger,
or where the slab holds few flakes), with a seed placed at random in every cell; a point belongs to the cell
whose seed is nearest when lengths are counted in cells (an anisotropic Voronoi diagram). Nothing is
rasterised, so no grid shows at any magnification. Labels are dealt so that each kind fills its share of the
volume, not merely so that it is expected to. Where the charge is laid, each lay is dealt its own flakes
first, by where their middles are, so that no border between lays is sharper than a flake is large.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from ..recipe.recipe import Recipe
from ..recipe.slab_size import Size
from .composition import nearest_cells, rivals_of
from .dealing import deal_kinds, deal_lays
from .islands import ENDLESS, pieces_mm

MIN_CELLS = 1000  # a tenth of a point each: where whole flakes are fewer, each is made of several cells
MAX_CELLS = 500_000  # bounds memory; a slab of more flakes gets larger ones
PROBES = 250_000  # points that measure the cells' volumes

Floats = npt.NDArray[np.float64]


class Charge(NamedTuple):
    """A melted slab full of flakes, as compiled code reads it.

    Attributes
    ----------
    seeds : ndarray of float32, shape (nx, ny, nz, 3)
        Flake middles, counted in cells.
    labels : ndarray of uint8, shape (nx, ny, nz)
        Index of each flake's kind in the recipe.
    rivals : ndarray of uint8, shape (nx * ny * nz, NEAR + 1)
        Which cells around each may hold the flake that a point in it belongs to, as from `rivals_of`.
    pieces : ndarray of int32, shape (nx, ny, nz)
        Number of the piece of an offcut that each flake is or is a part of, -1 of others; without cells where
        no flake is an offcut.
    middles_mm : ndarray of float64, shape (pieces, 3)
        Of these pieces, as for `kinds_at`.
    """

    length_mm: float
    width_mm: float
    height_mm: float
    seeds: npt.NDArray[np.float32]
    labels: npt.NDArray[np.uint8]
    rivals: npt.NDArray[np.uint8]
    kinds: int
    pieces: npt.NDArray[np.int32] = np.zeros((0, 0, 0), np.int32)
    middles_mm: Floats = np.zeros((0, 3))

    @property
    def size_mm(self) -> Size:
        """Length, width and height."""
        return self.length_mm, self.width_mm, self.height_mm

    @property
    def cells(self) -> tuple[int, int, int]:
        """Number of cells along the three directions."""
        nx, ny, nz = self.labels.shape
        return nx, ny, nz

    @property
    def cells_per_mm(self) -> Floats:
        """Cells per mm along the three directions."""
        per_mm: Floats = np.array(self.cells) / np.array(self.size_mm)
        return per_mm

    def dealt(self, labels: npt.NDArray[np.uint8], kinds: int) -> "Charge":
        """Return the same flakes dealt to `kinds` kinds by labels, uint8 of shape (nx, ny, nz)."""
        return self._replace(labels=labels, kinds=kinds)

    def cells_at(self, points_mm: Floats) -> npt.NDArray[np.int64]:
        """Return the flat index of the cell whose flake holds each point, given as for `kinds_at`."""
        corner = np.array([self.size_mm[0] / 2, self.size_mm[1] / 2, 0.0])
        inside = np.clip((points_mm + corner) * self.cells_per_mm, 0.0, np.array(self.cells) - 1e-9)
        return nearest_cells(inside, self.seeds)

    def kinds_at(self, points_mm: Floats) -> npt.NDArray[np.uint8]:
        """Return the kind of flake at points of the slab.

        Parameters
        ----------
        points_mm : ndarray of float64, shape (n, 3)
            Positions, x and y from the middle, z from the lower face; chips are in a store below it.

        Returns
        -------
        ndarray of uint8, shape (n,)
            Index in the recipe's flakes.
        """
        kinds: npt.NDArray[np.uint8] = self.labels.ravel()[self.cells_at(points_mm)]
        stored = points_mm[:, 2] < -0.5 * self.height_mm
        kinds[stored] = np.round(-points_mm[stored, 2] / self.height_mm) - 1
        return kinds


def _lattice(size: Floats, flakes: Floats, finest: Floats) -> tuple[npt.NDArray[np.int64], Floats]:
    """Number of cells along the three directions, and how many of them each kind's flakes are long."""
    split = np.ceil((MIN_CELLS / np.prod(size / finest)) ** (1 / 3))
    cells = np.maximum(1, np.round(split * size / finest))
    while cells.prod() > MAX_CELLS:
        cells = np.maximum(1, np.floor(0.9 * cells))
    return cells.astype(np.int64), np.maximum(1.0, flakes * cells / size)


def _blocks(
    cells: npt.NDArray[np.int64], steps: Floats, start: Floats, columns: Floats | None
) -> list[npt.NDArray[np.int64]]:
    """Return for each kind the block of cells that each cell would be in, one flake each.

    Kinds of one size share their blocks, so none is broken for another. Where flakes stay behind, blocks of
    one cell and of two make up the heights between, and each column begins at a height of its own.
    """
    index = np.moveaxis(np.indices(tuple(cells.tolist())), 0, -1)
    found = []
    for step in steps:
        whole = np.round(step)
        block = (index + np.floor(start * whole)) // whole
        if columns is not None:
            along, across = np.moveaxis(block[..., :2].astype(np.int64), -1, 0)
            block[..., 2] = np.floor(index[..., 2] / step[2] + columns[along, across])
        at = tuple(block.reshape(-1, 3).T.astype(np.int64))
        found.append(np.asarray(np.ravel_multi_index(at, tuple(cells + 1)), np.int64))
    return found


def volumes_of(seeds: npt.NDArray[np.float32]) -> Floats:
    """Volume of every flake as a part of the slab, from an even lattice of probes."""
    cells = np.array(seeds.shape[:3])
    per_cell = max(2, round((PROBES / cells.prod()) ** (1 / 3)))
    u, v, w = ((np.arange(n * per_cell) + 0.5) / per_cell for n in cells)
    count = np.zeros(cells.prod())
    for some in np.array_split(u, 1 + u.size * v.size * w.size // PROBES):  # keeps memory flat
        probes = np.stack(np.meshgrid(some, v, w, indexing="ij"), axis=-1).reshape(-1, 3)
        count += np.bincount(nearest_cells(probes, seeds), minlength=count.size)
    volumes: Floats = count / count.sum()
    return volumes


def lay_charge(
    recipe: Recipe, rng: np.random.Generator, weighed: bool = True, strain: float = 0.0, walked: bool = True
) -> Charge:
    """Fill the first slab with the recipe's flakes.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance; the same state gives the same charge.
    weighed : bool
        Whether every flake's volume is measured. Without it they count as equal, which is many times
        quicker, and shares are met only nearly: enough where many sheets are averaged.
    strain : float
        ε of the melt in the picture, 0-100: stiffer flakes, which stay behind, are laid as `pieces_mm` says.
        The cells are the same for all.
    walked : bool
        Whether it is made ready for straight lines that pass through it: without `rivals` single points can
        be looked up, no more.

    Returns
    -------
    Charge
        Weighed, the volume of every kind and of every lay is its share within 0.2 points. Chips strewn before
        a later press are not in it. The order of the recipe's flakes does not matter: they are dealt in the
        order of their names.
    """
    size = (recipe.sheet.length_mm, recipe.sheet.width_mm, recipe.sheet.thickness_mm)
    order = sorted(range(len(recipe.flakes)), key=lambda n: recipe.flakes[n].name)
    flakes, first, last = (np.minimum(pieces_mm(recipe, e)[order], size) for e in (strain, 0.0, ENDLESS))
    alike = np.array_equal(first, last)
    cells, steps = _lattice(np.array(size), flakes, first.min(axis=0))
    seeds = (np.moveaxis(np.indices(tuple(cells.tolist())), 0, -1) + rng.random((*cells, 3))).astype(
        np.float32
    )
    blocks = _blocks(cells, steps, rng.random(3), None if alike else rng.random(cells[:2] + 1))
    early = [n for n, lay in enumerate(recipe.as_laid) if not lay.is_late]
    shares = recipe.lay_shares[np.ix_(early, order)]
    if len(early) < len(recipe.as_laid):
        shares = shares / shares.sum()
    count = int(cells.prod())
    volumes = volumes_of(seeds) if weighed else np.full(count, 1 / count)
    owners = np.zeros(count, np.uint8)
    laid = [recipe.as_laid[n] for n in early]
    chances = [lay.chances(rng) for lay in laid]
    if len(early) > 1:
        spots = seeds.reshape(-1, 3) * (np.array(size) / cells) - np.array([size[0] / 2, size[1] / 2, 0.0])
        owners = deal_lays(laid, shares, spots, size, volumes, blocks, flakes[:, 2], chances)
    # Thick flakes are dealt whole before flat ones of the same volume fill what is left.
    coarse = -np.array([block.max() for block in blocks], float) if alike else flakes[:, 2]
    dealt = deal_kinds(owners, shares, volumes, blocks, coarse, chances)
    labels = np.array(order, np.uint8)[dealt].reshape(cells)
    rivals = rivals_of(seeds) if walked else np.zeros((0, 0), np.uint8)
    charge = Charge(*size, seeds, labels, rivals, len(order))
    cut = {kind: blocks[row] for row, kind in enumerate(order) if recipe.flakes[kind].cut_from}
    return _pieced(charge, cut) if cut else charge


def _pieced(charge: Charge, blocks: dict[int, npt.NDArray[np.int64]]) -> Charge:
    """Number the pieces of some kinds, given the block of such a piece that each cell would be in."""
    spots = charge.seeds.reshape(-1, 3) / charge.cells_per_mm - np.array(charge.size_mm) * [0.5, 0.5, 0.0]
    pieces, middles = np.full(charge.labels.size, -1, np.int32), [np.zeros((0, 3))]
    for kind, block in blocks.items():
        own = charge.labels.ravel() == kind
        used, numbers = np.unique(block[own], return_inverse=True)
        pieces[own] = numbers + sum(map(len, middles))
        held = np.maximum(np.bincount(block), 1)
        means = [np.bincount(block, spots[:, axis]) / held for axis in range(3)]
        middles.append(np.stack(means, axis=-1)[used])
    return charge._replace(pieces=pieces.reshape(charge.cells), middles_mm=np.concatenate(middles))
