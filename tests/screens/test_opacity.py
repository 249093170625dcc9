"""Opacity in words, the let-down, and the finish, on the page of flakes."""

from dataclasses import replace

import pytest
from streamlit.testing.v1 import AppTest

from blendlab.colour.means import full_blend
from blendlab.recipe.flake import LetDown
from blendlab.recipe.recipe import Flake

from .opening import STRIP, in_address, opened, said, sound, swatches

WHITE, BLUE = STRIP.flakes
PALE = replace(STRIP, flakes=(replace(WHITE, hide_mm=None), BLUE))
LET_DOWN = replace(
    STRIP, flakes=(WHITE, replace(BLUE, hide_mm=None, let_down=LetDown("chalk white", 10, "#7f93c8")))
)


def choose(app: AppTest, kind: str, row: int = 1) -> AppTest:
    asked = next(group for group in app.button_group if group.key.startswith(f"kind{row} "))
    return sound(asked.set_value(kind).run())


def opened_opacity(row: int, way: str) -> AppTest:
    app = opened()
    app.session_state[f"opacity{row}"] = True
    sound(app.run())
    return sound(app.button_group(key=f"way{row}").set_value(way).run())


def test_a_pale_flake_of_which_nothing_is_known_must_be_called_white_or_natural() -> None:
    app = opened(PALE)
    assert any("white or natural" in box.value for box in app.warning)
    drawn = next(element.proto.body for element in app.get("html") if "printed" in element.proto.body)
    for kind in ("opaque", "tinted", "natural"):
        assert f'aria-label="{kind}: ' in drawn
    blends = {}
    for kind in ("opaque", "natural"):
        choose(app := opened(PALE), kind)
        chosen = in_address(app)
        assert chosen.flakes[0].kind == kind
        assert not app.warning
        assert swatches(app)["Fully mixed"] == full_blend(chosen).srgb
        blends[kind] = full_blend(chosen).lab
    assert blends["natural"][0] < blends["opaque"][0] - 5  # weaker: the blue takes over


def test_a_flake_that_was_measured_is_not_asked_for() -> None:
    assert not opened().warning


def test_a_class_chosen_beside_a_measurement_stays_when_its_colour_changes() -> None:
    app = opened(PALE)
    choose(app, "natural")
    sound(app.color_picker(key="srgb1").set_value("#e8e4d8").run())
    assert in_address(app).flakes[0].kind == "natural"


def test_a_let_down_is_entered_with_its_recipe_in_four_lines() -> None:
    app = opened_opacity(2, "Let-down")
    assert any(text.value.count("\n") >= 4 and text.value.startswith("1. Weigh") for text in app.markdown)
    app.text_input(key="percent2").set_value("12,5")
    app.color_picker(key="letdown2").set_value("#7f93c8")
    sound(app.run())
    sound(app.button(key="use this let-down 2").click().run())
    blue = in_address(app).flakes[1]
    assert blue.let_down == LetDown("chalk white", 12.5, "#7f93c8")
    assert blue.hide_mm is None
    assert swatches(app)["Fully mixed"] == full_blend(in_address(app)).srgb


def test_a_let_down_in_a_part_outside_its_limits_is_refused() -> None:
    app = opened_opacity(2, "Let-down")
    sound(app.text_input(key="percent2").set_value("0").run())
    assert any("percent of harbour blue in it must be from 0.1 to 99" in sentence for sentence in said(app))


def test_a_let_down_follows_its_partner_to_a_new_name_and_out_of_the_mix() -> None:
    app = opened(LET_DOWN)
    sound(app.text_input(key="name1").set_value("cap white").run())
    assert not app.error
    assert in_address(app).flakes[1].let_down == LetDown("cap white", 10, "#7f93c8")
    before = in_address(app)
    sound(app.button(key="remove1").click().run())
    assert not app.error
    (left,) = in_address(app).flakes
    assert left.let_down is not None
    assert left.let_down.partner_name == "cap white"
    assert full_blend(replace(before, flakes=(left,))).srgb == swatches(app)["Fully mixed"]


@pytest.mark.parametrize("finish", ["satin", "matte"])
def test_a_matte_liner_veils_the_colours(finish: str) -> None:
    coal = replace(STRIP, flakes=(Flake("coal", "#1b1b1c", 40.0, hide_mm=0.1),))
    app = opened(coal)
    sound(app.selectbox(key="finish").set_value(finish).run())
    veiled = coal.with_sheet(finish=finish)
    assert in_address(app) == veiled
    assert swatches(app)["Fully mixed"] == full_blend(veiled).srgb != full_blend(coal).srgb


def test_a_black_needs_more_than_its_colour() -> None:
    app = opened(replace(STRIP, flakes=(WHITE, Flake("coal", "#1b1b1c", 4.0))))
    app.session_state["numbers"] = True
    sound(app.run())
    assert any("coal is too dark for its colour to reveal its strength" in text.value for text in app.text)
