"""How long a laid charge takes to draw beside a stirred one; run by hand.

    python -m tests.bench.bench_lays

Prints processor time as a ratio to the stirred charge for each way and fold count, a face of one pixel per
mm: the least of several turns. One thread draws: threads that wait for each other take processor time too.
"""

import time
from dataclasses import replace

from numba import set_num_threads

from blendlab.io.text_files import read_text
from blendlab.look.prepared_sheet import PreparedSheet, prepare
from blendlab.look.render import render
from blendlab.look.surfaces import top_face
from blendlab.recipe import lay_ways
from blendlab.recipe.lay_edits import with_chips
from blendlab.recipe.recipe import from_toml

from .pictures import SWATCHES

FOLDS = (0, 1, 3, 5, 8)
TURNS = 5


def seconds(prepared: PreparedSheet, folds: int) -> float:
    """Processor time of one face."""
    start = time.process_time()
    render(top_face(prepared.sheet_after(folds), 1.0), prepared, folds)
    return time.process_time() - start


def main() -> None:
    set_num_threads(1)
    recipe = from_toml(read_text(SWATCHES / "harbour.toml"))
    thick = recipe.sheet.thickness_mm
    ways = {way: lay_ways.laid_so(way, (), recipe.flakes, thick) for way in lay_ways.WAYS}
    ways["chips on fold 1"] = with_chips(ways["layers"], 1, recipe.flakes)
    sheets = {way: prepare(replace(recipe, lays=lays), max(FOLDS)) for way, lays in ways.items()}
    seconds(sheets["stirred"], 1)  # compiles
    print("folds  " + "  ".join(f"{way:>15}" for way in sheets))
    for folds in FOLDS:
        took = {way: float("inf") for way in sheets}
        for _ in range(TURNS):
            for way, prepared in sheets.items():
                took[way] = min(took[way], seconds(prepared, folds))
        print(f"{folds:5}  " + "  ".join(f"{took[way] / took['stirred']:15.2f}" for way in sheets))


if __name__ == "__main__":
    main()
