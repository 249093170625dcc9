"""Light paths by brute force: points followed back one by one, each standing for its part of the path.

This is the reference for the quick way, and what is drawn where a number of samples is given. Nothing is
averaged or shared: it converges only through many points.
"""

import numpy as np
import numpy.typing as npt
from numba import get_num_threads, prange

from ..folding.charge import Charge
from ..folding.composition import label_at, lattice_of
from ..folding.programme import Programme
from ..folding.step_tables import StepTables
from ..folding.trace import BLOCK, block_back
from ..recipe.slab_size import Size
from ..runtime.compiled import compiled

Floats = npt.NDArray[np.float64]
Compositions = npt.NDArray[np.float32]


@compiled()
def _sample(
    paths: Floats,
    phases: Floats,
    samples: int,
    slab_mm: Size,
    tables: StepTables,
    charge: Charge,
    out: Compositions,
) -> None:
    """Add up the compositions of some paths, a block of points at a time."""
    lattice = lattice_of(charge.seeds, charge.labels, charge.rivals, charge.pieces)
    half = 0.5 * slab_mm[0], 0.5 * slab_mm[1], 0.5 * slab_mm[2]
    points = np.empty((BLOCK, 3))
    for first in range(0, len(paths) * samples, BLOCK):
        count = min(BLOCK, len(paths) * samples - first)
        for m in range(count):
            n, k = (first + m) // samples, (first + m) % samples
            t = (k + phases[n % len(phases)]) / samples
            for axis in range(3):
                place = paths[n, axis] + t * paths[n, axis + 3]
                points[m, axis] = min(max(place, -half[axis]), half[axis])
            points[m, 2] += half[2]
        block_back(points[:count], tables)
        for m in range(count):
            u = (points[m, 0] + 0.5 * charge.length_mm) * (lattice.nx / charge.length_mm)
            v = (points[m, 1] + 0.5 * charge.width_mm) * (lattice.ny / charge.width_mm)
            w = points[m, 2] * (lattice.nz / charge.height_mm)
            out[(first + m) // samples, label_at(u, v, w, lattice)] += 1.0 / samples


@compiled(parallel=True)
def _all_sampled(
    paths: Floats,
    phases: Floats,
    samples: int,
    slab_mm: Size,
    tables: StepTables,
    charge: Charge,
    blocks: int,
) -> Compositions:
    out = np.zeros((len(paths), charge.kinds), np.float32)
    for block in prange(blocks):
        # Whole rounds of phases, so that the result does not depend on the blocks.
        rounds = len(paths) // len(phases)
        first, last = block * rounds // blocks * len(phases), (block + 1) * rounds // blocks * len(phases)
        _sample(paths[first:last], phases, samples, slab_mm, tables, charge, out[first:last])
    return out


def sampled(
    paths: Floats, phases: Floats, samples: int, charge: Charge, programme: Programme, folds: int
) -> Compositions:
    """Sample light paths at points evenly along each.

    Parameters
    ----------
    paths : ndarray of float64, shape (n, 6)
        As for `light_paths.followed`.
    phases : ndarray of float64, shape (m,)
        Position of the points of every m-th path within their stretches, 0 to 1; m divides n.
    charge, programme, folds
        As for `light_paths.followed`.

    Returns
    -------
    ndarray of float32, shape (n, kinds)
        Shares along each path, summing to 1.
    """
    slab_mm, tables = programme.sizes_mm[folds], programme.after(folds)
    return _all_sampled(paths, phases, samples, slab_mm, tables, charge, 16 * get_num_threads())
