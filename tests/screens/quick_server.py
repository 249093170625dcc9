"""The app's server as `streamlit run` starts it, with smaller pictures and matches of few folds.

Further sheets take their time all the same, long enough to be stopped.

    python -m tests.screens.quick_server run app.py …

The same pages in a third of the time; how pictures are drawn and photos matched is tested elsewhere.
"""

import time
from collections.abc import Iterator, Sequence

from streamlit.web import cli

from blendlab.look import ladder
from blendlab.look.ladder import Levels
from blendlab.look.view import SurfaceSpec
from blendlab.photo import move_fit
from blendlab.recipe.recipe import Recipe
from blendlab.runtime.progress import ProgressCallback
from blendlab.screens.parts import cache
from blendlab.screens.parts.shipped_pictures import Shown
from blendlab.workshop import predicted_sheet

SMALL_PX = 24  # longer side of a tile and of a sketch
SMALLER = 10  # times, of the large sheet
STEP_S = 0.1  # at least, between reports of progress on a further sheet
FEW_FOLDS = 2  # up to which a photo is matched

sharpening, levels_of_replicate = cache.sharpening, cache.levels_of_replicate


def small_sheet(recipe: Recipe, px: int, asked: SurfaceSpec = cache.TOP) -> Iterator[Shown]:
    """The large sheet in fewer pixels."""
    return sharpening(recipe, px // SMALLER, asked)


def slow_sheet(recipe: Recipe, counts: Sequence[int], number: int, on_progress: ProgressCallback) -> Levels:
    """A further sheet, in no hurry."""

    def slowly(part: float) -> None:
        time.sleep(STEP_S)
        on_progress(part)

    return levels_of_replicate(recipe, counts, number, slowly)


if __name__ == "__main__":
    cache.sharpening, cache.levels_of_replicate = small_sheet, slow_sheet
    cache.SKETCH_PX = ladder.TILE_PX = predicted_sheet.PICTURE_PX = SMALL_PX
    move_fit.MAX_MATCHED_FOLDS = FEW_FOLDS
    cli.main(prog_name="streamlit")
