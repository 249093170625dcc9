"""The card on the Make page: what it says, what it refuses, the card, and logging with its undo."""

import io
import re
import sqlite3
import time
import wave
from dataclasses import replace
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from blendlab.logbook import database, drafts, sheet_log, stock
from blendlab.recipe.flake_list import Stocked
from blendlab.screens.parts import batch_fields, press_clock_view, session
from blendlab.screens.parts.number_fields import shown
from blendlab.workshop.batch_plan import Batch, plan
from blendlab.workshop.cautions import cautions
from blendlab.workshop.melt_flow import Stock
from blendlab.workshop.order import Order
from blendlab.workshop.predicted_sheet import predict
from blendlab.workshop.press_clock import press_clock
from blendlab.workshop.press_setup import PressSetup
from blendlab.workshop.wording import programme

from .opening import STRIP, click, in_address, on_hand, opened, pictures, said, sound

ORDER = Order(70.0, 20.0, 6.0, 2.0)
SHED = (
    Stocked("chalk white", "#f2f0e8", grams=100.123, piece_g=2.0),
    Stocked("harbour blue", "#1d4f8f", grams=1.5),
)


def planned(app: AppTest) -> Batch:
    found = app.session_state["batch"]
    assert isinstance(found, Batch)
    return found


def unfolded() -> AppTest:
    """The page with its card."""
    return sound(opened().button(key="open card").click().run())


def ordered(app: AppTest, order: Order = ORDER) -> AppTest:
    """The page with another finished size, small enough to be quick."""
    for name in ("length_mm", "width_mm", "thickness_mm"):  # whose fields stand on the first page
        app.session_state[name] = shown(getattr(order, name))
    app.text_input(key="press trim_mm").set_value(shown(order.trim_mm))
    return sound(app.run())


def tables(app: AppTest) -> str:
    """Words of all tables and figures, cells separated by bars."""
    bodies = " ".join(element.proto.body for element in app.get("html"))
    return re.sub(r"(\s*<[^>]*>\s*)+", "|", bodies)


def test_it_plans_the_usual_sheet_of_the_mix() -> None:
    app = unfolded()
    assert not app.error
    expected = plan(STRIP, planned(app).order, piece_g={"harbour blue": 1800.0})
    assert planned(app).recipe == expected.recipe
    assert planned(app).recipe.sheet == STRIP.sheet  # the very slab of the mix
    words = tables(app)
    for part in planned(app).portions:
        assert f"|{part.flake.name}|{part.load_g:.1f} g|" in words
    blue = next(part for part in planned(app).portions if part.flake.name == "harbour blue")
    assert f"|harbour blue|{blue.load_g:.1f} g|part of one piece|" in words  # of a crate
    for line in programme(expected):
        clock, _, step = line.partition("  ")
        assert f"|{clock}|{step}|" in words
    shown = " ".join(box.value for box in app.markdown)
    for caution in cautions():
        assert caution.title in re.sub(r"\\(.)", r"\1", shown)
    assert "Batch card of Drawer pull blank, as it prints on A4" in pictures(app)
    assert len(app.get("vega_lite_chart") or app.get("arrow_vega_lite_chart")) == 3
    assert any("Common practice" in caption.value for caption in app.caption)


def test_another_size_gives_another_batch_and_card() -> None:
    app = unfolded()
    before = pictures(app)
    ordered(app)
    assert planned(app).order == ORDER
    assert set(pictures(app).values()).isdisjoint(before.values())
    letter = sound(app.radio(key="paper").set_value("Letter").run())
    assert "Batch card of Drawer pull blank, as it prints on Letter" in pictures(letter)


@pytest.mark.parametrize(
    ("field", "bad", "says"),
    [
        ("length_mm", 0.0, "the finished length must be from 10 to 5000 mm, got 0; "),
        ("thickness_mm", 95.0, "the finished thickness must be from 1 to 90 mm, got 95; "),
        ("plate_c", 260.0, "where HDPE breaks down in air and fumes, got 260 °C; press near 180 °C"),
        ("plate_c", 120.0, "plates must be at 150 °C or more to melt HDPE through, got 120 °C; "),
        ("largest_load_g", 0.0, "largest load must be from 5 to 100000 g, got 0; "),
        ("tiles_long", 0, "tiles long must be from 1 to 20, got 0; "),
        ("release_c", 90.0, "release_c must be a number from 25 to 50, got 90.0; "),
    ],
)
def test_what_cannot_be_pressed_is_reported_and_the_last_batch_stays(
    field: str, bad: object, says: str
) -> None:
    app = ordered(unfolded())
    before, drawn = planned(app), pictures(app)
    if field in session.SIZE:
        app.session_state[field] = shown(bad)
    else:
        app.text_input(key=f"press {field}").set_value(shown(bad))
    sound(app.run())
    (sentence,) = said(app)
    assert says in sentence
    assert planned(app) is before or planned(app).order == before.order
    assert pictures(app) == drawn


def test_a_sheet_too_large_for_the_plates_is_offered_as_tiles() -> None:
    app = ordered(unfolded())
    for side in ("length", "width"):
        app.text_input(key=f"press plate_{side}_mm").set_value("60")
    sound(app.run())
    (sentence,) = said(app)
    assert "make it of 2 x 1 tiles of 35 x 20 mm" in sentence
    click(app, "Make it of 2 × 1 tiles, 35 × 20 mm each")
    assert not app.error
    assert planned(app).tiles == 2


def test_the_stock_says_what_is_short_and_offers_what_it_allows(home: Path) -> None:
    stock.put(home, SHED)
    app = ordered(unfolded())
    (warning,) = app.warning
    assert "short of " in warning.value
    assert planned(app).short_of.keys() == {"harbour blue"}
    click(app, "Use the mix my flakes allow")
    assert not app.warning
    assert planned(app).short_of == {}
    blue = next(part for part in planned(app).portions if part.flake.name == "harbour blue")
    assert blue.total_g == pytest.approx(1.5, abs=1e-6)
    assert in_address(app).flakes[1].grams == pytest.approx(1.5)


def test_logging_takes_the_grams_and_undo_gives_them_back_to_the_milligram(home: Path) -> None:
    stock.put(home, [SHED[0], Stocked("harbour blue", "#1d4f8f", grams=77.777)])
    before = on_hand(home)
    app = ordered(unfolded())
    click(app, "Log it as pressed")
    (sheet,) = sheet_log.search(home)
    assert sheet.recipe == planned(app).recipe
    assert sheet.programme == programme(planned(app))
    assert sheet.prediction["mean"]["srgb"].startswith("#")
    assert sheet.prediction["cold_mm"] == [70.0, 20.0, 6.0]
    assert sheet.prediction["cold_g"] == pytest.approx(planned(app).total_g.usual * 70 * 20 / (74 * 24))
    assert sheet.picture
    left = {part.flake.name: before[part.flake.name] - part.total_g for part in planned(app).portions}
    assert on_hand(home) == pytest.approx(left, abs=0.00051)
    (done,) = app.success
    assert "taken out of your flakes" in done.value
    set_version(home, database.VERSION + 1)
    sound(app.button(key="undo pressed").click().run())
    assert said(app)[0].endswith("The sheet stays in the log.")
    set_version(home, database.VERSION)
    sound(app.button(key="undo pressed").click().run())
    assert not sheet_log.search(home)
    assert on_hand(home) == before
    assert "g are back among your flakes" in app.success[0].value


def set_version(home: Path, version: int) -> None:
    connection = sqlite3.connect(home / database.FILE)
    connection.execute(f"PRAGMA user_version = {version}")
    connection.close()


def test_a_sheet_the_stock_does_not_cover_is_not_logged(home: Path) -> None:
    stock.put(home, SHED)
    app = ordered(unfolded())
    click(app, "Log it as pressed")
    (sentence,) = said(app)
    assert "the stock of 'harbour blue' must cover what is taken" in sentence
    assert sentence.endswith("Nothing was logged.")
    assert not sheet_log.search(home)
    assert on_hand(home) == {flake.name: flake.grams for flake in SHED}
    sound(app.checkbox(key="pressed take").uncheck().run())
    click(app, "Log it as pressed")
    assert len(sheet_log.search(home)) == 1


def test_the_press_is_remembered_by_the_next_session_but_not_by_one_beside_it(home: Path) -> None:
    first, beside = unfolded(), unfolded()
    sound(first.text_input(key="press plate_c").set_value("190").run())
    sound(beside.text_input(key="press board_mm").set_value("12").run())
    assert planned(first).press == PressSetup(plate_c=190.0)
    assert planned(sound(first.run())).press == PressSetup(plate_c=190.0)
    assert planned(unfolded()).press == PressSetup(board_mm=12.0)


def test_saved_fields_of_another_kind_are_left_alone(home: Path) -> None:
    texts = ["no JSON", "[1]", '{"plate_c": "hot"}', '{"plate_c": 900}', '{"liner": "tin"}', "[" * 100_000]
    texts += [f'{{"tiles_long": {number}}}' for number in ("Infinity", "1e400", "9" * 400, "[1]")]
    for text in texts:
        drafts.save(home, batch_fields.PAGE, text)
        assert planned(unfolded()).press == PressSetup()


def words(app: AppTest) -> str:
    return re.sub(r"\\(.)", r"\1", " ".join(box.value for box in (*app.markdown, *app.caption)))


def test_naming_what_holds_the_press_shut_shows_how_long_it_takes_to_close() -> None:
    app = ordered(unfolded())
    assert planned(app).closing is None
    assert "Say above what holds the press shut" in words(app)
    sound(app.selectbox(key="press closing").set_value("hands").run())
    assert "Own hands and weight on a lid: 300 N (150 to 600)" in words(app)
    assert "A jack can burst a plate" in words(app)
    app.text_input(key="press force_n").set_value("1200,5")
    sound(app.selectbox(key="press stock").set_value("bottle").run())
    assert planned(app).closing is not None
    assert planned(app).closing.closing.force.usual == 1200.5
    assert planned(app).stock == Stock("bottle")
    assert planned(sound(unfolded())).stock == Stock("bottle")  # the next session remembers


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("force_n", "0", "force of your own must be from 1 to 1000000 N, got 0; "),
        ("melt_index", "0", "melt index must be from 0.01 to 100 g/10 min, got 0; "),
        ("sheets", "1", "sheets to a block must be from 2 to 50, got 1; "),
        ("sheets", "2,5", "sheets to a block must be a whole number, got 2,5; "),
    ],
)
def test_fields_that_may_stay_empty_are_refused_in_words(field: str, typed: str, says: str) -> None:
    app = ordered(unfolded())
    sound(app.text_input(key=f"press {field}").set_value(typed).run())
    (sentence,) = said(app)
    assert says in sentence


def test_a_block_of_such_sheets_takes_hours_and_the_page_says_it_ages_too_long() -> None:
    app = ordered(unfolded())
    assert "fused to a block" not in words(app)
    sound(app.text_input(key="press sheets").set_value("7").run())
    assert "7 sheets fused to a block of 42 mm: " in words(app)
    assert re.search(r"no block thicker than [\d to]+ mm melts through within that time", words(app))
    sound(app.text_input(key="press sheets").set_value("20").run())
    (sentence,) = said(app)
    assert "the press must bring the whole load above 135 °C, got " in sentence
    assert "fused to a block" not in words(app)


def test_the_page_says_what_ages_and_draws_what_bows() -> None:
    app = ordered(unfolded())
    assert "min at 200 °C, where recycled bottles lasted 9 to 39 min in pure oxygen." in words(app)
    assert "Never clamped: " in words(app)


def test_the_clock_runs_the_steps_and_what_happened_is_logged(home: Path) -> None:
    app = ordered(unfolded())
    first, second, *_ = press_clock(planned(app)).steps
    assert f"Next: {first.text}" in words(app)
    click(app, "Start")
    assert first.text in words(app)
    assert f"Next: {second.text}" in words(app)
    assert any('class="digits"' in element.proto.body for element in app.get("html"))
    later = ordered(opened())  # a phone that was asleep, or a page that was reloaded
    assert f"Next: {second.text}" in words(later)
    click(later, "Next step")
    click(later, "Log it as pressed")
    (sheet,) = sheet_log.search(home)
    (line,) = sheet.programme  # of the step that has ended
    assert line.startswith(f"0:00  {first.text}; took ")
    assert f"Next: {first.text}" in words(later)  # put away


def test_the_clock_goes_a_step_back_and_is_put_away(home: Path) -> None:
    app = click(ordered(unfolded()), "Start")
    click(app, "One step back")
    assert "Not started." in words(app)
    click(click(app, "Start"), "Put the clock away")
    assert "Not started." in words(app)
    click(app, "Log it as pressed")
    (sheet,) = sheet_log.search(home)
    assert sheet.programme == programme(planned(app))


def test_a_kept_clock_of_another_kind_is_left_alone(home: Path) -> None:
    for text in ("no JSON", '{"steps": [["a", 1]], "began_s": [2, 1]}', "[" * 100_000):
        drafts.save(home, press_clock_view.PAGE, text)
        assert "Not started." in words(unfolded())


def test_a_step_that_is_over_says_so_and_rings(home: Path) -> None:
    app = ordered(unfolded())
    first_s = press_clock(planned(app)).steps[0].seconds
    clock = press_clock(planned(app)).advanced(time.time() - first_s - 900)  # a phone that slept
    drafts.save(home, press_clock_view.PAGE, clock.to_text())
    late = ordered(opened())
    assert any(" over</div>" in element.proto.body for element in late.get("html"))
    assert late.get("audio")
    with wave.open(io.BytesIO(press_clock_view._beep())) as beep:
        assert beep.getnframes() / beep.getframerate() == 1


def test_what_really_happened_is_logged_instead_of_the_plan(home: Path) -> None:
    stock.put(home, [SHED[0], Stocked("harbour blue", "#1d4f8f", grams=77.777)])
    app = ordered(unfolded())
    batch = planned(app)
    fields = {field.label: field for field in app.text_input}
    fields["Folds"].set_value("5")
    fields["harbour blue, g"].set_value("3,5")
    sound(app.run())
    click(app, "Log it as pressed")
    (sheet,) = sheet_log.search(home)
    assert sheet.recipe.folding == replace(batch.recipe.folding, folds=5)
    assert [flake.grams for flake in sheet.recipe.flakes] == [batch.portions[0].total_g, 3.5]
    assert sum("fold" in line for line in sheet.programme) == 5
    assert on_hand(home)["harbour blue"] == pytest.approx(77.777 - 3.5)
    assert sheet.prediction["mean"] == predict(sheet.recipe).as_json()["mean"]


def test_a_flake_under_another_name_is_matched_by_hand_and_never_counts_as_0_g(home: Path) -> None:
    stock.put(home, [SHED[0], Stocked("bottle-crate blue", "#1d4f8f", grams=500)])
    app = unfolded()
    assert not planned(app).short_of
    words = " ".join(box.value.replace("\\", "") for box in app.info)
    assert "Not on your list under this name: harbour blue." in words
    assert app.checkbox(key="pressed take").disabled
    app = sound(app.selectbox(key="listed as harbour blue").set_value("bottle-crate blue").run())
    assert [flake.name for flake in in_address(app).flakes] == ["chalk white", "bottle-crate blue"]
    assert not app.checkbox(key="pressed take").disabled
