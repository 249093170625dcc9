"""From the log back into the press: a sheet is cut up, tapped into a mix, drawn, pressed and logged."""

import re
from datetime import date
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from blendlab.logbook import sheet_log, stock
from blendlab.logbook.sheet_log import LoggedSheet
from blendlab.recipe.flake_list import Stocked
from blendlab.recipe.offcut import Offcut
from blendlab.recipe.recipe import to_toml

from .opening import STRIP, click, in_address, opened, pictures, said, sound
from .test_card_section import ordered

LOG, SHED = (f"blendlab/screens/pages/{name}.py" for name in ("log", "shed"))
PIECES = f"pieces of {STRIP.name}"


def cut_up(home: Path, **typed: str) -> AppTest:
    """The log page after its only sheet was cut up."""
    stock.put(home, [Stocked("chalk white", "#f2f0e8", grams=500.0)])
    logged = sheet_log.record(home, LoggedSheet(date(2026, 3, 14), STRIP, weight_g=38.5))
    app = click(opened(page=LOG), "Open")
    for field, text in typed.items():
        app.text_input(key=f"cut {field} {logged.uid}").set_value(text)
    return click(app, "Put them among my flakes")


def carded(app: AppTest) -> AppTest:
    """The page with its card, for a small finished size."""
    return ordered(sound(app.button(key="open card").click().run()))


def test_a_cut_up_sheet_goes_through_the_press_again(home: Path) -> None:
    app = cut_up(home, grams="35,5", side="12")
    assert [box.value.replace("\\", "") for box in app.success] == [
        f"{PIECES}, 35.5 g, are among your flakes."
    ]
    pieces = stock.stock(home)[1]
    assert (pieces.grams, pieces.size_mm) == (35.5, (12.0, 12.0, 6.0))
    shed = opened(page=SHED)
    assert any(
        PIECES in element.proto.body and "35.5 g" in element.proto.body for element in shed.get("html")
    )

    make = opened()
    before = pictures(make)
    click(make, PIECES)
    made = in_address(make).flakes[-1]
    assert (made.name, made.cut_from, made.size_mm) == (PIECES, Offcut(STRIP, 3), (12.0, 12.0, 6.0))
    assert pictures(make) != before
    make.text_input(key="grams3").set_value("5").run()
    app = carded(make)
    click(app, "Log it as pressed")
    latest = sheet_log.search(home)[0].recipe
    assert latest.flakes[-1].cut_from == Offcut(STRIP, 3)


def test_what_is_left_is_offered_to_a_tenth_of_a_gram_and_taken_exactly(home: Path) -> None:
    sheet = LoggedSheet(date(2026, 3, 14), STRIP, prediction={"cold_g": 165.3114})
    logged = sheet_log.record(home, sheet)
    app = click(opened(page=LOG), "Open")
    assert app.text_input(key=f"cut grams {logged.uid}").value == "165.3"
    click(app, "Put them among my flakes")
    assert stock.stock(home)[-1].grams == pytest.approx(165.3114, abs=0.001)


def test_pressing_takes_the_pieces_off_the_list(home: Path) -> None:
    cut_up(home, grams="400")
    mix = STRIP.with_flakes(
        flake.charged(grams) for flake, grams in zip(stock.stock(home), (20.0, 10.0), strict=True)
    )
    app = carded(opened(mix))
    click(app, "Log it as pressed")
    taken = [grams - flake.grams for flake, grams in zip(stock.stock(home), (500.0, 400.0), strict=True)]
    assert min(taken) > 1
    assert round(taken[0] / taken[1], 2) == 2.0


def test_what_cannot_be_cut_is_refused_and_the_list_stays(home: Path) -> None:
    app = cut_up(home, name="chalk white")
    assert said(app) == [
        "offcuts need a name of their own, got 'chalk white'; another flake has it: choose a new one. "
        "Nothing was changed."
    ]
    assert [flake.name for flake in stock.stock(home)] == ["chalk white"]


def test_a_recipe_file_that_names_another_one_says_what_to_do(home: Path) -> None:
    app = opened()
    text = re.sub('srgb = "#1d4f8f"', 'from = { recipe = "old.toml", folds = 2 }', to_toml(STRIP))
    sound(app.file_uploader(key="mixfile").set_value(("mix.toml", text.encode(), "text/plain")).run())
    (sentence,) = said(app)
    assert sentence.startswith(
        "a recipe read by itself must hold those of its offcuts, got 'old.toml'; write"
    )
    assert sentence.endswith("The present mix stays.")


def test_a_mix_with_pieces_says_what_they_are_instead_of_asking_for_measurements(home: Path) -> None:
    cut_up(home)
    mix = STRIP.with_flakes(flake.charged(10.0) for flake in stock.stock(home))
    app = opened(mix)
    assert app.color_picker(key="srgb2").disabled
