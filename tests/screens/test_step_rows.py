"""The steps at the press, row by row: added, changed, moved, taken out, pressed thinner, strewn on."""

from dataclasses import replace

from blendlab.recipe.recipe import Folding

from .opening import STRIP, in_address, opened, sound

WIDER = replace(STRIP, sheet=replace(STRIP.sheet, width_mm=32.0))  # pressed thinner, a strip would not fit
LISTED = replace(WIDER, folding=Folding(moves=("edges-in", "turn", "half"), folds=2, unevenness=0.0))


def moves(app):
    return in_address(app).folding.moves


def test_steps_are_added_moved_changed_and_taken_out():
    app = opened(LISTED)
    sound(app.button(key="more flip").click().run())
    sound(app.button(key="more cut-and-stack").click().run())
    assert moves(app) == ("edges-in", "turn", "half", "flip", "cut-and-stack")
    sound(app.button(key="worked3 up").click().run())
    assert moves(app) == ("edges-in", "turn", "flip", "half", "cut-and-stack")
    sound(app.selectbox(key="worked0 move").set_value("half").run())
    sound(app.button(key="worked1 out").click().run())
    assert moves(app) == ("half", "flip", "half", "cut-and-stack")
    assert app.session_state["moves"] == "half, flip, half, cut-and-stack"
    assert in_address(app).folding.folds == 2
    assert not app.error


def test_a_press_goes_thinner_and_its_height_stays_with_its_fold():
    app = opened(LISTED)
    for _ in range(2):
        sound(app.button(key="worked0 thinner").click().run())
    assert in_address(app).folding.spacers_mm == (5.0, 6.0)
    assert app.button(key="worked2 thinner").disabled  # the last press gives the thickness
    sound(app.button(key="more half").click().run())
    assert in_address(app).folding.spacers_mm == (5.0, 6.0, 6.0)
    sound(app.button(key="worked0 out").click().run())
    assert in_address(app).folding.spacers_mm is None
    assert not app.error


def test_chips_are_strewn_on_a_fold_and_a_fold_that_has_them_stays():
    app = opened(LISTED)
    sound(app.button(key="worked2 chips").click().run())
    found = in_address(app)
    assert [lay.before_press for lay in found.lays] == [None, 2]
    assert found.lays[1].flakes == ("harbour blue",)
    sound(app.button(key="worked2 out").click().run())
    (box,) = app.error
    assert "before\\_press of a lay must be a press of the recipe" in box.value
    assert in_address(app) == found
