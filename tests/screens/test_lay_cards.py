"""The cards of how the charge is laid: a tap lays all flakes so, and undo takes it back."""

from dataclasses import replace

from blendlab.recipe.lay import Lay
from blendlab.recipe.lay_ways import WAYS
from blendlab.recipe.recipe import Folding

from .opening import STRIP, in_address, opened, pictures, sound

MIX = replace(STRIP, folding=Folding(folds=1, unevenness=0.0))


def now(app):
    """Ways whose card says that the charge is laid that way now."""
    return [button.label for button in app.button if button.label.endswith(", as now")]


def test_a_tap_lays_all_flakes_that_way_and_undo_takes_it_back():
    app = opened(MIX)
    assert now(app) == ["Lay all stirred, as now"]
    sound(app.button(key="rung_way2").click().run())
    assert in_address(app).lays == (Lay(("chalk white",), "stripes"), Lay(("harbour blue",), "stripes"))
    assert now(app) == ["Lay all stripes, as now"]
    assert app.selectbox(key="lay0 place").value == "stripes"  # whose details follow
    sound(app.selectbox(key="lay0 count").set_value(7).run())
    assert now(app) == []
    sound(app.button(key="undo").click().run())
    sound(app.button(key="undo").click().run())
    assert in_address(app) == MIX


def test_every_card_has_a_picture_of_its_own():
    app = opened(MIX)
    found = [url for words, url in pictures(app).items() if words.startswith("Laid ")]
    assert len(set(found)) == len(found) == len(WAYS)
    sound(app.button(key="rung_way1").click().run())
    assert [url for words, url in pictures(app).items() if words.startswith("Laid ")] == found
