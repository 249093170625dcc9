"""Moves and spacers in the app: kept where no field shows them, changed where one does."""

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
    assert len(pictures(app)) == 1 + (3 if folding.moves else 11)


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
    assert [button.key for button in app.button if str(button.key).startswith("rung")] == ["rung0", "rung1"]


def test_steps_are_tapped_together_and_take_the_spacers_out() -> None:
    app = opened(replace(STRIP, folding=SPACERS))
    sound(app.button_group(key="move").set_value(draft.OWN_LIST).run())
    for _ in range(3):
        sound(app.button(key="step0").click().run())
    sound(app.button(key="add half").click().run())
    moves = ("turn", "half", "half")
    listed = replace(SPACERS, move=None, moves=moves, spacers_mm=None)
    assert in_address(app).folding == listed
