"""Numbers, lists and ranges as they are typed."""

import copy
from pathlib import Path

import pytest

from blendlab import checks
from blendlab.checks import Typed
from blendlab.cli.arguments import joined

from .running import STRIP, Run

SMALL = ("--px-per-mm", "0.5", "--samples", "1")


@pytest.mark.parametrize(
    ("words", "same"),
    [
        ("--at-mm -5,3", "--at-mm=-5,3"),
        ("--corners -1,2,3,4", "--corners=-1,2,3,4"),
        ("--depth-mm -.5 --json", "--depth-mm=-.5 --json"),
        ("--px-per-mm -inf", "--px-per-mm=-inf"),
        ("--at-mm=-5,3 -4", "--at-mm=-5,3 -4"),
        ("-- -5.toml", "-- -5.toml"),
        ("--out --json", "--out --json"),
    ],
)
def test_a_value_that_begins_with_a_minus_sign_belongs_to_its_option(words: str, same: str) -> None:
    assert joined(words.split()) == same.split()


def test_a_cut_left_of_the_middle_may_follow_a_space(run: Run, strip: Path) -> None:
    cut = ("sheet", strip, "--folds", "1", "--face", "sawn", "--angle-deg", "90", *SMALL, "--json")
    pictures = []
    for n, at in enumerate((("--at-mm", "-15,0"), ("--at-mm=-15,0",), ("--at-mm", "15,0"))):
        out = strip.with_name(f"{n}.png")
        run(*cut, "--out", out, *at).only_object()
        pictures.append(out.read_bytes())
    assert pictures[0] == pictures[1] != pictures[2]


def test_negative_corners_reach_the_photo(run: Run, tmp_path: Path) -> None:
    flakes = tmp_path / "flakes.csv"
    flakes.write_text("name,srgb\nwhite,#ffffff\n")
    words = ("match", tmp_path / "none.jpg", "--flakes", flakes, "--size-mm", "9x9")
    for option in ("--corners", "--chart"):
        assert "the photo must be there" in run(*words, option, "-1,0,9,0,9,9,-1,9").refusal()
        assert f"{option} must be 8 numbers" in run(*words, option, "-1,0").refusal()


@pytest.mark.parametrize("text", ["60", "60.0", "6e1", "1_0", "nan", "1e999", "-3"])
def test_a_refused_number_is_repeated_as_typed(text: str) -> None:
    assert checks.shown(Typed(f" {text} ")) == text
    assert Typed(text) == pytest.approx(float(text), nan_ok=True)
    assert str(copy.deepcopy(Typed(text))) == text


def test_an_accepted_number_is_a_plain_one() -> None:
    assert type(checks.number("trim", Typed("5"), 0, 50, "cut off less")) is float


@pytest.mark.parametrize(
    ("folding", "folds"),
    [
        ("folds = 3", 3),
        ('moves = ["half", "turn", "edges-in"]', 2),
        ('moves = ["half", "turn", "edges-in"]\nfolds = 1', 1),
        ("", 5),  # the usual count of `Folding`
    ],
)
def test_sheet_folds_as_often_as_the_recipe_says(run: Run, strip: Path, folding: str, folds: int) -> None:
    text = STRIP.replace("width_mm = 20.0", "width_mm = 60.0")
    strip.write_text(text.replace("folds = 3", folding))
    out, named = strip.with_name("own.png"), strip.with_name("named.png")
    own = run("sheet", strip, *SMALL, "--out", out).words()
    assert own[-1].endswith(f"top after {folds} fold{'s' * (folds != 1)}")
    run("sheet", strip, *SMALL, "--out", named, "--folds", folds).words()
    assert out.read_bytes() == named.read_bytes()


def test_a_flake_named_twice_is_refused(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    flakes = tmp_path / "flakes.csv"
    flakes.write_text("name,srgb\nwhite,#ffffff\nblack,#000000\n")
    words = ("match", "a.jpg", "--flakes", flakes, "--size-mm", "9x9", "--only", "white, black,white")
    assert "each flake of --only must be named once, got 'white'; " in run(*words).refusal()


def test_a_list_too_long_to_match_names_the_option_for_it(run: Run, tmp_path: Path) -> None:
    flakes = tmp_path / "flakes.csv"
    flakes.write_text("name,srgb\n" + "".join(f"flake {n},#{n:06x}\n" for n in range(61)), "utf-8")
    photo = Path(__file__).parents[2] / "swatches" / "past-sheet.jpg"
    line = run("match", photo, "--flakes", flakes, "--size-mm", "200x200").refusal()
    assert f"a match must have at most 60 flakes to choose from, got 61 in {flakes}"[:90] in line
    assert line.endswith("; name those you would use with --only")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("sheet R --out P --depth-mm deep", "--depth-mm: a number must be given, got 'deep'; see blendlab"),
        ("sheet R --out P --folds 2.5", "--folds: a whole number must be given, got '2.5'; see blendlab"),
        ("ladder R --tries 21", "--tries must be a whole number from 0 to 20, got 21; "),
        ("sheet R --out P --px-per-mm 50.0", "--px-per-mm must be a number from 0.1 to 40, got 50.0; "),
    ],
)
def test_a_refusal_names_the_option_and_the_value(run: Run, strip: Path, words: str, says: str) -> None:
    stands = {"R": strip, "P": strip.with_name("out.png")}
    assert says in run(*(stands.get(word, word) for word in words.split())).refusal()
