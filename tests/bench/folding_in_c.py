"""The point maps beside the same mathematics in C, as ratios of processor time; run by hand:

    python -m tests.bench.folding_in_c

The loop in C is compiled here with the machine's compiler and runs on one core. It knows straight folds,
presses that spread over one side, and smears.
"""

import ctypes
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple, get_type_hints

import numba
import numpy as np

from blendlab.folding.press import MAX_EVENTS
from blendlab.folding.programme import Programme
from blendlab.folding.smear import GRID, NO_DISC, Tipping, Turning
from blendlab.folding.step_tables import Column, Ply, Step
from blendlab.folding.trace import follow_back
from blendlab.io.text_files import read_text
from blendlab.look.prepared_sheet import prepare
from blendlab.recipe.recipe import Recipe, from_toml

RECIPE = Path(__file__).resolve().parents[2] / "swatches" / "harbour.toml"
POINTS, FOLDS = 1_000_000, 6
SAME_MM = 1e-7  # points that end no further off are the same

LOOP = r"""
#include <math.h>

static double clamp(double v, double low, double high) { return v < low ? low : v > high ? high : v; }

static double fade(double u, double v, double s, double inverse_r2) {
  double left = 1 - (u*u + v*v)*inverse_r2 - s*s;
  return left > 0 ? left : 0;
}

static void smear(double *x, double *y, double *s, double a, double b, const Turning *turning,
                  const Tipping *tipping, const short *grid, int tips) {
  int i = (int)clamp((*x + a)*(0.5*GRID/a), 0, GRID - 1), j = (int)clamp((*y + b)*(0.5*GRID/b), 0, GRID - 1);
  int index = grid[i*GRID + j];
  if (index == NO_DISC) return;
  if (tips) {
    const Tipping *disc = tipping + index;
    double u = *x - disc->x, v = *y - disc->y, f = fade(u, v, *s, disc->inverse_r2);
    double g = -0.5*disc->gamma*f*f, sin = 2*g/(1 + g*g), less = sin*g;
    double xi = disc->across_x*u + disc->across_y*v, shift = -less*xi - sin * *s;
    *x += disc->shift_x*shift; *y += disc->shift_y*shift; *s += sin*xi - less * *s;
  } else {
    const Turning *disc = turning + index;
    double u = *x - disc->x, v = *y - disc->y, f = fade(u, v, 0, disc->inverse_r2);
    double g = -0.5*(disc->alpha + disc->beta * *s)*f*f, sin = 2*g/(1 + g*g), less = sin*g;
    *x += -less*u - sin*v; *y += sin*u - less*v;
  }
}

static void press(double *along, double *s, double strain, double p) {
  for (int n = 0; n < MAX_EVENTS && strain > 1; n++) {
    double w = *s * *s, d = 1 - w + w*strain, grown = d*sqrt(d/strain);
    if (p != 1) grown = pow(grown, p);
    if (fabs(*along)*grown <= 1) { *along *= grown; *s *= sqrt(strain/d); return; }
    double far = p == 1 ? 1/(*along * *along) : pow(fabs(*along), -2/p), e = strain;
    for (int k = 0; k < 60; k++) {
      double q = 1 - w + w*e, step = (q*q*q - far*e)/(3*w*q*q - far);
      e -= step;
      if (fabs(step) < 1e-14*e) break;
    }
    if (e < 1) e = 1;
    double inner = *s * sqrt(e/(1 - w + w*e));
    *s = copysign(0.5*(sqrt(4 - 3*inner*inner) - fabs(inner)), inner);
    *along = copysign(1, *along);
    strain /= e;
  }
}

static void unfold(double *u, double *z, double h, const Column *columns, long count, const Ply *plies) {
  const Column *column = columns;
  while (column + 1 < columns + count && *u > column[1].start) column++;
  *z *= column->flat;
  long i = (long)(*z/h);
  if (i > column->plies - 1) i = column->plies - 1;
  const Ply *ply = plies + column->first_ply + i;
  *z -= i*h;
  if (ply->way < 0) *z = h - *z;
  *u = ply->way*(column->slope * *u + column->offset - ply->shift);
}

void back(double *points, long count, const Step *steps, long rows, const Column *columns, const Ply *plies,
          const Turning *turning, const Tipping *tipping, const short *grids) {
  for (long n = 0; n < count; n++) {
    double x = points[3*n], y = points[3*n + 1], z = points[3*n + 2];
    for (const Step *step = steps + rows - 1; step >= steps; step--) {
      double a = step->a1, b = step->b1, s = 2*z/step->h1 - 1;
      for (long k = step->end_grid - 1; k >= step->first_grid; k--)
        smear(&x, &y, &s, a, b, turning, tipping, grids + k*GRID*GRID, k == step->end_grid - 1);
      double xi = x/a, eta = y/b;
      if (step->p_x > 0) press(&xi, &s, step->strain, step->p_x);
      else press(&eta, &s, step->strain, step->p_y);
      x = xi*step->a_folded; y = eta*step->b_folded; z = 0.5*(s + 1)*step->h_folded;
      double *along = step->axis == 1 ? &y : &x;
      *along *= step->side;
      unfold(along, &z, step->h0, columns + step->first_column, step->end_column - step->first_column, plies);
      *along *= step->side;
    }
    points[3*n] = x; points[3*n + 1] = y; points[3*n + 2] = z;
  }
}
"""


def struct(row: type[NamedTuple]) -> str:
    """A table's row as C declares it."""
    fields = get_type_hints(row).items()
    numbers = " ".join(f"{'long' if kind is int else 'double'} {name};" for name, kind in fields)
    return f"typedef struct {{ {numbers} }} {row.__name__};"


def loop() -> Callable[[np.ndarray, Programme], np.ndarray] | None:
    """The compiled loop as a function, or None where there is no compiler."""
    compiler = shutil.which("cc") or shutil.which("gcc") or shutil.which("clang")
    if compiler is None:
        return None
    folder = Path(tempfile.mkdtemp())
    structs = (struct(row) for row in (Step, Column, Ply, Turning, Tipping))
    (folder / "loop.c").write_text("\n".join((*structs, LOOP)))
    names = {"GRID": GRID, "NO_DISC": NO_DISC, "MAX_EVENTS": MAX_EVENTS}
    flags = ["-O3", "-march=native", "-shared", "-fPIC", *(f"-D{name}={n}" for name, n in names.items())]
    subprocess.run([compiler, *flags, "-o", folder / "loop.so", folder / "loop.c", "-lm"], check=True)
    compiled = ctypes.CDLL(str(folder / "loop.so")).back

    def back(points: np.ndarray, programme: Programme) -> np.ndarray:
        moved = points.copy()
        steps, *others = (ctypes.c_void_p(table.ctypes.data) for table in programme.tables)
        count, rows = ctypes.c_long(len(moved)), ctypes.c_long(len(programme.tables.steps))
        compiled(ctypes.c_void_p(moved.ctypes.data), count, steps, rows, *others)
        return moved

    return back


def seconds(work: Callable[[], object]) -> float:
    """Median processor time of three runs, after one to warm up."""
    taken = []
    for _ in range(4):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return float(np.median(taken[1:]))


def compare(recipe: Recipe, press: str) -> None:
    """Time the point maps on one core, and against C once both agree."""
    programme = prepare(recipe, FOLDS).programme
    half = np.array(recipe.sheet.size_mm) * [0.5, 0.5, 1.0]
    points = np.random.default_rng(1).uniform(half * [-1, -1, 0], half, (POINTS, 3))
    numba.set_num_threads(1)
    own = seconds(lambda: follow_back(points, programme, FOLDS))
    print(f"point maps, {press}: {own / POINTS / FOLDS * 1e9:.0f} ns a point and fold")
    back = loop()
    if back is None:
        print("  C: skipped, no compiler here")
        return
    away = np.abs(back(points, programme) - follow_back(points, programme, FOLDS)).max(axis=1)
    ratio = seconds(lambda: back(points, programme)) / own
    print(f"  C: {ratio:.2f} times as long; {(away < SAME_MM).mean():.3%} of the points agree")


if __name__ == "__main__":
    harbour = from_toml(read_text(RECIPE))
    compare(harbour.with_folding(unevenness=0.0), "an even press")
    compare(harbour, "the recipe's press")
