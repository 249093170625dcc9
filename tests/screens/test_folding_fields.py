"""Moves and spacers in the app: kept where no field shows them, changed where one does."""

from dataclasses import replace

import pytest

from blendlab.recipe.recipe import Folding
from blendlab.screens.parts import draft

from .opening import FLAKES, FOLDS, STRIP, in_address, opened, pictures, sound

TWIST = Folding(move="twist:45", folds=2, unevenness=0.0)
SPACERS = Folding(folds=2, spacers_mm=(8.0, 5.0), unevenness=0.0)
LISTED = Folding(moves=("edges-in", "turn", "half"), folds=1, spacers_mm=(6.0, 5.0), unevenness=0.0)


@pytest.mark.parametrize("folding", [TWIST, LISTED], ids=["twist", "list"])
def test_opening_keeps_the_handwork_on_both_pages(folding: Folding) -> None:
    recipe = replace(STRIP, folding=folding)
    app = opened(recipe, FOLDS)
    assert not app.error
    assert app.session_state["recipe"] == recipe
    assert in_address(app) == recipe
    # The list ends after two presses; a single move is followed to ten folds.
    assert len(pictures(app)) == 1 + (3 if folding.moves else 11)
    sound(app.switch_page(FLAKES).run())
    assert in_address(app) == recipe


def test_spacers_stay_whichever_rung_is_chosen() -> None:
    app = opened(replace(STRIP, folding=SPACERS), FOLDS)
    assert not app.error
    assert in_address(app).folding == SPACERS
    sound(app.button(key="rung4").click().run())
    assert app.subheader[0].value == "After 4 folds"
    assert in_address(app).folding == replace(SPACERS, folds=4)


def test_the_ladder_ends_where_the_slab_no_longer_fits_the_plates() -> None:
    low = replace(SPACERS, folds=1, spacers_mm=(8.0,))  # a second press so high leaves less than 20 mm
    app = opened(replace(STRIP, folding=low), FOLDS)
    assert not app.error
    assert [button.key for button in app.button if str(button.key).startswith("rung")] == ["rung0", "rung1"]


def test_a_list_can_be_written_and_takes_the_spacers_out() -> None:
    app = opened(replace(STRIP, folding=SPACERS), FOLDS)
    sound(app.selectbox(key="move").set_value(draft.OWN_LIST).run())
    sound(app.text_input(key="moves").set_value("half, turn, half").run())
    listed = replace(SPACERS, move=None, moves=("half", "turn", "half"), spacers_mm=None)
    assert in_address(app).folding == listed
    sound(app.text_input(key="moves").set_value("half, origami").run())
    (box,) = app.error
    assert "origami" in box.value
    assert in_address(app).folding == listed
