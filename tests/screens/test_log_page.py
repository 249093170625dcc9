"""The log page: finding, reading, amending and undoing sheets, and the whole of it as one file."""

import io
import sqlite3
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from streamlit.testing.v1 import AppTest

from blendlab.logbook import database, export, sheet_log, stock
from blendlab.logbook.sheet_log import LoggedSheet
from blendlab.recipe.flake_list import Stocked

from .opening import STRIP, click, in_address, on_hand, opened, pictures, said, sound

LOG = "blendlab/screens/pages/log.py"
SHED = (Stocked("chalk white", "#f2f0e8", grams=100.123), Stocked("harbour blue", "#1d4f8f", grams=50.001))
TAKEN = {"chalk white": 30.0005, "harbour blue": 10.0}
EVIL = "![a](http://a.invalid/a.png) <img src=x>"


def photo(grey: int = 128) -> bytes:
    file = io.BytesIO()
    Image.fromarray(np.full((90, 120, 3), grey, np.uint8)).save(file, "JPEG", quality=95)
    return file.getvalue()


def seeded(home: Path, **changes: object) -> LoggedSheet:
    """A stock, and one sheet that took from it."""
    stock.put(home, SHED)
    predicted = {"mean": {"srgb": "#808080"}, "cold_mm": [70.0, 20.0, 6.0], "cold_g": 40.0}
    sheet = LoggedSheet(date(2026, 3, 14), STRIP, ("0:00  Melt",), notes="calm", prediction=predicted)
    return sheet_log.record(home, replace(sheet, **changes), photo=photo(), take=TAKEN)  # type: ignore[arg-type]


def words(app: AppTest) -> str:
    html = " ".join(element.proto.body for element in app.get("html"))
    return " ".join([*(text.value for text in app.text), html])


def test_an_empty_log_says_what_to_do(home: Path) -> None:
    app = opened(page=LOG)
    assert any("On the Make page tap Pressed it" in box.value for box in app.markdown)
    assert "To the Make page" in [link.proto.label for link in app.get("page_link")]
    assert not home.exists()


def test_sheets_are_listed_latest_first_and_found_by_their_words(home: Path) -> None:
    seeded(home)
    seeded(home, pressed_on=date(2026, 4, 1), notes="lively", rating=5, recipe=replace(STRIP, name="Tray"))
    app = opened(page=LOG)
    assert list(pictures(app)) == ["Photo of Tray", f"Photo of {STRIP.name}"]
    assert "Tray\n2026-04-01 ★★★★★" in words(app)
    sound(app.text_input(key="log words").set_value("calm chalk").run())
    assert list(pictures(app)) == [f"Photo of {STRIP.name}"]
    app.text_input(key="log words").set_value("")
    sound(app.selectbox(key="log stars").set_value(4).run())
    assert list(pictures(app)) == ["Photo of Tray"]
    sound(app.text_input(key="log words").set_value("nowhere").run())
    assert "None of the 2 sheets matches." in words(app)


def test_a_sheet_is_compared_with_what_was_predicted(home: Path) -> None:
    seeded(home, length_mm=69.5, weight_g=41.25)
    app = click(opened(page=LOG), "Open")
    assert "-0.5 mm" in words(app)
    assert "+1.2 g" in words(app)
    # The photo is the predicted grey but for JPEG's rounding.
    assert "hard to tell apart" in words(app)


def test_what_the_maker_writes_is_kept(home: Path) -> None:
    uid = seeded(home).uid
    app = click(opened(page=LOG), "Open")
    app.button_group(key=f"stars {uid}").set_value(4)
    app.text_area(key=f"notes {uid}").set_value(EVIL)
    app.text_input(key=f"thickness_mm {uid}").set_value("5.9")
    app.file_uploader(key=f"photo {uid}").set_value(("new.jpg", photo(30), "image/jpeg"))
    click(app, "Save")
    kept = sheet_log.get(home, uid)
    assert (kept.rating, kept.notes, kept.thickness_mm) == (4, EVIL, 5.9)
    assert len(list((home / "photos").iterdir())) == 1
    assert app.success[0].value == r"Saved\."
    app.text_input(key=f"weight_g {uid}").set_value("2000000")
    click(app, "Save")
    (sentence,) = said(app)
    assert "the measured weight must be from 0 to 1000000 g, got 2000000; " in sentence
    assert sheet_log.get(home, uid) == kept


def test_a_file_that_is_no_photo_is_refused_and_nothing_changes(home: Path) -> None:
    before = seeded(home)
    app = click(opened(page=LOG), "Open")
    app.file_uploader(key=f"photo {before.uid}").set_value(("new.jpg", b"no photo", "image/jpeg"))
    click(app, "Save")
    (sentence,) = said(app)
    assert sentence.startswith("the photo must be a JPEG, PNG or WebP file, got ")
    assert sheet_log.get(home, before.uid) == before


def test_undo_takes_the_sheet_out_and_puts_its_flakes_back_to_the_milligram(home: Path) -> None:
    seeded(home)
    assert on_hand(home) != {flake.name: flake.grams for flake in SHED}
    app = click(opened(page=LOG), "Open")
    click(app, "Remove it")
    assert on_hand(home) == {flake.name: flake.grams for flake in SHED}
    assert not sheet_log.search(home)
    assert not list((home / "photos").iterdir())
    assert "is out of the log" in app.success[0].value


def test_a_recipe_goes_back_into_the_mix(home: Path) -> None:
    seeded(home, recipe=replace(STRIP, name="Tray"))
    app = click(opened(page=LOG), "Open")
    click(app, "Use its recipe")
    assert in_address(app) == replace(STRIP, name="Tray")


def test_names_full_of_markup_stay_text(home: Path) -> None:
    seeded(home, recipe=replace(STRIP, name=EVIL, flakes=(replace(STRIP.flakes[0], name=EVIL),)))
    app = click(opened(page=LOG), "Open")
    assert not any("<img" in element.proto.body for element in app.get("html"))
    assert "![a](" not in " ".join(box.value for box in [*app.markdown, *app.subheader, *app.caption])


def exported(home: Path) -> bytes:
    file = io.BytesIO()
    export.export_to(home, file)
    return file.getvalue()


def test_everything_goes_out_and_comes_back(home: Path, tmp_path: Path) -> None:
    sheet = seeded(home)
    app = click(opened(page=LOG), "Gather everything")
    assert any(box.proto.label.startswith("Save the ZIP") for box in app.get("download_button"))
    content = exported(home)
    home.rename(tmp_path / "away")
    app = opened(page=LOG)
    sound(app.file_uploader(key="log given").set_value(("log.zip", content, "application/zip")).run())
    click(app, "Add its contents")
    assert sheet_log.search(home) == (sheet,)
    assert stock.stock(home) == stock.stock(tmp_path / "away")
    assert app.success[0].value == r"1 sheet\, 2 flakes and 1 picture added\."


@pytest.mark.parametrize("kind", ["cut short", "altered", "another's", "no ZIP"])
def test_a_damaged_zip_is_refused_and_everything_stays(home: Path, kind: str) -> None:
    seeded(home)
    content = exported(home)
    spoilt = {
        "cut short": content[: len(content) // 2],
        "altered": content.replace(b"recipes/", b"recipez/"),
        "another's": b"PK\x05\x06" + bytes(18),
        "no ZIP": b"no ZIP at all",
    }[kind]
    seeded(home, recipe=replace(STRIP, name="Second"))
    before, stocked = sheet_log.search(home), stock.stock(home)
    app = opened(page=LOG)
    sound(app.file_uploader(key="log given").set_value(("log.zip", spoilt, "application/zip")).run())
    click(app, "Add its contents")
    (sentence,) = said(app)
    assert "nothing was imported" in sentence
    assert (sheet_log.search(home), stock.stock(home)) == (before, stocked)


def test_a_log_of_a_newer_version_is_shown_but_not_changed(home: Path) -> None:
    before = seeded(home)
    connection = sqlite3.connect(home / database.FILE)
    connection.execute(f"PRAGMA user_version = {database.VERSION + 1}")
    connection.close()
    app = click(opened(page=LOG), "Open")
    assert any("written by a newer blendlab" in warning.value for warning in app.warning)
    assert next(button for button in app.button if button.label == "Save").disabled
    assert sheet_log.get(home, before.uid) == before


def test_what_cannot_be_read_is_named_and_locks_nothing(home: Path) -> None:
    seeded(home, pressed_on=date(2026, 4, 1))
    seeded(home)
    connection = sqlite3.connect(home / database.FILE)
    connection.execute("UPDATE sheets SET prediction = '[]' WHERE pressed_on = '2026-04-01'")
    connection.execute("UPDATE stock SET flake = 'name,glitter' WHERE name = 'chalk white'")
    connection.commit()
    connection.close()
    app = opened(page=LOG)
    assert list(pictures(app)) == [f"Photo of {STRIP.name}"]
    first, second = (box.value.replace("\\", "") for box in app.warning)
    assert first.startswith(f"The sheet of 2026-04-01, '{STRIP.name}' cannot be read (a prediction must be ")
    assert second.startswith("Flake 'chalk white' cannot be read (")
    assert first.endswith("It is kept, and goes into the ZIP as it is.")
    click(app, "Gather everything")
    assert any(box.proto.label.startswith("Save the ZIP") for box in app.get("download_button"))
    shed = opened(page="blendlab/screens/pages/shed.py")
    assert any("Flake 'chalk white' cannot be read" in box.value.replace("\\", "") for box in shed.warning)
    assert any("harbour blue" in element.proto.body for element in shed.get("html"))


def test_more_pressed_than_weighed_in_is_reported_on_my_flakes(home: Path) -> None:
    sheet = seeded(home)
    content = exported(home)
    sheet_log.undo(home, sheet.uid)
    stock.put(home, [replace(SHED[0], grams=10.0)])
    app = opened(page=LOG)
    sound(app.file_uploader(key="log given").set_value(("log.zip", content, "application/zip")).run())
    click(app, "Add its contents")
    assert "More of chalk white was pressed than weighed in" in app.warning[0].value.replace("\\", "")
    shed = opened(page="blendlab/screens/pages/shed.py")
    assert "20.0 g more of chalk white were pressed than weighed in" in shed.warning[0].value.replace(
        "\\", ""
    )


@pytest.mark.parametrize("prediction", [{}, {"mean": 3}, {"mean": {"srgb": 7}, "cold_mm": 1, "cold_g": "x"}])
def test_a_prediction_of_any_age_stops_nothing(home: Path, prediction: dict[str, object]) -> None:
    seeded(home, prediction=prediction)
    app = click(opened(page=LOG), "Open")
    assert any(button.label == "Save" for button in app.button)


def test_a_missing_photo_is_reported_and_the_rest_is_shown(home: Path) -> None:
    seeded(home)
    for file in (home / "photos").iterdir():
        file.unlink()
    app = click(opened(page=LOG), "Open")
    assert any("must be in the folder photos" in caption.value for caption in app.caption)
    click(app, "Gather everything")
    assert said(app) == []
    warnings = [box.value.replace("\\", "") for box in app.warning]
    assert warnings[0].startswith("The photo of ")
    assert "is missing; it is not in the ZIP" in warnings[0]
    assert any(box.proto.label.startswith("Save the ZIP") for box in app.get("download_button"))
