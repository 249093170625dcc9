"""What a session changed is there for the next one, and never reaches into one that is open."""

from dataclasses import replace
from pathlib import Path

import pytest

from blendlab.logbook import drafts
from blendlab.recipe.recipe import to_toml
from blendlab.screens.parts import draft

from .opening import COMPARE, STRIP, in_address, opened, sound


def more_blue(grams: float):  # type: ignore[no-untyped-def]
    return replace(STRIP, flakes=(STRIP.flakes[0], replace(STRIP.flakes[1], grams=grams)))


def test_a_session_without_an_address_goes_on_where_the_last_one_stood() -> None:
    app = opened()
    sound(app.text_input(key="grams2").set_value("25").run())
    assert in_address(opened(None)) == more_blue(25.0)
    assert in_address(opened(None, COMPARE)) == more_blue(25.0)


def test_the_address_comes_before_what_was_saved(home: Path) -> None:
    drafts.save(home, draft.PAGE, to_toml(more_blue(33.0)))
    assert in_address(opened()) == STRIP
    assert drafts.load(home, draft.PAGE) == to_toml(more_blue(33.0))  # looking changes nothing


def test_sessions_side_by_side_keep_their_own_fields(home: Path) -> None:
    first, second = opened(), opened()
    sound(first.text_input(key="grams2").set_value("21").run())
    sound(second.text_input(key="grams2").set_value("22").run())
    assert in_address(sound(first.run())) == more_blue(21.0)
    assert in_address(second) == more_blue(22.0)
    assert in_address(opened(None)) == more_blue(22.0)  # of the one changed last


def test_only_looking_saves_nothing(home: Path) -> None:
    app = opened(None)
    sound(app.run())
    sound(app.switch_page(COMPARE).run())
    assert drafts.load(home, draft.PAGE) is None


def test_what_cannot_be_pressed_is_not_saved(home: Path) -> None:
    app = opened()
    sound(app.text_input(key="grams2").set_value("25").run())
    sound(app.text_input(key="grams2").set_value("0").run())
    assert drafts.load(home, draft.PAGE) == to_toml(more_blue(25.0))


@pytest.mark.parametrize("text", ["no TOML [", "a = 1", ""])
def test_a_saved_mix_that_cannot_be_read_gives_way_to_the_demo(home: Path, text: str) -> None:
    drafts.save(home, draft.PAGE, text)
    app = opened(None)
    assert in_address(app) == draft.demo()
    assert not app.error


def test_a_bad_address_gives_way_to_what_was_saved(home: Path) -> None:
    drafts.save(home, draft.PAGE, to_toml(more_blue(33.0)))
    app = opened("garbage")
    assert in_address(app) == more_blue(33.0)
    (warning,) = app.warning
    assert warning.value.startswith(r"The last mix is shown\: ")


@pytest.mark.parametrize("kind", ["a file", "another program's"])
def test_a_folder_that_cannot_be_used_stops_no_page(home: Path, kind: str) -> None:
    if kind == "a file":
        home.write_text("in the folder's place")
    else:
        home.mkdir()
        (home / "log.sqlite3").write_text("no database at all" * 100)
    app = opened()
    sound(app.text_input(key="grams2").set_value("25").run())
    assert in_address(app) == more_blue(25.0)
