"""What the photo page sets automatically, and its warnings about settings that the photo contradicts."""

import numpy as np
import pytest

from blendlab.io.photo_files import photo_from_bytes
from blendlab.photo.answer import Part
from blendlab.photo.face import Marks
from blendlab.recipe.recipe import Sheet
from blendlab.screens.parts import draft, session, stock_table
from blendlab.screens.parts.match_result import band
from blendlab.screens.parts.photo_settings import Settings, corners_off, likely

from .opening import opened

FOUND = [(0.1, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 0.9)]
SHAPE = (600, 800, 3)


def settings(*corners: tuple[float, float]) -> Settings:
    marks = Marks(tuple((800 * x, 600 * y) for x, y in corners))
    return Settings((), Sheet(100, 100), marks, ("half",), None)


def test_of_a_long_list_the_flakes_in_the_example_are_set() -> None:
    photo = photo_from_bytes((draft.SWATCHES / "past-sheet.jpg").read_bytes(), "past-sheet.jpg")
    shed, own = stock_table.on_hand()
    assert not own
    assert {flake.name for flake in draft.demo().flakes} < set(likely(photo, shed))
    assert len(likely(photo, shed)) == 12


def test_a_photo_of_one_colour_sets_the_flakes_like_it() -> None:
    shed, _ = stock_table.on_hand()
    red = np.full((40, 40, 3), (200, 32, 42), np.uint8)
    assert "letterbox red" in likely(red, shed)
    assert "harbour blue" not in likely(red, shed)


def test_a_corner_in_the_middle_of_the_sheet_is_named() -> None:
    assert corners_off(FOUND, settings(*FOUND), SHAPE) == ""
    inside = settings((0.5, 0.5), *FOUND[1:])
    assert corners_off(FOUND, inside, SHAPE).startswith("Corner 1 is not where the sheet seems to end")
    both = settings((0.5, 0.5), *FOUND[1:3], (0.3, 0.9))
    assert corners_off(FOUND, both, SHAPE).startswith("Corners 1 and 4 are not where")


def test_a_corner_beside_the_one_found_is_the_makers_own_to_choose() -> None:
    assert corners_off(FOUND, settings((0.11, 0.11), *FOUND[1:]), SHAPE) == ""
    assert corners_off(None, settings((0.5, 0.5), *FOUND[1:]), SHAPE) == ""


def test_a_share_is_shown_with_its_range() -> None:
    part = Part(draft.demo().flakes[0], 0.331, 0.148, 0.52, is_new=False)
    assert band(part) == "33 % (15 to 52 %)"


def test_an_answer_to_other_settings_is_not_shown() -> None:
    app = opened(page="blendlab/screens/pages/photo.py")
    next(button for button in app.button if "example" in button.label).click().run()
    app.session_state[session.MATCHED.key] = ("an answer", settings(*FOUND))
    app.run()
    assert not app.exception
    assert any(text.value.startswith("Something above was changed") for text in app.text)


@pytest.mark.parametrize("field", ["x of the upper left corner, px"])
def test_corners_can_be_typed(field: str) -> None:
    app = opened(page="blendlab/screens/pages/photo.py")
    next(button for button in app.button if "example" in button.label).click().run()
    box = next(box for box in app.text_input if box.label == field)
    box.set_value("no number").run()
    assert not app.exception
    assert any(
        "x of the upper left corner must be a plain number" in box.value.replace("\\", "")
        for box in app.error
    )
