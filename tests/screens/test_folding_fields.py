"""Moves and spacers in the app: kept where no field shows them, changed where one does."""

import re
from dataclasses import replace

import pytest

from blendlab.recipe.recipe import Folding
from blendlab.screens.parts import draft

from .opening import STRIP, in_address, opened, pictures, sound

TWIST = Folding(move="twist:45", folds=2, unevenness=0.0)
SPACERS = Folding(folds=2, spacers_mm=(8.0, 5.0), unevenness=0.0)
LISTED = Folding(moves=("edges-in", "turn", "half"), folds=1, spacers_mm=(6.0, 5.0), unevenness=0.0)


@pytest.mark.parametrize("folding", [TWIST, LISTED], ids=["twist", "list"])
def test_opening_keeps_the_handwork(folding: Folding) -> None:
    recipe = replace(STRIP, folding=folding)
    app = opened(recipe)
    assert not app.error
    assert app.session_state["recipe"] == recipe
    assert in_address(app) == recipe
    # The list ends after two presses; a single move is followed to ten folds.
    assert len([words for words in pictures(app) if ", mean #" in words]) == (3 if folding.moves else 11)


def test_spacers_stay_whichever_rung_is_chosen() -> None:
    app = opened(replace(STRIP, folding=SPACERS))
    assert not app.error
    assert in_address(app).folding == SPACERS
    sound(app.button(key="rung4").click().run())
    assert "After 4 folds" in [box.value for box in app.subheader]
    assert in_address(app).folding == replace(SPACERS, folds=4)


def test_the_ladder_ends_where_the_slab_no_longer_fits_the_plates() -> None:
    low = replace(SPACERS, folds=1, spacers_mm=(8.0,))  # a second press so high leaves less than 20 mm
    app = opened(replace(STRIP, folding=low))
    assert not app.error
    assert [button.key for button in app.button if re.fullmatch(r"rung\d+", str(button.key))] == [
        "rung0",
        "rung1",
    ]


def test_a_list_of_moves_begins_with_the_move_that_was_repeated_and_shows_the_same_sheet() -> None:
    app = opened(replace(STRIP, folding=SPACERS))
    before = pictures(app)["Top face after 2 folds"]
    sound(app.button_group(key="move").set_value(draft.OWN_LIST).run())
    listed = replace(SPACERS, move=None, moves=("half", "turn", "half"), spacers_mm=SPACERS.spacers_mm)
    assert in_address(app).folding == listed
    assert pictures(app)["Top face after 2 folds"] == before
    sound(app.button(key="undo").click().run())
    assert in_address(app).folding == SPACERS
