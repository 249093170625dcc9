"""The steps at the press, row by row: added, changed, moved and taken out, each with its own picture."""

from dataclasses import replace

from blendlab.recipe.lay import Lay
from blendlab.recipe.recipe import Folding
from blendlab.screens.parts import step_rows
from blendlab.screens.parts.step_rows import Look, Row

from .opening import STRIP, in_address, opened, pictures, sound

WIDER = replace(STRIP, sheet=replace(STRIP.sheet, width_mm=32.0))  # pressed thinner, a strip would not fit
LISTED = replace(WIDER, folding=Folding(moves=("edges-in", "turn", "half"), folds=2, unevenness=0.0))
STREWN = replace(
    LISTED,
    folding=replace(LISTED.folding, moves=("half", "flip", "half", "turn", "half", "flip"), folds=3),
    lays=(
        Lay(("chalk white",)),
        Lay(("harbour blue",), grams=(("harbour blue", 6.0),)),
        Lay(("harbour blue",), "scatter", before_press=1),
    ),
)


def moves(app):
    return in_address(app).folding.moves


def slabs(app):
    """Addresses of the pictures of the slab, in the order of the steps."""
    return [url for words, url in pictures(app).items() if words.startswith("The slab after")]


def test_steps_are_added_moved_changed_and_taken_out():
    app = opened(LISTED)
    assert len(slabs(app)) == 4
    sound(app.button(key="more flip").click().run())
    sound(app.button(key="more cut-and-stack").click().run())
    assert moves(app) == ("edges-in", "turn", "half", "flip", "cut-and-stack")
    assert in_address(app).folding.folds == 3  # what was folded to the end still is
    sound(app.button(key="step_up3").click().run())
    assert moves(app) == ("edges-in", "turn", "flip", "half", "cut-and-stack")
    sound(app.selectbox(key="worked0 move").set_value("half").run())
    sound(app.button(key="remove_step1").click().run())
    assert moves(app) == ("half", "flip", "half", "cut-and-stack")
    assert app.session_state["moves"] == "half, flip, half, cut-and-stack"
    assert len(slabs(app)) == 5
    sound(app.button(key="undo").click().run())
    assert moves(app) == ("half", "turn", "flip", "half", "cut-and-stack")
    assert not app.error


def test_a_press_goes_thinner_and_its_height_stays_with_its_fold():
    app = opened(LISTED)
    for _ in range(2):
        sound(app.button(key="thinner_press0").click().run())
    assert in_address(app).folding.spacers_mm == (5.0, 6.0)
    assert app.button(key="thinner_press2").disabled  # the last press gives the thickness
    sound(app.button(key="more half").click().run())
    assert in_address(app).folding.spacers_mm == (5.0, 6.0, 6.0)
    sound(app.button(key="remove_step0").click().run())
    assert in_address(app).folding.spacers_mm is None
    assert not app.error


def test_chips_are_a_step_that_stays_behind_its_fold():
    app = opened(LISTED)
    sound(app.button(key="more chips").click().run())
    found = in_address(app)
    assert [lay.before_press for lay in found.lays] == [None, 2]
    assert found.lays[1].flakes == ("harbour blue",)
    sound(app.button(key="step_up3").click().run())
    assert [lay.before_press for lay in in_address(app).lays] == [None, 1]
    assert app.button(key="step_up1").disabled  # chips on the charge are a lay
    sound(app.button(key="remove_step0").click().run())  # what they were strewn on is now the charge
    assert [lay.before_press for lay in in_address(app).lays] == [None, 0]
    sound(app.button(key="undo").click().run())
    sound(app.button(key="remove_step1").click().run())
    assert in_address(app) == LISTED
    assert not app.error


def test_a_turn_or_flip_goes_up_past_the_chips_too():
    app = opened(STREWN)
    assert [row.step for row in step_rows.rows_of(STREWN)][:3] == ["half", "scatter", "flip"]
    sound(app.button(key="step_up2").click().run())
    assert moves(app) == ("flip", "half", "half", "turn", "half", "flip")
    assert in_address(app).lays == STREWN.lays


def test_what_lies_there_after_each_step():
    rows = step_rows.rows_of(STREWN)
    assert rows[1] == Row("scatter", lay=2)
    assert list(step_rows.looks_after(rows)) == [
        Look(1),
        Look(1, strewn=True),
        Look(1, strewn=True, over=True),
        Look(2),
        Look(2, strewn=True, about=True),
        Look(3, about=True),
        Look(3, strewn=True, over=True, about=True),
    ]


def test_each_step_shows_the_slab_after_it():
    found = slabs(opened(STREWN))
    assert len(found) == 8
    first, half, chips, flip, second, turn, third, last = found
    assert len({first, half, chips, flip, second, third, last}) == 7
    assert turn == second  # the same face, which the page shows turned
    half_again = replace(STREWN, folding=replace(STREWN.folding, moves=("half",), folds=1))
    assert slabs(opened(half_again))[:3] == found[:3]
