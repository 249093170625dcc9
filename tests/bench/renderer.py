"""The default picture against six plain points a pixel, and against brute force; run by hand.

    OMP_WAIT_POLICY=passive .venv/bin/python -m tests.bench.renderer [pixels per mm]

For each fold count: processor time of the default picture of the harbour tile as a multiple of that of six
points a pixel by brute force, and dE00 per pixel of a piece of it from 1,024 points a pixel. The renderer
before this one averaged six points with their neighbourhoods, in 1.7 (no folds) to 1.2 times (five or more)
the time of six plain ones.
"""

import sys
import time
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

RECIPE = Path(__file__).parents[2] / "swatches" / "harbour.toml"
PIECE = 48  # pixels along each side


def main(px_per_mm: float = 1.0) -> None:
    """Print a line for each fold count."""
    prepared = prepare(from_toml(read_text(RECIPE)), 10)
    face = top_face(prepared.recipe.sheet, px_per_mm)
    corner = np.array(face.corner_mm) + PIECE * (np.array(face.right_mm) + np.array(face.down_mm))
    piece = replace(face, shape=(PIECE, PIECE), corner_mm=tuple(corner))
    for samples in (None, 6):
        render(piece, prepared, 1, samples)  # compile
    for folds in range(11):
        spent = []
        for samples in (None, 6):
            start = time.process_time()
            render(face, prepared, folds, samples)
            spent.append(time.process_time() - start)
        drawn, true = (lab_from_xyz1(render(piece, prepared, folds, n).xyz1) for n in (None, 1024))
        off = delta_e00(drawn, true)
        contrasts = [np.sqrt(lab.reshape(-1, 3).var(axis=0).sum()) for lab in (drawn, true)]
        print(
            f"{folds:2} folds: {spent[0] / spent[1]:5.2f} times six plain points; dE00 {off.mean():.2f}, "
            f"in 99 % at most {np.percentile(off, 99):.1f}, contrast {contrasts[0] / contrasts[1]:.3f}"
        )


if __name__ == "__main__":
    main(*map(float, sys.argv[1:]))
