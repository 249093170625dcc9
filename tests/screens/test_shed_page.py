"""The shed page: the maker's own flakes, and what is said where they cannot be kept."""

import sqlite3
from pathlib import Path

import numpy as np
from streamlit.testing.v1 import AppTest

from blendlab.colour.spaces import Colour
from blendlab.io.pictures import png_bytes
from blendlab.logbook import database, stock
from blendlab.recipe.flake import LetDown
from blendlab.recipe.flake_list import Stocked

from .opening import click, opened, said, sound

SHED = "blendlab/screens/pages/shed.py"
LIST = b"name,srgb,grams\nchalk white,#f2f0e8,100\nharbour blue,#1d4f8f,50\n"


def with_list(content: bytes) -> AppTest:
    app = opened(page=SHED)
    return sound(app.file_uploader(key="list").set_value(("flakes.csv", content, "text/csv")).run())


def test_a_list_of_the_makers_own_takes_the_invented_ones_place(home: Path) -> None:
    click(with_list(LIST), "Put them on my list")
    assert [(flake.name, flake.grams) for flake in stock.stock(home)] == [
        ("chalk white", 100),
        ("harbour blue", 50),
    ]
    app = opened(page=SHED)
    app.text_input(key="shed grams").set_value("-30").run()
    click(app, "Book it")
    assert stock.stock(home)[0].grams == 70
    click(app, "Remove from the list")
    assert [flake.name for flake in stock.stock(home)] == ["harbour blue"]


def entered(app: AppTest, **fields: str) -> AppTest:
    """The page after a flake was entered by hand."""
    for field, typed in fields.items():
        app.text_input(key=f"new flake 0 {field}").set_value(typed)
    return click(app, "Put it on my list")


def test_a_flake_is_entered_by_hand_and_the_invented_ones_go(home: Path) -> None:
    app = opened(page=SHED)
    assert "so these are invented" in " ".join(text.value for text in app.markdown)
    app.color_picker(key="new flake 0 srgb").set_value("#2b6f8a")
    app.button_group(key="new flake 0 kind").set_value("tinted")
    app = entered(app, name="lid blue", grams="250,5", piece="2.5")
    assert [box.value.replace("\\", "") for box in app.success] == ["lid blue, 250.5 g, is on your list."]
    assert stock.stock(home) == (Stocked("lid blue", "#2b6f8a", grams=250.5, piece_g=2.5, kind="tinted"),)
    assert app.text_input(key="new flake 1 name").value == ""  # ready for the next one
    notes = " ".join(element.proto.body for element in app.get("html"))
    assert "250 g, about 100 pieces" in notes


def test_a_flake_that_cannot_be_entered_is_refused_and_keeps_what_was_typed(home: Path) -> None:
    stock.put(home, [Stocked("oat", "#d8c8a0", grams=5, hide_mm=1.2)])
    for fields, sentence in (
        ({"name": " "}, "the flake's name must not be empty"),
        ({"name": "oat"}, "a new flake needs a name of its own, got 'oat'"),
        ({"name": "rye", "grams": "3 oz"}, "3 oz is 85.049 g: type that"),
        ({"name": "rye", "piece": "0"}, "the weight of a piece must be from 0.001 to 10000 g, got 0"),
    ):
        app = entered(opened(page=SHED), **fields)
        (refusal,) = said(app)
        assert sentence in refusal
        assert refusal.endswith("Nothing was entered.")
        assert app.text_input(key="new flake 0 name").value == fields["name"]
    assert stock.stock(home) == (Stocked("oat", "#d8c8a0", grams=5, hide_mm=1.2),)


def test_a_photo_of_caps_gives_a_new_flake_its_colour(home: Path) -> None:
    photo = np.full((120, 160, 3), 250, np.uint8)
    photo[40:80, 60:100] = (43, 111, 138)
    app = opened(page=SHED)
    given = ("caps.png", png_bytes(photo, 4.0), "image/png")
    app = sound(app.file_uploader(key="new flake 0 photo").set_value(given).run())
    entered(app, name="lid blue", grams="10")
    (flake,) = stock.stock(home)
    seen = Colour.from_hex(flake.srgb).lab
    # White paper reflects less than a perfect white, so the flake comes out a little darker than its pixels.
    assert np.allclose(seen, Colour.from_hex("#2b6f8a").lab, atol=6)
    assert flake.source == "from a photo"


def test_a_list_that_cannot_be_kept_is_refused_in_a_sentence(home: Path) -> None:
    stock.put(home, [Stocked("oat", "#d8c8a0", grams=5)])
    app = with_list(LIST)
    connection = sqlite3.connect(home / database.FILE)
    connection.execute(f"PRAGMA user_version = {database.VERSION + 1}")
    connection.close()
    click(app, "Put them on my list")
    (sentence,) = said(app)
    assert "written by a newer blendlab" in sentence
    assert sentence.endswith("Nothing was changed.")
    assert [flake.name for flake in stock.stock(home)] == ["oat"]


def test_a_let_down_whose_partner_is_off_the_list_is_named_and_left_out(home: Path) -> None:
    white = Stocked("white", "#f2f0e8", grams=100)
    pale = Stocked("pale", "#7080a0", grams=60, let_down=LetDown("white", 5.0, "#d0d4e0"))
    stock.put(home, [Stocked("oat", "#d8c8a0", grams=5), white, pale])
    stock.put(home, [Stocked("sky", "#14409a", grams=50, let_down=LetDown("pale", 5.0, "#a0b4d0"))])
    stock.remove(home, "white")
    warnings = [box.value.replace("\\", "") for box in opened(page=SHED).warning]
    assert [words.partition(" cannot be read")[0] for words in warnings] == ["Flake 'pale'", "Flake 'sky'"]
    assert "the flake it was let down in must be on the list, got 'white'; enter that one too" in warnings[0]
    assert [flake.name for flake in stock.stock(home)] == ["oat"]
    stock.put(home, [white])
    assert [flake.name for flake in stock.stock(home)] == ["oat", "pale", "sky", "white"]


def test_the_invented_list_does_not_replace_one_that_cannot_be_read(home: Path) -> None:
    stock.put(home, [Stocked("oat", "#d8c8a0", grams=5)])
    connection = sqlite3.connect(home / database.FILE)
    connection.execute("UPDATE stock SET flake = 'name,glitter'")
    connection.commit()
    connection.close()
    app = opened(page=SHED)
    assert "Flake 'oat' cannot be read" in app.warning[0].value.replace("\\", "")
    assert "so these are invented" not in " ".join(text.value for text in app.markdown)


def test_the_guide_says_what_each_test_is_worth_and_where_that_is_from() -> None:
    """PP, 0.90 to 0.91 g/cm³, floats as HDPE does (densities as handbooks give them, from memory)."""
    (guide,) = [box for box in opened(page=SHED).expander if box.label.startswith("Is it HDPE?")]
    words = [text.value.replace("\\", "") for text in guide.markdown]
    sources = [text.value.replace("\\", "") for text in guide.caption]
    assert len(words) == len(sources) == 7
    (floating,) = [line for line in words if "Float a piece" in line]
    assert "PP, 0.90 to 0.91, and LDPE float as well" in floating
    assert all("from memory" in source or source == "Common practice" for source in sources)
    assert any("PVC never goes near a hot press" in line for line in words)
