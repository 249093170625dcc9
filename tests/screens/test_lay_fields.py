"""Laying by hand in the app: lays added, changed, moved and taken out, and always pressable."""

from dataclasses import replace

from blendlab.recipe.lay import Lay
from blendlab.recipe.recipe import Flake, Folding

from .opening import STRIP, in_address, opened, pictures, sound

MIX = replace(
    STRIP, flakes=(*STRIP.flakes, Flake("marigold", "#f0ac2b", 8.0)), folding=Folding(folds=2, unevenness=0.0)
)
LAID = replace(
    MIX,
    lays=(
        Lay(("chalk white",), "layer"),
        Lay(("harbour blue",), "stripes", width_mm=12),
        Lay(("marigold",), "scatter", before_press=1),
    ),
)


def test_a_stirred_mix_is_laid_and_stirred_again():
    app = opened(MIX)
    sound(app.button(key="lay by hand").click().run())
    assert [lay.flakes for lay in in_address(app).lays] == [("chalk white", "harbour blue"), ("marigold",)]
    sound(app.selectbox(key="lay1 place").set_value("border").run())
    sound(app.button(key="add lay").click().run())
    assert [lay.place for lay in in_address(app).lays] == ["throughout", "border", "layer"]
    sound(app.button(key="lay2 up").click().run())
    assert [lay.place for lay in in_address(app).lays] == ["throughout", "layer", "border"]
    sound(app.button(key="lay1 out").click().run())
    assert [lay.place for lay in in_address(app).lays] == ["throughout", "border"]
    sound(app.button(key="stir").click().run())
    assert in_address(app) == MIX
    assert not app.error


def test_numbers_of_a_lay_are_changed_and_bad_ones_refused():
    app = opened(LAID)
    assert in_address(app) == LAID
    assert app.text_input(key="lay1 width_mm").value == "12"
    shown = [words for words in pictures(app) if "in a level layer; in 4 stripes" in words]
    assert sorted(words.startswith("As laid, cold") for words in shown) == [False, True]  # by the strip too
    sound(app.selectbox(key="lay1 count").set_value(7).run())
    sound(app.text_input(key="lay1 width_mm").set_value("2,5 cm").run())
    (box,) = app.error
    assert "25 mm: type that" in box.value.replace("\\", "")
    sound(app.text_input(key="lay1 width_mm").set_value("").run())
    sound(app.selectbox(key="lay2 before_press").set_value(2).run())
    assert not app.error
    lays = in_address(app).lays
    assert lays[1] == Lay(("harbour blue",), "stripes", count=7)
    assert lays[2].before_press == 2


def test_heaps_go_where_they_are_put_and_stay_within_the_slab():
    app = opened(replace(LAID, lays=(Lay(("chalk white", "marigold")), Lay(("harbour blue",), "heaps"))))
    sound(app.text_input(key="lay1 where_mm").set_value("30 -5; -12,5, 0").run())
    assert in_address(app).lays[1].where_mm == ((30.0, -5.0), (-12.5, 0.0))
    assert app.text_input(key="lay1 where_mm").value == "30 -5; -12.5 0"
    assert app.selectbox(key="lay1 count").value == 2
    for typed, says in (
        ("30 50", "a heap must be within the 80 x 20 mm slab"),
        ("30", "must be two numbers"),
    ):
        sound(app.text_input(key="lay1 where_mm").set_value(typed).run())
        (box,) = app.error
        assert says in box.value.replace("\\", "")
    sound(app.text_input(key="lay1 where_mm").set_value("").run())
    assert in_address(app).lays[1] == Lay(("harbour blue",), "heaps", count=2)


def test_flakes_and_parts_of_them_move_between_lays():
    app = opened(LAID)
    sound(app.multiselect(key="lay0 flakes").set_value(["chalk white", "harbour blue"]).run())
    assert [lay.flakes for lay in in_address(app).lays] == [("chalk white", "harbour blue"), ("marigold",)]
    sound(app.text_input(key="lay1 g2").set_value("3").run())
    lays = in_address(app).lays
    assert lays[0].flakes == ("chalk white", "harbour blue", "marigold")
    assert lays[0].grams == (("marigold", 5.0),)
    sound(app.text_input(key="lay1 g2").set_value("9").run())
    (box,) = app.error
    assert "grams of marigold in a lay must be from 0 to 8 g, got 9" in box.value.replace("\\", "")


def test_a_flake_keeps_its_lay_under_another_name_and_other_grams():
    app = opened(LAID)
    sound(app.text_input(key="name2").set_value("ink").run())
    sound(app.text_input(key="grams2").set_value("20").run())
    found = in_address(app)
    assert found.flakes[1].name == "ink"
    assert found.lays[1] == replace(LAID.lays[1], flakes=("ink",))


def test_what_is_never_strewn_is_said():
    app = opened(LAID)
    sound(app.button(key="rung0").click().run())
    assert not app.error
    assert [t for t in app.text if "is strewn on fold 1: this sheet is not folded so often" in t.value]
