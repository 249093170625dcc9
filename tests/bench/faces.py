"""Any face, cut or turned view of about one megapixel against the top face, run by hand.

    python tests/bench/faces.py [folds] [samples]

The bar is 1.3 times the top face's time a pixel at the same samples in the same run. The time is the
processor's, over all threads, so that other work on the machine counts for little; each figure is the best
of three. A view's pixels are those that show the solid.
"""

import sys
import time

import numpy as np

from blendlab.look.block import Block
from blendlab.look.lathe import blank
from blendlab.look.prepared_sheet import prepare
from blendlab.look.profile import ball, bowl, spindle
from blendlab.look.render import render
from blendlab.look.solid_view import solid_view
from blendlab.look.surfaces import Surface, planed, saw_cut
from blendlab.look.unrolled import unrolled
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

BAR = 1.3
BLOCK = Sheet(120.0, 100.0, 40.0)
FLAKES = (Flake("cream", "#f1e6c8", 60), Flake("red", "#c0392b", 30), Flake("plum", "#5b2340", 10))
MEGAPIXEL = 1e6


def surfaces() -> dict[str, Surface]:
    """Every kind of surface at about one megapixel, the top face first."""
    turned = {
        "ball": blank(ball(19.0), BLOCK),
        "spindle": blank(spindle(110.0, 19.0), BLOCK),
        "bowl": blank(bowl(38.0, 45.0, 5.0), BLOCK, "upright"),
    }
    return {
        "top": planed(BLOCK, 9.13),
        "front": planed(BLOCK, 14.4, 0.0, "front"),
        "planed": planed(BLOCK, 9.13, 13.0),
        "sawn": saw_cut(BLOCK, 14.0, (3.0, 4.0), 25.0),
        "sawn aslant": saw_cut(BLOCK, 10.0, (3.0, 4.0), 25.0, 50.0),
        "block": solid_view(Block(BLOCK), 1300),
        **{f"{name} turned": solid_view(solid, 1100) for name, solid in turned.items()},
        **{f"{name} unrolled": unrolled(solid, 10.0) for name, solid in turned.items()},
    }


def main(folds: int = 4, samples: int = 9) -> None:
    """Print each surface's time, in all and for a megapixel seen, and its ratio to the top face."""
    prepared = prepare(Recipe("block", BLOCK, FLAKES, Folding(folds=folds)))
    asked = surfaces()
    for surface in (planed(BLOCK, 0.5), solid_view(blank(ball(19.0), BLOCK), 20)):
        render(surface, prepared, folds, samples)  # compile
    top = 0.0
    for name, surface in asked.items():
        spent = []
        for _ in range(3):
            start = time.process_time()
            picture = render(surface, prepared, folds, samples)
            spent.append(time.process_time() - start)
        seen = int(np.isfinite(picture.xyz1[..., 1]).sum())
        each = min(spent) / seen * MEGAPIXEL
        top = top or each
        rows, columns = surface.shape
        held = "within" if each <= BAR * top else "OVER"
        print(
            f"{name:17} {columns:5} x {rows:4}, {seen / MEGAPIXEL:4.2f} Mpx seen, {min(spent):6.2f} s, "
            f"{each:6.2f} s a Mpx, {each / top:4.2f} times the top face, {held} {BAR}"
        )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
