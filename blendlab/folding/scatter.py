"""Chips strewn on the hot slab before one of its presses: pieces in its face, which only later folds move.

Chips are as thick as they were cut and lie on the plan as flakes lie in the charge: in a lattice of cells
with a seed thrown into each, dealt to chips or left free. The press sinks them flush into the face. A column
of the slab under a chip of thickness c is compressed to h - c evenly, so that every depth makes room in
proportion:

    z0 = z * h/(h - c)      below a chip;      z0 = z      where there is none

and the slab before is taken to be as large as the one after. Where chips would overlap, they cover the whole
face, as thick as their volume requires.

A point in a chip has no origin in the first slab. It goes to a store under it, one for each kind, and keeps
its place in the chip there.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from ..recipe.lay import Lay
from ..recipe.recipe import Recipe
from ..recipe.slab_size import Size
from ..runtime.compiled import compiled
from .charge import volumes_of
from .dealing import even_out, take
from .step_tables import SCATTER, Chip, Step, StepTables

Floats = npt.NDArray[np.float64]

MIN_CHIPS = 300  # cells of a face; where chips are larger, each is made of several
GOLDEN = (5**0.5 - 1) / 2
MAX_CHIP_DEPTH = 0.5  # part of the slab's height that a chip goes down at most


class Strewing(NamedTuple):
    """What is strewn before one press.

    Attributes
    ----------
    before_press : int
        1 is the press after the first fold.
    kinds : tuple of int
        Index of each kind in the recipe's flakes.
    shares : tuple of float
        Of the slab after that press.
    sizes_mm : tuple of (float, float, float)
        Of one chip.
    lay : Lay
        The first lay strewn then.
    """

    before_press: int
    kinds: tuple[int, ...]
    shares: tuple[float, ...]
    sizes_mm: tuple[Size, ...]
    lay: Lay


def strewings(recipe: Recipe) -> tuple[Strewing, ...]:
    """Return what a recipe strews on the slab after its first press, in rising order of presses."""
    presses = np.array([lay.before_press or 0 for lay in recipe.as_laid])
    found = []
    for press in np.unique(presses[presses > 0]).tolist():
        shares = recipe.lay_shares[presses == press].sum(axis=0) / recipe.lay_shares[presses <= press].sum()
        kinds = np.flatnonzero(shares).tolist()
        if not kinds:  # less than a number can hold
            continue
        sizes = tuple(recipe.flakes[kind].size_mm for kind in kinds)
        lay = recipe.as_laid[int(np.flatnonzero(presses == press)[0])]
        found.append(Strewing(press, tuple(kinds), tuple(shares[kinds].tolist()), sizes, lay))
    return tuple(found)


def strewn(what: Strewing, slab_mm: Size, rng: np.random.Generator) -> tuple[list[Chip], tuple[int, int]]:
    """Scatter chips over the face of a slab.

    Parameters
    ----------
    slab_mm : tuple of float
        Size of the slab once they are pressed in.

    Returns
    -------
    tuple
        The cells of the face, row by row, and how many there are along the length and the width.
    """
    rng = what.lay.chances(rng)
    plan, height = np.array(slab_mm[:2]), slab_mm[2]
    flakes = np.minimum([size[:2] for size in what.sizes_mm], plan)
    cells = np.maximum(np.round(plan / flakes.min(axis=0)), 1)
    cells = (cells * np.ceil((MIN_CHIPS / cells.prod()) ** 0.5)).astype(int)
    steps = steps_of(flakes, plan, cells)
    index = np.moveaxis(np.indices(tuple(cells.tolist())), 0, -1)
    seeds = np.full((*cells, 1, 3), 0.5, np.float32)
    seeds[..., 0, :2] = index + rng.random((*cells, 2))
    areas = volumes_of(seeds)
    shares = np.array(what.shares)
    thick = np.minimum([size[2] for size in what.sizes_mm], MAX_CHIP_DEPTH * height)
    covers = shares * height / thick
    if covers.sum() > 1.0:
        thick, covers = np.full(len(shares), shares.sum() * height), shares / shares.sum()
    dealt = np.full(areas.size, len(shares), np.uint8)  # left free
    for n in np.argsort(-steps.prod(axis=1), kind="stable"):
        free = np.flatnonzero(dealt == len(shares))
        spread = _spread_evenly(tuple(-(-cells // steps[n])), rng)[
            tuple((index // steps[n]).reshape(-1, 2).T)
        ]
        take(dealt, int(n), spread[free], free, areas, covers[n])
    even_out(dealt, areas, np.append(covers, max(1.0 - covers.sum(), 0.0)))
    kinds, thick = np.append(what.kinds, -1)[dealt], np.append(thick, 0.0)[dealt]
    rows = zip(
        *seeds[..., 0, :2].reshape(-1, 2).T.tolist(),
        kinds.tolist(),
        thick.tolist(),
        areas.tolist(),
        strict=True,
    )
    return [Chip(*row) for row in rows], (int(cells[0]), int(cells[1]))


def steps_of(flakes_mm: Floats, plan_mm: Floats, cells: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Return how many cells of a face chips are long and wide, shape (..., 2)."""
    steps: npt.NDArray[np.int64] = np.maximum(1, np.round(flakes_mm * cells / plan_mm)).astype(int)
    return steps


def chip_cells(flake_mm: Floats, plan_mm: Floats, cells: tuple[int, int]) -> npt.NDArray[np.int64]:
    """Return the chip that each cell of a face would be in, flat, for chips of one length and width, mm."""
    steps = steps_of(np.minimum(flake_mm, plan_mm), plan_mm, np.array(cells))
    along, across = np.indices(cells).reshape(2, -1) // steps[:, None]
    return np.asarray(along * (cells[1] // steps[1] + 1) + across)


def _spread_evenly(cells: tuple[int, int], rng: np.random.Generator) -> Floats:
    """Return numbers from 0 to 1 for the cells of a face such that those below any level are spread evenly.

    A walk along Morton's curve takes squares of 4 x 4 cells, in each its cells at random; multiples of the
    golden ratio along the walk, without their whole parts, are spread evenly (Kronecker's sequence).
    """
    i, j = np.indices(cells).reshape(2, -1) // 4
    curve = np.zeros(i.size, np.int64)
    for bit in range(13):
        curve += ((i >> bit & 1) << 2 * bit + 1) + ((j >> bit & 1) << 2 * bit)
    walk = np.lexsort((rng.random(i.size), curve))
    found = np.empty(i.size)
    found[walk] = (np.arange(i.size) * GOLDEN + rng.random()) % 1.0
    return found.reshape(cells)


@compiled(allocates=False)
def strewn_back(
    x: float, y: float, s: float, step: Step, chips: Sequence[Chip]
) -> tuple[float, float, float, int]:
    """Undo a strewing.

    Parameters
    ----------
    x, y, s : float
        Position in the slab, mm and relative depth.
    chips : record array of Chip
        Those of this step.

    Returns
    -------
    tuple
        x, y, z in the slab before, mm; and a whole number for the piece of the map, as in `unfold`: below 0
        in a chip, as `chip_kind` reads it.
    """
    u = (x / step.a1 + 1.0) * 0.5 * step.chips_x
    v = (y / step.b1 + 1.0) * 0.5 * step.chips_y
    i0 = min(max(int(u), 0), step.chips_x - 1)
    j0 = min(max(int(v), 0), step.chips_y - 1)
    nearest, row = 1e30, 0
    for i in range(max(i0 - 1, 0), min(i0 + 2, step.chips_x)):
        for j in range(max(j0 - 1, 0), min(j0 + 2, step.chips_y)):
            n = i * step.chips_y + j
            du, dv = chips[n].u - u, chips[n].v - v
            if du * du + dv * dv < nearest:
                nearest, row = du * du + dv * dv, n
    z, kind, left = 0.5 * (s + 1.0) * step.h1, chips[row].kind, step.h1 - chips[row].thick
    if kind < 0:
        return x, y, z, 0
    if z > left:
        return x, y, z, -1 - kind
    return x, y, z * step.h1 / left, kind + 1


@compiled(allocates=False)
def chip_kind(code: int) -> int:
    """Return the kind of chip that a piece of `strewn_back` is in; -1 if none."""
    return -1 - code if code < 0 else -1


@compiled()
def add_chips(shares: Floats, tables: StepTables) -> None:
    """Turn the shares of the first slab into those of the sheet, shape (kinds,), in place."""
    for step in tables.steps:
        if step.kind == SCATTER:
            added = np.zeros(len(shares))
            for chip in tables.chips[step.first_chip : step.first_chip + step.chips_x * step.chips_y]:
                if chip.kind >= 0:
                    added[chip.kind] += chip.area * chip.thick / step.h1
            shares *= 1.0 - added.sum()
            shares += added
