"""The app's server as `streamlit run` starts it, with smaller tiles and matches of few folds.

    python -m tests.screens.quick_server run app.py …

The same pages in a third of the time; how pictures are drawn and photos matched is tested elsewhere.
"""

from streamlit.web import cli

from blendlab.look import ladder
from blendlab.photo import move_fit
from blendlab.workshop import predicted_sheet

SMALL_PX = 60  # longer side of a tile
FEW_FOLDS = 4  # up to which a photo is matched

if __name__ == "__main__":
    ladder.TILE_PX = predicted_sheet.PICTURE_PX = SMALL_PX
    move_fit.MAX_MATCHED_FOLDS = FEW_FOLDS
    cli.main(prog_name="streamlit")
