"""How long a sheet with offcuts takes to draw beside one of plain flakes; run by hand.

    python -m tests.bench.bench_offcuts

Prints processor time on one thread, which others on the machine disturb least, as a ratio to the plain
sheet: the harbour tile, and the same with some of its flakes cut from such a tile. A face of one pixel per
mm, the least of several turns.
"""

import time
from dataclasses import replace

import numba

from blendlab.io.text_files import read_text
from blendlab.look.prepared_sheet import PreparedSheet, prepare
from blendlab.look.render import render
from blendlab.look.surfaces import top_face
from blendlab.recipe.offcut import Offcut
from blendlab.recipe.recipe import Recipe, from_toml

from .pictures import SWATCHES

FOLDS = (0, 1, 3, 5)
CUTS = {"one kind, of 2 folds": (1, 2), "one kind, of 5": (1, 5), "all, of 2": (3, 2)}
TURNS = 3


def cut(recipe: Recipe, kinds: int, folds: int) -> Recipe:
    """Return a recipe whose first flakes are offcuts of it."""
    offcut = Offcut(recipe, folds)
    first = (
        replace(flake, name=f"{flake.name} of old", hide_mm=None, cut_from=offcut)
        for flake in recipe.flakes[:kinds]
    )
    return recipe.with_flakes((*first, *recipe.flakes[kinds:]))


def seconds(prepared: PreparedSheet, folds: int) -> float:
    """Processor time of one face."""
    start = time.process_time()
    render(top_face(prepared.sheet_after(folds), 1.0), prepared, folds)
    return time.process_time() - start


def main() -> None:
    numba.set_num_threads(1)
    recipe = from_toml(read_text(SWATCHES / "harbour.toml"))
    sheets = {"plain": prepare(recipe, max(FOLDS))}
    sheets |= {name: prepare(cut(recipe, *how), max(FOLDS)) for name, how in CUTS.items()}
    print("folds  " + "  ".join(f"{name:>20}" for name in sheets))
    for folds in FOLDS:
        took = {name: min(seconds(each, folds) for _ in range(TURNS)) for name, each in sheets.items()}
        print(f"{folds:5}  " + "  ".join(f"{took[name] / took['plain']:20.2f}" for name in sheets))


if __name__ == "__main__":
    main()
