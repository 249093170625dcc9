"""The shed page: the maker's own flakes, and what is said where they cannot be kept."""

import sqlite3
from pathlib import Path

from streamlit.testing.v1 import AppTest

from blendlab.logbook import database, stock
from blendlab.recipe.flake_list import Stocked

from .opening import opened, said, sound

SHED = "blendlab/screens/pages/shed.py"
LIST = b"name,srgb,grams\nchalk white,#f2f0e8,100\nharbour blue,#1d4f8f,50\n"


def click(app: AppTest, label: str) -> AppTest:
    return sound(next(button for button in app.button if button.label == label).click().run())


def with_list(content: bytes) -> AppTest:
    app = opened(page=SHED)
    return sound(app.file_uploader(key="list").set_value(("flakes.csv", content, "text/csv")).run())


def test_a_list_of_the_makers_own_takes_the_invented_ones_place(home: Path) -> None:
    click(with_list(LIST), "Put them in the shed")
    assert [(flake.name, flake.grams) for flake in stock.stock(home)] == [
        ("chalk white", 100),
        ("harbour blue", 50),
    ]
    app = opened(page=SHED)
    app.number_input[0].set_value(-30.0).run()
    click(app, "Book it")
    assert stock.stock(home)[0].grams == 70
    click(app, "Remove from the list")
    assert [flake.name for flake in stock.stock(home)] == ["harbour blue"]


def test_a_list_that_cannot_be_kept_is_refused_in_a_sentence(home: Path) -> None:
    stock.put(home, [Stocked("oat", "#d8c8a0", grams=5)])
    app = with_list(LIST)
    connection = sqlite3.connect(home / database.FILE)
    connection.execute(f"PRAGMA user_version = {database.VERSION + 1}")
    connection.close()
    click(app, "Put them in the shed")
    (sentence,) = said(app)
    assert "written by a newer blendlab" in sentence
    assert sentence.endswith("Nothing was changed.")
    assert [flake.name for flake in stock.stock(home)] == ["oat"]


def test_the_invented_list_does_not_replace_one_that_cannot_be_read(home: Path) -> None:
    stock.put(home, [Stocked("oat", "#d8c8a0", grams=5)])
    connection = sqlite3.connect(home / database.FILE)
    connection.execute("UPDATE stock SET flake = 'name,glitter'")
    connection.commit()
    connection.close()
    app = opened(page=SHED)
    assert "Flake 'oat' cannot be read" in app.warning[0].value.replace("\\", "")
    assert "These flakes are invented" not in " ".join(text.value for text in app.markdown)
