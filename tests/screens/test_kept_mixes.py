"""Mixes kept under a name: on My flakes, and beside logged sheets on the page that compares."""

from dataclasses import replace
from datetime import date
from pathlib import Path

from streamlit.testing.v1 import AppTest

from blendlab.logbook import mixes, sheet_log

from .opening import COMPARE, STRIP, in_address, opened, said, sound

SHED = "blendlab/screens/pages/shed.py"


def names(home: Path) -> list[str]:
    return [kept.name for kept in mixes.every(home)[0]]


def click(app: AppTest, key: str) -> AppTest:
    return sound(app.button(key=key).click().run())


def test_a_mix_is_kept_renamed_removed_and_brought_back(home: Path) -> None:
    app = opened(page=SHED)
    app.text_input(key="keep as Drawer pull blank").set_value("winter tiles").run()
    app = click(app, "keep mix")
    assert mixes.every(home)[0] == (replace(STRIP, name="winter tiles"),)
    assert app.button(key="keep mix").label == "Replace the one kept"
    app.text_input(key="rename winter tiles").set_value("snow").run()
    app = click(app, "do rename winter tiles")
    assert names(home) == ["snow"]
    app = click(app, "remove mix snow")
    assert names(home) == []
    app = click(app, "undo mix")
    assert names(home) == ["snow"]
    app.text_input(key="rename snow").set_value(" ").run()
    app = click(app, "do rename snow")
    assert "must not be empty" in said(app)[0]


def test_a_kept_mix_is_opened_again_as_it_was(home: Path) -> None:
    kept = replace(STRIP.with_folding(folds=1), name="snow")
    mixes.keep(home, kept)
    app = click(opened(page=SHED), "open mix snow")
    assert in_address(app) == kept


def test_kept_mixes_and_logged_sheets_stand_side_by_side(home: Path) -> None:
    kept = replace(STRIP.with_folding(folds=1), name="snow")
    mixes.keep(home, kept)
    pressed = sheet_log.LoggedSheet(pressed_on=date(2025, 4, 5), recipe=STRIP, rating=4, notes="calm")
    for _ in range(2):
        sheet_log.record(home, pressed)
    app = opened(page=COMPARE)
    assert [name for name in app.selectbox(key="compare mix 0").options if ": " in name] == [
        "kept: snow",
        "logged: Drawer pull blank, 2025-04-05",
        "logged: Drawer pull blank, 2025-04-05 (2)",
    ]
    app.selectbox(key="compare mix 0").set_value("kept: snow")
    app.selectbox(key="compare mix 1").set_value("logged: Drawer pull blank, 2025-04-05 (2)")
    sound(app.run())
    tables = [element.proto.body for element in app.get("html") if "<table" in element.proto.body]
    assert "Pressings after the first melt</td>" in tables[0]
    assert "4 of 5" in tables[1]
    assert "calm" in [text.value for text in app.text]
    mixes.remove(home, "snow")
    assert sound(app.run()).selectbox(key="compare mix 0").value == "the present mix"
