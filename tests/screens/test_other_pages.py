"""The pages around the first one, and the faces on it: they open, answer, and refuse in a sentence."""

from pathlib import Path

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

from blendlab.io.pictures import read_png
from blendlab.logbook import stock
from blendlab.look.faces import FACES
from blendlab.look.nesting import Piece
from blendlab.look.prepared_sheet import prepare
from blendlab.look.view import look_at
from blendlab.recipe.flake_list import Stocked
from blendlab.screens.parts import cache

from .opening import STRIP, in_address, opened, pictures, said, sound

SCREENS = "blendlab/screens/pages"
PHOTO = Path(__file__).resolve().parents[2] / "swatches" / "past-sheet.jpg"


def page(name: str) -> AppTest:
    return opened(page=f"{SCREENS}/{name}.py")


def test_a_wanted_colour_is_sought_and_its_mix_taken() -> None:
    app = page("wanted")
    assert "These flakes reach this colour" in " ".join(text.value for text in app.text)
    sound(app.button(key="take0").click().run())
    assert app.title[0].value == "Make"
    assert "The mix is now one for" in app.info[0].value
    sound(app.button(key="undo landing").click().run())
    assert in_address(app) == STRIP
    app = page("wanted")
    app.text_input(key="wantedtext").set_value("no colour").run()
    assert "the wanted colour must be written #rrggbb" in said(app)[0]
    assert not app.exception


def test_the_mass_asked_for_starts_at_what_is_on_hand_where_that_is_less(home: Path) -> None:
    flakes = [
        ("oat", "#d8c8a0", 12.5),
        ("sea", "#2b6f8a", 60.0),
        ("rust", "#b4532a", 40.0),
        ("coal", "#1b1b1c", 9.0),
    ]
    stock.put(home, [Stocked(name, srgb, grams=grams) for name, srgb, grams in flakes])
    app = page("wanted")
    assert app.text_input(key="wantedmass 112").value == "112"  # of the three that there is most of
    assert not said(app)
    stock.add(home, "sea", 500.0)
    assert sound(app.run()).text_input(key="wantedmass 200").value == "200"


def test_the_shed_opens_on_the_invented_list() -> None:
    app = page("shed")
    assert "so these are invented" in " ".join(text.value for text in app.markdown)


@pytest.mark.parametrize("face", ["front", "planed", "sawn", "block", "turned"])
def test_the_large_view_switches_among_faces(face: str) -> None:
    app = opened()
    if face == "front":
        sound(app.button_group(key="face").set_value("edge").run())
    else:
        sound(app.button_group(key="face").set_value("lathe" if face == "turned" else face).run())
    assert any(words.startswith(FACES[face].words) for words in pictures(app))
    assert (face == "planed") == any("mm" in box.value and "pattern" in box.value for box in app.caption)


def test_a_saw_cut_that_misses_is_a_sentence_and_the_page_stays() -> None:
    app = opened()
    app.session_state["face"] = "lathe"
    app.run(timeout=60)
    app.text_input(key="turnrodradius").set_value("400").run(timeout=60)
    assert "a turned blank must fit in the slab" in said(app)[0]
    assert not app.exception


def test_two_ways_of_folding_stand_side_by_side() -> None:
    app = page("compare")
    assert len(pictures(app)) == 2
    assert sum("Pressings after the first melt" in shown.proto.body for shown in app.get("html")) == 2


def test_blanks_are_laid_out_and_one_too_large_is_refused() -> None:
    app = page("blanks")
    app.text_input(key="blanklength").set_value("20").run()
    app.text_input(key="blankwidth").set_value("8").run()
    assert "blank" in app.subheader[0].value
    app.text_input(key="blanklength").set_value("900").run()
    assert "a blank must not be larger than the sheet" in said(app)[0]
    assert not app.exception


def test_blanks_are_laid_out_on_the_cold_sheet() -> None:
    """Two of 38.5 mm and a cut of 2 mm fit on the 80 mm of the hot strip, not on 77.8 mm cold."""
    app = page("blanks")
    for field, mm in (("margin", "0"), ("length", "38.5"), ("width", "16")):
        sound(app.text_input(key=f"blank{field}").set_value(mm).run())
    assert app.subheader[0].value == "1 blank"
    assert "On the cold sheet, 77.8 × 19.5 mm before it is trimmed." in [said.value for said in app.caption]
    (layout,) = (shown.proto.body for shown in app.get("html") if 'class="outline' in shown.proto.body)
    assert f"width:{38.5 / (80 * 0.973):.3%}" in layout


def test_a_blank_as_large_as_the_cold_sheet_shows_all_of_the_hot_face() -> None:
    blank = read_png(cache.blank_png(STRIP, Piece(*cache.cold_plan_mm(STRIP))))
    prepared = prepare(STRIP, STRIP.folding.folds)
    face = cache.TOP.surface(prepared.sheet_after(STRIP.folding.folds), cache.BLANK_PX / 80)
    assert np.array_equal(blank, look_at(face, prepared, STRIP.folding.folds).srgb8)


def test_the_photo_page_says_what_to_do_and_offers_corners() -> None:
    app = page("photo")
    assert "white paper" in " ".join(words.value for words in app.markdown)
    app.file_uploader(key="photofile").set_value((PHOTO.name, PHOTO.read_bytes(), "image/jpeg")).run(
        timeout=60
    )
    assert not app.exception
    assert any(button.label == "Match it" for button in app.button)
    app.file_uploader(key="photofile").set_value(("not.jpg", b"no photo", "image/jpeg")).run(timeout=60)
    assert "JPEG, PNG or WebP" in said(app)[0]
    assert any(button.label == "Match it" for button in app.button)  # the photo given before is kept


def test_the_photo_page_can_be_tried_with_the_invented_example() -> None:
    app = page("photo")
    assert list(pictures(app)) == ["An invented photo of a marbled sheet on a bench, white paper beside it"]
    sound(next(button for button in app.button if "example" in button.label).click().run(timeout=60))
    assert any(button.label == "Match it" for button in app.button)
    assert not any("example" in button.label for button in app.button)


def test_a_chart_may_show_the_light_instead_of_paper() -> None:
    app = page("photo")
    app.file_uploader(key="photofile").set_value((PHOTO.name, PHOTO.read_bytes(), "image/jpeg")).run(
        timeout=60
    )
    sound(app.selectbox(key="photowhite").select("A 24-patch colour chart").run(timeout=60))
    labels = [field.label for field in app.text_input]
    assert sum("corner patch of the chart" in label for label in labels) == 8  # x and y of its four corners
    sound(app.selectbox(key="flake white").select("A 24-patch colour chart").run(timeout=60))
    assert any("show the colours of a 24-patch colour chart, got" in line for line in said(app)), said(app)
