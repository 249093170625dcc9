"""The mix in the page's address: it comes back whole, and anything else there does no harm."""

import base64
import re
import tracemalloc
import zlib
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from streamlit.testing.v1 import AppTest

from blendlab.checks import InputError
from blendlab.recipe.measurements import Chip
from blendlab.recipe.recipe import Flake, Recipe, Sheet, to_toml
from blendlab.screens.parts import draft

from .opening import COMPARE, MAKE, STRIP, in_address, opened


def address(content: bytes) -> str:
    return base64.urlsafe_b64encode(zlib.compress(content)).decode()


FULL = Recipe(
    "青い " + "縞" * 57,
    Sheet(1000.0, 20.0, 1 / 3 + 1),
    tuple(
        Flake(f"{n}" + "ü" * 58, "#808080", 1 / (n + 3), 0.123456789, (0.2, 99.9, 1 / 3)) for n in range(12)
    ),
)
MEASURED = replace(
    STRIP,
    flakes=(
        replace(
            STRIP.flakes[0], hide_mm=None, chip=Chip(1.25, "#101010", "#f0f0f0"), source="own chip, March"
        ),
        replace(STRIP.flakes[1], spectrum=tuple((float(nm), nm / 800) for nm in range(380, 740, 10))),
    ),
)


@pytest.mark.parametrize("recipe", [draft.demo(), STRIP, FULL, MEASURED], ids=lambda recipe: recipe.name[:9])
def test_a_mix_comes_back_whole(recipe: Recipe) -> None:
    packed = draft._packed(recipe)
    assert re.fullmatch("[A-Za-z0-9_=-]+", packed)  # nothing an address would change on its way
    assert draft._unpacked(packed) == recipe


@pytest.mark.parametrize("recipe", [STRIP, MEASURED], ids=["strip", "measured"])
def test_opening_keeps_what_no_field_shows(recipe: Recipe) -> None:
    app = opened(recipe)
    assert in_address(app) == recipe
    assert app.session_state["recipe"] == recipe


HOSTILE: dict[str, Callable[[], str]] = {  # made where they are used: bombs take a while
    "nothing": lambda: "",
    "a word": lambda: "garbage",
    "characters": lambda: "%00%ff</script>",
    "letters of no code": lambda: "ü" * 8,
    "no zip": lambda: base64.urlsafe_b64encode(b"no zip at all").decode(),
    "very long": lambda: "A" * 4_000_000,
    "a bomb": cache(lambda: address(b"a" * 200_000_000)),
    "a bomb that starts well": cache(lambda: address(to_toml(STRIP).encode() + b"#" * 50_000_000)),
    "no text": lambda: address(b"\xff\xfe"),
    "no TOML": lambda: address(b"[sheet"),
    "no recipe": lambda: address(b"a = 1"),
    "another's key": lambda: address(to_toml(STRIP).replace("drag", "drop").encode()),
    "folds 17": lambda: address(to_toml(STRIP).replace("folds = 3", "folds = 17").encode()),
    "not a number": lambda: address(to_toml(STRIP).replace("30.0", "nan").encode()),
    "a nest": lambda: address(b"a = " + b"[" * 9000),
    "digits": lambda: address(b"a = " + b"9" * 9000),
}


@pytest.mark.parametrize("made", HOSTILE.values(), ids=HOSTILE)
def test_an_address_without_a_mix_is_refused_in_one_short_sentence(made: Callable[[], str]) -> None:
    text = made()
    tracemalloc.start()
    with pytest.raises(InputError) as caught:
        draft._unpacked(text)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    sentence = str(caught.value)
    assert sentence.isprintable()
    assert ", got " in sentence
    assert "; " in sentence
    assert len(sentence) < 400
    assert most < 2 * len(text) + 5_000_000  # a bomb is never unpacked


@given(st.integers(0, len(draft._packed(STRIP)) - 1))
def test_an_address_cut_short_is_refused(length: int) -> None:
    with pytest.raises(InputError, match="address must hold a mix"):
        draft._unpacked(draft._packed(STRIP)[:length])


@given(st.text(max_size=40) | st.binary(max_size=60).map(address))
def test_no_address_breaks_it(text: str) -> None:
    with pytest.raises(InputError):
        draft._unpacked(text)


def long_mix(app: AppTest) -> Recipe:
    """Put a mix of long spectra into a session, as measuring would."""
    noise = np.random.default_rng(5).random((2, 1201))
    waves = np.arange(300, 1501) / 1.0
    measured = (tuple(zip(waves.tolist(), values.tolist(), strict=True)) for values in noise)
    flakes = tuple(
        replace(flake, hide_mm=None, spectrum=spectrum)
        for flake, spectrum in zip(STRIP.flakes, measured, strict=True)
    )
    app.session_state["base"] = long = replace(STRIP, flakes=flakes)
    for row, flake in enumerate(long.flakes, start=1):
        app.session_state[f"flake{row}"] = flake
    app.run()
    assert not app.exception
    assert draft.ADDRESS not in app.query_params
    assert app.session_state["recipe"] == long
    return long


def test_a_mix_too_long_for_the_address_is_saved_all_the_same() -> None:
    app = opened(STRIP)
    long = long_mix(app)
    assert not app.warning
    assert opened(None).session_state["recipe"] == long


def test_a_mix_that_can_be_kept_nowhere_says_so(home: Path) -> None:
    home.write_text("a file in the folder's place")
    app = opened(STRIP)
    long_mix(app)
    (warning,) = app.warning
    assert "too long to survive a refresh" in warning.value


@pytest.mark.parametrize("page", [MAKE, COMPARE])
@pytest.mark.parametrize("kind", ["a word", "a bomb", "folds 17"])
def test_the_demo_opens_in_its_place_and_says_why(page: str, kind: str) -> None:
    app = opened(HOSTILE[kind](), page)
    (warning,) = app.warning
    assert warning.value.startswith(r"The demo mix is shown\: ")
    assert not app.error
    assert in_address(app) == draft.demo()
    app.run()
    assert not app.warning


def test_markup_in_a_refused_address_is_shown_as_text() -> None:
    evil = "![a](http://a.invalid/a.png)"
    twice = replace(STRIP, flakes=(replace(STRIP.flakes[0], name=evil), replace(STRIP.flakes[1], name="b")))
    app = opened(address(to_toml(twice).replace('"b"', f'"{evil}"').encode()))
    (warning,) = app.warning
    assert r"\!\[a\]\(http\:\/\/a\.invalid\/a\.png\)" in warning.value
