"""Baseline: the same point maps as a loop in C, compiled here with the machine's compiler, on one core."""

import ctypes
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np

from blendlab.folding import moves, panels, smear
from blendlab.folding.press import MAX_EVENTS
from blendlab.folding.programme import Programme

LOOP = r"""
#include <math.h>

static double clamp(double v, double low, double high) { return v < low ? low : v > high ? high : v; }

static void smear(double *x, double *y, double *s, double a, double b, const double *discs,
                  const short *grid, int tips) {
  int i = (int)clamp((*x + a)*(0.5*GRID/a), 0, GRID - 1), j = (int)clamp((*y + b)*(0.5*GRID/b), 0, GRID - 1);
  if (grid[i*GRID + j] == NO_DISC) return;
  const double *disc = discs + grid[i*GRID + j]*DISC;
  double u = *x - disc[0], v = *y - disc[1], fade = 1 - (u*u + v*v)*disc[2] - (tips ? *s * *s : 0);
  if (fade <= 0) return;
  double g = -0.5*(tips ? disc[3] : disc[3] + disc[4] * *s)*fade*fade, sin = 2*g/(1 + g*g), less = sin*g;
  if (tips) {
    double xi = disc[4]*u + disc[5]*v, shift = -less*xi - sin * *s;
    *x += disc[6]*shift; *y += disc[7]*shift; *s += sin*xi - less * *s;
  } else { *x += -less*u - sin*v; *y += sin*u - less*v; }
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

static void unfold(double *u, double *z, double h, const double *table) {
  int j = 0;
  while (j + COLUMN < TABLE && *u > table[j + COLUMN + START]) j += COLUMN;
  *z *= table[j + FLAT];
  int i = (int)(*z/h), top = (int)table[j + DEEP] - 1;
  if (i > top) i = top;
  double way = table[j + WAY + 2*i], shift = table[j + SHIFT + 2*i];
  *z -= i*h;
  if (way < 0) *z = h - *z;
  *u = way*(table[j + SLOPE] * *u + table[j + OFFSET] - shift);
}

void back(double *points, long count, const double *steps, long rows, const double *discs,
          const short *layers) {
  for (long n = 0; n < count; n++) {
    double x = points[3*n], y = points[3*n + 1], z = points[3*n + 2];
    for (long k = rows - 1; k >= 0; k--) {
      const double *step = steps + k*WIDTH;
      double a = step[A1], b = step[B1], s = 2*z/step[H1] - 1, side = step[SIDE];
      int last = (int)step[LAST];
      for (int layer = last - 1; layer >= (int)step[FIRST]; layer--)
        smear(&x, &y, &s, a, b, discs, layers + layer*GRID*GRID, layer == last - 1);
      double xi = x/a, eta = y/b;
      if (step[P_X] > 0) press(&xi, &s, step[STRAIN], step[P_X]);
      else press(&eta, &s, step[STRAIN], step[P_Y]);
      x = xi*step[A_FOLDED]; y = eta*step[B_FOLDED]; z = 0.5*(s + 1)*step[H_FOLDED];
      double *along = step[AXIS] == 1 ? &y : &x;
      *along *= side;
      unfold(along, &z, step[H0], step + OWN);
      *along *= side;
    }
    points[3*n] = x; points[3*n + 1] = y; points[3*n + 2] = z;
  }
}
"""
DOUBLES, SHORTS = ctypes.POINTER(ctypes.c_double), ctypes.POINTER(ctypes.c_short)


def loop() -> Callable[[np.ndarray, Programme], np.ndarray] | None:
    """The compiled loop as a function, or None where there is no compiler."""
    compiler = shutil.which("cc") or shutil.which("gcc") or shutil.which("clang")
    if compiler is None:
        return None
    folder = Path(tempfile.mkdtemp())
    (folder / "loop.c").write_text(LOOP)
    names = {
        name: value
        for room in (panels, moves, smear)  # the tables' columns, so that they stand in one place
        for name, value in vars(room).items()
        if name.isupper() and isinstance(value, int)
    }
    defines = [f"-D{name}={value}" for name, value in (names | {"MAX_EVENTS": MAX_EVENTS}).items()]
    flags = ["-O3", "-march=native", "-shared", "-fPIC", *defines]
    subprocess.run([compiler, *flags, "-o", folder / "loop.so", folder / "loop.c", "-lm"], check=True)
    compiled = ctypes.CDLL(str(folder / "loop.so")).back

    def back(points: np.ndarray, programme: Programme) -> np.ndarray:
        moved = points.copy()
        compiled(
            moved.ctypes.data_as(DOUBLES),
            ctypes.c_long(len(moved)),
            programme.steps.ctypes.data_as(DOUBLES),
            ctypes.c_long(len(programme.steps)),
            programme.discs.ctypes.data_as(DOUBLES),
            programme.layers.ctypes.data_as(SHORTS),
        )
        return moved

    return back
