"""Settings: units on every page, and what is kept for the next start."""

import re
from pathlib import Path

from streamlit.testing.v1 import AppTest

from blendlab.logbook import drafts
from blendlab.recipe.recipe import Recipe
from blendlab.screens.parts import settings

from .opening import MAKE, STRIP, in_address, opened, said, sound

MORE, BLANKS = (f"blendlab/screens/pages/{name}.py" for name in ("more", "blanks"))
OUNCE_G = 28.349523125  # NIST Special Publication 811 (2008), appendix B.8: a sixteenth of 453.59237 g


def with_units(units: str, mix: Recipe | None = STRIP) -> AppTest:
    """The app on its first page, once the units were chosen under More."""
    app = opened(mix, MORE)
    sound(app.button_group(key="units chosen").set_value(units).run())
    return sound(app.switch_page(MAKE).run())


def fields(app: AppTest) -> dict[str, str]:
    return {field.label: field.value for field in app.text_input}


def test_ounces_and_inches_are_shown_and_typed_and_nothing_is_rounded() -> None:
    app = with_units("oz-in")
    assert in_address(app) == STRIP  # to the last digit
    shown = fields(app)
    assert shown["Ounces of chalk white"] == "1.058"  # 30 g
    assert {"Length, in", "Width, in", "Thickness, in"} <= shown.keys()
    assert any("oz with trim; you have 1.41 oz." in text.value for text in app.text)  # 40 g
    sound(app.text_input(key="grams2").set_value("1,5").run())
    assert in_address(app).flakes[1].grams == 1.5 * OUNCE_G
    assert in_address(app).flakes[0].grams == 30.0  # 1.058 oz would be 29.99 g
    sound(app.text_input(key="length_mm").set_value("5").run())
    app = sound(sound(app.button(key="open card").click().run()).run())
    lines = [element.proto.body for element in app.get("html")]
    assert any("oz</td>" in line for line in lines)
    assert any(" in</b>" in line for line in lines)  # the spacers
    assert "Trim per edge, in" in fields(app)
    assert "Plate length, in" in fields(app)
    assert fields(app)["Plate length, in"] == "14.961"  # 380 mm


def test_grams_in_a_field_of_ounces_are_refused_with_what_to_type() -> None:
    app = with_units("oz-in")
    app = sound(app.text_input(key="grams1").set_value("30 g").run())
    assert "must be a plain number of ounces" in said(app)[0]
    assert "30 g is 1.058 oz: type that" in said(app)[0]


def test_what_the_plates_cannot_hold_is_refused_in_the_units_chosen() -> None:
    app = with_units("oz-in")
    app = sound(app.text_input(key="length_mm").set_value("150").run())  # 3810 mm
    assert "length of the sheet must be from 0.7874 to 39.37 in, got 154.5 in" in said(app)[0]
    app = sound(app.switch_page(BLANKS).run())
    assert any(re.search(r"got [\d.]+ x [\d.]+ in\b", sentence) for sentence in said(app))


def test_units_and_numbers_are_kept_for_the_next_start() -> None:
    app = with_units("oz-in")
    sound(app.toggle(key="numbers").set_value(True).run())
    again = opened()
    assert again.toggle(key="numbers").value is True
    assert "Ounces of chalk white" in fields(again)
    assert in_address(again) == STRIP
    again = sound(again.switch_page(MORE).run())
    assert again.button_group(key="units chosen").value == "oz-in"
    sound(again.button_group(key="units chosen").set_value("g-mm").run())
    assert fields(opened())["Grams of chalk white"] == "30"


def test_damaged_settings_are_left_out(home: Path) -> None:
    for text in ("[", '{"numbers": "yes", "units": 7}', '{"units": "stones"}'):
        drafts.save(home, settings.PAGE, text)
        app = opened()
        assert app.toggle(key="numbers").value is False
        assert "Grams of chalk white" in fields(app)
