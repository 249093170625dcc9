"""Time the point maps and the ladder's picture work, as ratios against baselines in the same run.

    .venv/bin/python tests/bench/bench_folding.py

Baselines: the same mathematics in plain NumPy, written here; a voxel grid folded with scipy.ndimage to the
same layer thickness; and the folding and pressing loop in C, compiled here where there is a compiler.
"""

import ctypes
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.ndimage import map_coordinates

from blendlab.files import read_text
from blendlab.folding.moves import SIDE
from blendlab.folding.trace import follow_back
from blendlab.look.making import Making, make_ready
from blendlab.look.render import render
from blendlab.look.surfaces import top_face
from blendlab.recipe import Recipe, from_toml

RECIPE = Path(__file__).resolve().parents[2] / "swatches" / "harbour.toml"
POINTS, FOLDS, RUNS = 400_000, 6, 5
SLAB = (200.0, 200.0, 6.0)


def seconds(work: Callable[[], object], runs: int = RUNS) -> float:
    """Median time of some work after one run to warm up."""
    work()
    taken = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return float(np.median(taken))


def even(recipe: Recipe) -> Recipe:
    """The recipe in an even hand: folds and presses without smear, so that baselines stay short."""
    return recipe.with_folding(unevenness=0.0, drag=0.5, folds=FOLDS)


def numpy_back(points: np.ndarray, making: Making) -> np.ndarray:
    """Undo even half folds and presses, vectorised: `press_back` and the half fold in NumPy."""
    x, y, z = points.T.copy()
    a, b, h = SLAB[0] / 2, SLAB[1] / 2, SLAB[2]
    strain0 = 2.0**0.5
    for cycle in range(FOLDS - 1, -1, -1):
        along, half = (x, a) if cycle % 2 == 0 else (y, b)
        xi, s, strain = along / half, 2 * z / h - 1, np.full(len(x), strain0)
        for _ in range(4):
            w = s * s
            d = 1 - w + w * strain
            grown = d * np.sqrt(d / strain)
            out = (np.abs(xi) * grown > 1) & (strain > 1)
            if not out.any():
                break
            far, e = xi[out] ** -2.0, strain[out].copy()
            for _ in range(12):
                dd = 1 - w[out] + w[out] * e
                e -= (dd**3 - far * e) / (3 * w[out] * dd**2 - far)
            dd = 1 - w[out] + w[out] * e
            inner = s[out] * np.sqrt(e / dd)
            s[out] = np.copysign(0.5 * (np.sqrt(4 - 3 * inner**2) - np.abs(inner)), inner)
            xi[out], strain[out] = np.sign(xi[out]), strain[out] / e
        w = s * s
        d = 1 - w + w * strain
        along, s = half / 2 * xi * d * np.sqrt(d / strain), s * np.sqrt(strain / d)
        z = (s + 1) * h
        side = making.programme.steps[cycle][SIDE]
        crease = half / 2 - side * along
        upper = z >= h
        along, z = side * np.where(upper, crease, -crease), np.where(upper, 2 * h - z, z)
        x, y = (along, y) if cycle % 2 == 0 else (x, along)
    return np.stack([x, y, z], axis=-1)


C_LOOP = r"""
#include <math.h>
void back(double *p, long n, const double *side, int folds, double a, double b, double h, double strain0) {
  for (long i = 0; i < n; i++) {
    double x = p[3*i], y = p[3*i+1], z = p[3*i+2];
    for (int c = folds - 1; c >= 0; c--) {
      double half = c % 2 ? b : a, t = (c % 2 ? y : x) / half, s = 2*z/h - 1, e0 = strain0;
      for (int k = 0; k < 8 && e0 > 1; k++) {
        double w = s*s, d = 1 - w + w*e0, g = d*sqrt(d/e0);
        if (fabs(t)*g <= 1) { t *= g; s *= sqrt(e0/d); break; }
        double far = 1/(t*t), e = e0;
        for (int m = 0; m < 60; m++) {
          double dd = 1 - w + w*e, step = (dd*dd*dd - far*e)/(3*w*dd*dd - far);
          e -= step; if (fabs(step) < 1e-14*e) break;
        }
        d = 1 - w + w*e; double q = s*sqrt(e/d);
        s = copysign(0.5*(sqrt(4 - 3*q*q) - fabs(q)), q); t = copysign(1, t); e0 /= e;
      }
      z = (s + 1)*h;
      double crease = half/2 - side[c]*t*half/2;
      if (z < h) t = -side[c]*crease; else { t = side[c]*crease; z = 2*h - z; }
      if (c % 2) y = t; else x = t;
    }
    p[3*i] = x; p[3*i+1] = y; p[3*i+2] = z;
  }
}
"""


def c_back(making: Making) -> Callable[[np.ndarray], np.ndarray] | None:
    """The same loop in C on one core, or None without a compiler."""
    compiler = shutil.which("cc") or shutil.which("gcc")
    if compiler is None:
        return None
    folder = Path(tempfile.mkdtemp())
    (folder / "loop.c").write_text(C_LOOP)
    command = [
        compiler,
        "-O3",
        "-march=native",
        "-shared",
        "-fPIC",
        "-o",
        str(folder / "loop.so"),
        str(folder / "loop.c"),
        "-lm",
    ]
    subprocess.run(command, check=True)
    loop = ctypes.CDLL(str(folder / "loop.so")).back
    side = np.ascontiguousarray(making.programme.steps[:, SIDE])
    pointer = ctypes.POINTER(ctypes.c_double)

    def run(points: np.ndarray) -> np.ndarray:
        moved = points.copy()
        loop(
            moved.ctypes.data_as(pointer),
            ctypes.c_long(len(moved)),
            side.ctypes.data_as(pointer),
            FOLDS,
            *(ctypes.c_double(v) for v in (SLAB[0] / 2, SLAB[1] / 2, SLAB[2], 2.0**0.5)),
        )
        return moved

    return run


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
    """Peak memory of a 2048 x 2048 sheet of 16 samples, in a process of its own."""
    code = (
        "import resource; from blendlab.recipe import *; from blendlab.files import read_text;"
        "from blendlab.look.making import make_ready; from blendlab.look.render import render;"
        "from blendlab.look.surfaces import top_face;"
        f"r = from_toml(read_text({str(RECIPE)!r})); m = make_ready(r, {folds});"
        f"render(top_face(r.sheet, 10.24), m, {folds}, 16);"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)"
    )
    return float(
        subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True).stdout
    )


def fit(x: np.ndarray, y: np.ndarray) -> str:
    slope, start = np.polyfit(x, y, 1)
    left = 1 - np.var(y - (slope * x + start)) / np.var(y)
    return f"{1e3 * slope:.3f} ms each + {1e3 * start:.1f} ms, R2 {left:.4f}"


def same_work(points: np.ndarray, making: Making) -> None:
    """Time the point maps beside NumPy and C, after making sure that all three do the same."""
    true = follow_back(points, making.programme, FOLDS)
    own = seconds(lambda: follow_back(points, making.programme, FOLDS))
    print(f"point maps, {POINTS} points, {FOLDS} folds, all cores: {own:.4f} s")
    loop = c_back(making)
    for name, back in (("NumPy", lambda p: numpy_back(p, making)), ("C on one core", loop)):
        if back is None:
            print(f"{name}: skipped, no compiler here")
            continue
        apart = np.quantile(np.abs(back(points) - true).max(axis=1), 0.999)
        times = seconds(lambda work=back: work(points)) / own
        print(f"{name}: {times:.2f} times as long; 999 of 1000 points within {apart:.0e} mm")


def main() -> None:
    recipe = from_toml(read_text(RECIPE))
    points = (np.random.default_rng(0).random((POINTS, 3)) - [0.5, 0.5, 0.0]) * SLAB
    same_work(points, make_ready(even(recipe), FOLDS))
    tile, full, many = top_face(recipe.sheet, 0.8), make_ready(recipe, FOLDS), make_ready(recipe, 12)
    picture = seconds(lambda: render(tile, full, FOLDS, 9), 3)
    print(f"a ladder picture, {FOLDS} folds: {picture:.3f} s")
    print(f"voxel grid: {voxel_ladder(FOLDS) / picture:.1f} times as long")
    folds, side = np.arange(0, 13, 2), np.arange(2, 7)
    by_folds = [seconds(lambda n=n: render(tile, many, n, 9), 3) for n in folds.tolist()]
    by_samples = [seconds(lambda n=n: render(tile, full, FOLDS, n * n), 3) for n in side.tolist()]
    print("time against folds:  ", fit(folds, np.array(by_folds)))
    print("time against samples:", fit(side**2, np.array(by_samples)))
    print(
        "peak memory, 2048 x 2048, 16 samples, 2 and 12 folds:", *(f"{peak_mib(n):.0f} MiB" for n in (2, 12))
    )


if __name__ == "__main__":
    main()
