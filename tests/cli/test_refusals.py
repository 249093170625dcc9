"""Bad input: one line on standard error, and no file written."""

import os
from pathlib import Path
from typing import NoReturn

import pytest

from blendlab.cli import look_commands
from blendlab.look import prepared_sheet, render

from .running import STRIP, Run


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


SWATCHES = Path(__file__).resolve().parents[2] / "swatches"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("[sheet]", "[sheet", "a recipe must be well-formed TOML"),
        ("grams = 20.0", "", "got no grams; add grams"),
        ("grams = 20.0", "grams = -20.0", "must be a number above 0, got -20.0; weigh the flakes"),
        ("folds = 3", "folds = 17", "folds must be a whole number from 0 to 16, got 17"),
        (STRIP, "", "got no name and no sheet and no flake"),
    ],
)
def test_a_recipe_that_cannot_be_pressed_is_refused(
    run: Run, strip: Path, old: str, new: str, says: str
) -> None:
    assert old in STRIP
    strip.write_text(STRIP.replace(old, new, 1))
    out = ("--out", strip.with_name("out.png"), "--json")
    for words in ("blend", strip), ("ladder", strip, *out), ("sheet", strip, "--folds", "2", *out):
        assert says in run(*words).refusal()
    assert names(strip.parent) == {"strip.toml"}


@pytest.mark.parametrize(
    ("place", "says"),
    [
        ("none.toml", "must be there to be read (no such file or directory), got"),
        (".", "(is a directory)"),
        ("strip.toml/inside", "(not a directory)"),
        ("nul\0.toml", "(embedded null byte)"),
        ("latin.toml", "must hold UTF-8 text"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused(run: Run, strip: Path, place: str, says: str) -> None:
    strip.with_name("latin.toml").write_bytes("name = 'blåbær'".encode("latin-1"))
    line = run("blend", f"{strip.parent}/{place}").refusal()
    assert says in line
    assert "; check the name and the folder" in line or "save it as UTF-8" in line


def test_a_file_without_read_permission_is_refused(
    run: Run, strip: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def locked(*_: object) -> NoReturn:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", locked)  # a mode of 000 would not stop root
    assert "(permission denied)" in run("blend", strip).refusal()


PLACES = ["folder.png", "none/a.png", "strip.toml/a.png", "nul\0.png", "link.png", "strip.toml", "plain", ""]


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("command", ["ladder", "sheet --folds 2"])
def test_a_path_that_cannot_be_written_is_refused_before_the_work(
    run: Run, strip: Path, monkeypatch: pytest.MonkeyPatch, place: str, command: str
) -> None:
    strip.with_name("folder.png").mkdir()
    strip.with_name("link.png").symlink_to(strip)
    monkeypatch.setattr(prepared_sheet, "prepare", lambda *_: pytest.fail("drew for nothing"))
    out = place and f"{strip.parent}/{place}"
    line = run(*command.split(), strip, "--out", out).refusal()
    assert "the place to write to must be" in line or "--out must name a PNG" in line
    assert names(strip.parent) == {"strip.toml", "folder.png", "link.png"}
    assert strip.read_text() == STRIP


def test_a_full_disk_leaves_the_older_result(run: Run, strip: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> NoReturn:
        raise OSError(28, "No space left on device")

    out = strip.with_name("sheet.png")
    out.write_bytes(b"older")
    monkeypatch.setattr(os, "fsync", full)
    ran = run("sheet", strip, "--folds", "0", "--samples", "1", "--out", out, "--json")
    assert "(no space left on device)" in ran.refusal()
    assert out.read_bytes() == b"older"
    assert names(strip.parent) == {"strip.toml", "sheet.png"}


@pytest.mark.parametrize(
    ("words", "says"),
    [
        *(
            (f"ladder R --folds {bad}", "--folds must be")
            for bad in ("10-0", "0-17", "17", "x", "3-", "1-2-3")
        ),
        ("ladder R --folds -1", "--folds"),
        ("ladder R --tries 21", "--tries"),
        ("ladder R --tries x", "--tries"),
        ("ladder R --look shiny", "--look"),
        *((f"sheet R --out P --folds {bad}", "--folds") for bad in ("17", "-1", "2.5", "", "9" * 5000)),
        *(
            (f"sheet R --out P --folds 2 --samples {bad}", "--samples")
            for bad in ("0", "5", "-4", "4097", "nan", "9" * 4000)
        ),
        *(
            (f"sheet R --out P --folds 2 --px-per-mm={bad}", "--px-per-mm must be a number from 0.1 to 40")
            for bad in ("nan", "inf", "-inf", "0", "41", "1e999")
        ),
        ("sheet R --out P --folds 2 --px-per-mm four", "--px-per-mm"),
        ("sheet R --out P --folds 2 --face inside", "--face"),
        ("sheet R --folds 2", "--out"),
        ("blend", "RECIPE"),
        ("blend R two\nlines", "unrecognized arguments: two lines"),
        ("blend R --shiny", "--shiny"),
        ("stir R", "stir"),
        ("", "a command must be given, such as blend; see blendlab --help"),
    ],
)
def test_a_senseless_argument_is_refused(run: Run, strip: Path, words: str, says: str) -> None:
    stands = {"R": strip, "P": strip.with_name("out.png")}
    given = [stands.get(word, word) for word in words.split(" ")] if words else []
    assert says in run(*given).refusal()
    assert names(strip.parent) == {"strip.toml"}


def test_a_picture_beyond_the_free_memory_is_refused_before_it_is_drawn(
    run: Run, strip: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(look_commands, "free_bytes", lambda: 0.25e9)
    monkeypatch.setattr(render, "render", lambda *_: pytest.fail("drew for nothing"))
    out = strip.with_name("a.png")
    line = run("sheet", strip, "--out", out).refusal()
    assert "needs some 400 MB of memory, of which 250 are free, got 320 x 80 pixels; " in line
    assert not out.exists()


def test_a_picture_of_too_many_pixels_is_refused(run: Run, strip: Path) -> None:
    strip.write_text(STRIP.replace("80.0", "1000").replace("20.0\nt", "1000\nt"))
    out = strip.with_name("a.png")
    line = run("sheet", strip, "--folds", "2", "--px-per-mm", "40", "--out", out).refusal()
    assert "at most 100,000,000 pixels, got 40,000 x 40,000 pixels; lower --px-per-mm" in line


def test_a_calibrated_match_without_a_calibration_is_refused(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BLENDLAB_HOME", str(tmp_path))
    photo, flakes = SWATCHES / "past-sheet.jpg", SWATCHES / "flakes.csv"
    ran = run("match", photo, "--flakes", flakes, "--size-mm", "200x200", "--calibrated")
    assert "--calibrated needs a press calibration, got nothing; learn it from the photos" in ran.refusal()
    assert names(tmp_path) == set()
