"""The app's server as `streamlit run` starts it, with smaller pictures and matches of few folds.

    python -m tests.screens.quick_server run app.py …

The same pages in a third of the time; how pictures are drawn and photos matched is tested elsewhere.
"""

from collections.abc import Iterator

from streamlit.web import cli

from blendlab.look import ladder
from blendlab.look.view import SurfaceSpec
from blendlab.photo import move_fit
from blendlab.recipe.recipe import Recipe
from blendlab.screens.parts import cache
from blendlab.screens.parts.shipped_pictures import Shown
from blendlab.workshop import predicted_sheet

SMALL_PX = 40  # longer side of a tile
SMALLER = 6  # times, of the large sheet
FEW_FOLDS = 4  # up to which a photo is matched

sharpening = cache.sharpening


def small_sheet(recipe: Recipe, px: int, asked: SurfaceSpec = cache.TOP) -> Iterator[Shown]:
    """The large sheet in fewer pixels."""
    return sharpening(recipe, px // SMALLER, asked)


if __name__ == "__main__":
    cache.sharpening = small_sheet
    ladder.TILE_PX = predicted_sheet.PICTURE_PX = SMALL_PX
    move_fit.MAX_MATCHED_FOLDS = FEW_FOLDS
    cli.main(prog_name="streamlit")
