"""The default picture against the drawing before it, and against brute force; run by hand, some minutes.

    OMP_WAIT_POLICY=passive .venv/bin/python -m tests.bench.renderer [pixels per mm]

For each fold count: processor time of the default picture of the harbour tile as a multiple of that of the
renderer before, which averaged six points a pixel with their neighbourhoods and is checked out for it; and
dE00 per pixel of a piece of it from 1,024 and from 4,096 points a pixel, beside that of these two from each
other, which is their noise.
"""

import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np

from blendlab.colour.difference import delta_e00
from blendlab.colour.spaces import lab_from_xyz1
from blendlab.io.text_files import read_text
from blendlab.look.prepared_sheet import prepare
from blendlab.look.render import render
from blendlab.look.surfaces import top_face
from blendlab.recipe.recipe import from_toml

TOP = Path(__file__).parents[2]
RECIPE = TOP / "swatches" / "harbour.toml"
BEFORE = "4b0c9fb"  # the last commit that drew six points
PIECE = 48  # pixels along each side
TIMED = """
import sys, time
from pathlib import Path
from blendlab.io.text_files import read_text
from blendlab.look.prepared_sheet import prepare
from blendlab.look.render import render
from blendlab.look.surfaces import top_face
from blendlab.recipe.recipe import from_toml
prepared = prepare(from_toml(read_text(Path(sys.argv[1]))), 10)
face = top_face(prepared.recipe.sheet, float(sys.argv[2]))
render(top_face(prepared.recipe.sheet, 0.1), prepared, 1, 6)
for line in sys.stdin:
    start = time.process_time()
    render(face, prepared, int(line), 6)
    print(time.process_time() - start, flush=True)
"""


@contextmanager
def six_points(px_per_mm: float) -> Iterator[subprocess.Popen[str]]:
    """A process of the renderer before, which answers a fold count with the seconds its picture took."""
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder) / "before"
        subprocess.run(["git", "-C", TOP, "worktree", "add", "-q", "--detach", tree, BEFORE], check=True)
        command = [sys.executable, "-c", f"import sys; sys.path.insert(0, {str(tree)!r})\n{TIMED}"]
        given = [str(RECIPE), str(px_per_mm)]
        pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "cwd": tree, "text": True}
        try:
            with subprocess.Popen([*command, *given], **pipes) as running:
                yield running
        finally:
            subprocess.run(["git", "-C", TOP, "worktree", "remove", "--force", tree], check=True)


def stated(one: np.ndarray, other: np.ndarray) -> str:
    """dE00 of pixels, mean and 99 %; contrast as a part of the other's; dE00 of the mean."""
    labs = lab_from_xyz1(one), lab_from_xyz1(other)
    off = delta_e00(*labs)
    contrast, true = (np.sqrt(lab.reshape(-1, 3).var(axis=0).sum()) for lab in labs)
    means = (lab_from_xyz1(light.mean(axis=(0, 1), dtype=float)) for light in (one, other))
    return f"{off.mean():.2f} {np.percentile(off, 99):4.1f} {contrast / true:.3f} {delta_e00(*means):.2f}"


def main(px_per_mm: float = 1.0) -> None:
    """Print a line for each fold count."""
    prepared = prepare(from_toml(read_text(RECIPE)), 10)
    face = top_face(prepared.recipe.sheet, px_per_mm)
    corner = np.array(face.corner_mm) + PIECE * (np.array(face.right_mm) + np.array(face.down_mm))
    piece = replace(face, shape=(PIECE, PIECE), corner_mm=tuple(corner))
    for samples in (None, 6):
        render(piece, prepared, 1, samples)  # compile
    with six_points(px_per_mm) as before:
        assert before.stdin is not None
        assert before.stdout is not None
        for folds in range(11):
            start = time.process_time()
            render(face, prepared, folds)
            spent = time.process_time() - start
            print(folds, file=before.stdin, flush=True)
            times = spent / float(before.stdout.readline())
            drawn, some, many = (render(piece, prepared, folds, n).xyz1 for n in (None, 1024, 4096))
            print(
                f"{folds:2} folds: {times:4.1f} times the time; from 1,024 {stated(drawn, some)}; "
                f"from 4,096 {stated(drawn, many)}; these two {stated(some, many)}",
                flush=True,
            )


if __name__ == "__main__":
    main(*map(float, sys.argv[1:]))
