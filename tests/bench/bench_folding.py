"""Time the point maps and the ladder's picture work, as ratios against baselines in the same run.

    .venv/bin/python tests/bench/bench_folding.py

Baselines: the same mathematics in C, beside this file; and a voxel grid folded with scipy.ndimage to the
same layer thickness. Times are medians. Ratios on one core are of processor time, so
that a busy machine does not spoil them.
"""

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import folding_in_c
import numba
import numpy as np
from scipy.ndimage import map_coordinates

from blendlab.folding.trace import follow_back
from blendlab.io.text_files import read_text
from blendlab.look.prepared_sheet import prepare
from blendlab.look.render import render, sample_offsets
from blendlab.look.surfaces import top_face
from blendlab.recipe.recipe import Recipe, from_toml

RECIPE = Path(__file__).resolve().parents[2] / "swatches" / "harbour.toml"
PIXELS, SAMPLES, FOLDS = 256, 16, 6
SAME_MM = 1e-7  # points that end no further off are the same


def seconds(
    work: Callable[[], object], runs: int = 3, clock: Callable[[], float] = time.perf_counter
) -> float:
    """Median time of some work after one run to warm up."""
    work()
    taken = []
    for _ in range(runs):
        start = clock()
        work()
        taken.append(clock() - start)
    return float(np.median(taken))


def picture_points(recipe: Recipe) -> np.ndarray:
    """The points that a square picture of the top face needs, mm, in its order."""
    frames = top_face(recipe.sheet, PIXELS / recipe.sheet.length_mm).frames(0, PIXELS)[:, None, None]
    side = round(SAMPLES**0.5)
    right, down = sample_offsets(side).T[:, :, None, None]
    depth = (np.arange(side)[:, None] + 0.5) / side * 0.05
    points = frames[..., :3] + right * frames[..., 3:6] + down * frames[..., 6:9] + depth * frames[..., 9:]
    return np.ascontiguousarray(points.reshape(-1, 3))


def point_maps(recipe: Recipe, press: str) -> None:
    """Time the point maps against C, after checking that both agree."""
    programme, points = prepare(recipe, FOLDS).programme, picture_points(recipe)
    true = follow_back(points, programme, FOLDS)
    cores = numba.get_num_threads()
    wall = seconds(lambda: follow_back(points, programme, FOLDS))
    numba.set_num_threads(1)
    own = seconds(lambda: follow_back(points, programme, FOLDS), clock=time.process_time)
    numba.set_num_threads(cores)
    print(f"point maps, {press}: {own / len(points) / FOLDS * 1e9:.0f} ns a point and fold on one core")
    back = folding_in_c.loop()
    if back is None:
        print("  C: skipped, no compiler here")
        return
    same = (np.abs(back(points, programme) - true).max(axis=1) < SAME_MM).mean()
    begin, used = time.perf_counter(), time.process_time()
    back(points, programme)
    took, used = time.perf_counter() - begin, time.process_time() - used
    ratios = f"{used / own:.2f} times as long on one core, {took / wall:.2f} times beside all {cores}"
    print(f"  C: {ratios}; {same:.3%} of the points agree")


def voxel_ladder(folds: int) -> float:
    """Seconds to fold and press a voxel grid (lubricated) until its layers are as thin as after `folds`."""
    plan, deep = 200, 4 * 2**folds  # four voxels a layer of the last fold, a millimetre in the plan
    grid = np.random.default_rng(1).random((plan, plan, deep)).astype(np.float32)
    start = time.perf_counter()
    for _ in range(folds):
        i, j, k = np.meshgrid(*(np.arange(n) for n in grid.shape), indexing="ij", copy=False)
        upper = k >= deep // 2
        back = (
            np.where(upper, plan // 2 + i / 2, plan // 2 - i / 2),
            j,
            np.where(upper, 2 * (deep - k), 2 * k),
        )
        grid = map_coordinates(grid, back, order=1, mode="nearest").astype(np.float32)
    return time.perf_counter() - start


def peak_mib(folds: int) -> float:
    """Peak memory of a 2048 x 2048 sheet of 16 samples, in a process of its own.

    Called before this process grows: where it forks, the child counts its parent's memory as its own.
    """
    code = (
        "import resource; from blendlab.recipe.recipe import *; from blendlab.io.text_files import read_text;"
        "from blendlab.look.prepared_sheet import prepare; from blendlab.look.render import render;"
        "from blendlab.look.surfaces import top_face;"
        f"r = from_toml(read_text({str(RECIPE)!r})); m = prepare(r, {folds});"
        f"render(top_face(r.sheet, 10.24), m, {folds}, 16);"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True)
    return float(done.stdout)


def fit(x: np.ndarray, y: np.ndarray) -> str:
    """The straight line nearest to some times, and how much of their spread it explains."""
    slope, start = np.polyfit(x, y, 1)
    left = 1 - np.var(y - (slope * x + start)) / np.var(y)
    return f"{1e3 * slope:.3f} ms each + {1e3 * start:.1f} ms, R2 {left:.4f}"


def main() -> None:
    peak_mib(0)  # compiles what is not yet compiled, which takes memory too
    found = (f"{peak_mib(folds):.0f} MiB" for folds in (2, 12))
    print("peak memory, 2048 x 2048 pixels, 16 samples, 2 and 12 folds:", *found)
    recipe = from_toml(read_text(RECIPE))
    point_maps(recipe.with_folding(unevenness=0.0), "an even press")
    point_maps(recipe, "the recipe's press")
    tile, full, many = top_face(recipe.sheet, 0.8), prepare(recipe, FOLDS), prepare(recipe, 12)
    picture = seconds(lambda: render(tile, full, FOLDS, 9))
    print(f"a ladder picture, {FOLDS} folds: {picture:.3f} s")
    print(f"  voxel grid: {voxel_ladder(FOLDS) / picture:.1f} times as long")
    folds, side = np.arange(0, 13, 2), np.arange(2, 7)
    cpu = time.process_time
    by_folds = [seconds(lambda n=n: render(tile, many, n, 9), clock=cpu) for n in folds.tolist()]
    by_samples = [seconds(lambda n=n: render(tile, full, FOLDS, n * n), clock=cpu) for n in side.tolist()]
    print("processor time against folds:  ", fit(folds, np.array(by_folds)))
    print("processor time against samples:", fit(side**2, np.array(by_samples)))


if __name__ == "__main__":
    main()
