import datetime
import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab import checks
from blendlab.checks import InputError

HUGE = 10**5000  # past what Python prints
NOT_NUMBERS = [
    "5",
    None,
    True,
    np.True_,
    [5],
    {},
    datetime.date(2000, 1, 1),
    1j,
    math.nan,
    math.inf,
    -math.inf,
]


def test_a_refusal_gives_rule_value_and_remedy() -> None:
    with pytest.raises(InputError) as caught:
        checks.refuse("drag must be a number from 0 to 1", 2, "choose 0 where the liners slip")
    assert str(caught.value) == "drag must be a number from 0 to 1, got 2; choose 0 where the liners slip"
    assert isinstance(caught.value, ValueError)


@pytest.mark.parametrize(
    ("value", "line"),
    [
        ("", "''"),
        ("two\nlines", r"'two\nlines'"),
        (True, "true"),
        (np.float64(0.5), "0.5"),
        (-3, "-3"),
        (None, "nothing"),
        (datetime.date(2000, 1, 2), "2000-01-02"),
        pytest.param(HUGE, "a whole number of more than 100 digits", id="huge"),
        (Path("two\nlines"), "two lines"),
        (ValueError("no\n  good"), "no good"),
        (checks.Raw("300 x\n20 mm"), "300 x 20 mm"),
    ],
)
def test_values_are_shown_on_one_line(value: object, line: str) -> None:
    assert checks.shown(value) == line


@pytest.mark.parametrize("said", ["x" * 70_000, "\x1b[2J", "two\nlines", "\u202egpj", "half \ud800", ""])
@pytest.mark.parametrize("unquoted", [ValueError, checks.Raw])
def test_unquoted_reasons_are_short_printable_and_on_one_line(said: str, unquoted: type) -> None:
    line = checks.shown(unquoted(said))
    assert line.isprintable()
    assert len(line) <= checks.MAX_REASON + 1
    with pytest.raises(InputError, match=r"^it must hold, got .*; remedy$"):
        checks.refuse("it must hold", unquoted(said), "remedy")


@given(st.text(max_size=400))
def test_whatever_was_typed_is_shown_short_printable_and_on_one_line(text: str) -> None:
    line = checks.shown(text)
    assert line.isprintable()
    assert len(line) <= checks.MAX_SHOWN + 1


@given(st.floats(0, 1) | st.integers(0, 1) | st.fractions(0, 1))
def test_numbers_within_limits_come_back_as_floats(value: float | Fraction) -> None:
    found = checks.number("drag", value, 0, 1, "…")
    assert type(found) is float
    assert found == float(value)


@given(st.floats().filter(lambda x: not 0 <= x <= 1) | st.integers(2) | st.integers(max_value=-1))
def test_numbers_out_of_limits_are_refused(value: float) -> None:
    with pytest.raises(InputError, match=r"^drag must be a number from 0 to 1, got .*; choose$"):
        checks.number("drag", value, 0, 1, "choose")


@pytest.mark.parametrize("value", NOT_NUMBERS)
def test_every_number_check_refuses_what_is_not_a_number(value: object) -> None:
    with pytest.raises(InputError):
        checks.number("n", value, -9, 9, "r")
    with pytest.raises(InputError):
        checks.positive("n", value, "r")
    with pytest.raises(InputError):
        checks.whole("n", value, -9, 9, "r")


@pytest.mark.parametrize("value", [0, -0.0, -1e-300])
def test_positive_means_above_zero(value: float) -> None:
    with pytest.raises(InputError, match="n must be a number above 0"):
        checks.positive("n", value, "r")
    assert checks.positive("n", 5e-324, "r") == 5e-324


@pytest.mark.parametrize("value", [17, -1, 5.0, 2.5, pytest.param(HUGE, id="huge")])
def test_whole_numbers_out_of_limits_or_with_a_point_are_refused(value: object) -> None:
    with pytest.raises(InputError, match="folds must be a whole number from 0 to 16"):
        checks.whole("folds", value, 0, 16, "r")


def test_whole_numbers_of_other_kinds_come_back_plain() -> None:
    found = checks.whole("seed", np.uint32(2**32 - 1), 0, 2**32 - 1, "r")
    assert type(found) is int
    assert found == 2**32 - 1


@pytest.mark.parametrize(
    "value",
    ["", "   ", "\t", "two\nlines", "null\0", "bell\x07", "half\ud800", "line\u2028", "x" * 61, 5, None],
)
def test_names_that_would_not_fit_a_label_are_refused(value: object) -> None:
    with pytest.raises(InputError, match=r"^flake name must"):
        checks.label("flake name", value)


@pytest.mark.parametrize("name", ['a "fine" one', "it's", "back\\slash", "青い", "👩\u200d🎨", "x" * 60, "#"])
def test_odd_names_are_names(name: str) -> None:
    assert checks.label("flake name", f" {name} ") == name


@pytest.mark.parametrize(
    "value", ["14409a", "#14409", "#14409a0", "#14409g", "#14409a\n", "#１２３４５６", "blue", "", 0x14409A]
)
def test_colours_not_written_rrggbb_are_refused(value: object) -> None:
    with pytest.raises(InputError, match="colour must be written #rrggbb"):
        checks.hex_colour("colour", value)


@pytest.mark.parametrize("value", ["roll", "", None, ["half"]])
def test_a_word_that_is_not_known_is_refused_with_those_that_are(value: object) -> None:
    with pytest.raises(InputError, match=r"choose half, thirds or twist$"):
        checks.one_of("move", value, ("half", "thirds", "twist"))


def test_missing_keys_are_all_named() -> None:
    with pytest.raises(InputError, match=r"got no a and no c; add a, c$"):
        checks.keys("it", {"b": 1}, "abc", "abc")
