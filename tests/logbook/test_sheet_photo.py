"""A logged sheet's photo: straightened, its light corrected, and refused where it cannot be of that sheet."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from blendlab.checks import InputError
from blendlab.colour.difference import delta_e00
from blendlab.colour.means import area_mean
from blendlab.io.photo_files import photo_from_bytes
from blendlab.logbook.comparison import compare, middle_mean
from blendlab.logbook.sheet_log import LoggedSheet
from blendlab.logbook.sheet_photo import check_likeness, mean_of, sheet_face
from blendlab.recipe.recipe import Flake, from_toml

SWATCHES = Path(__file__).parents[2] / "swatches"
EXAMPLE = photo_from_bytes((SWATCHES / "past-sheet.jpg").read_bytes(), "past-sheet.jpg")
RECIPE = from_toml((SWATCHES / "harbour.toml").read_text("utf-8"))
SHEET = LoggedSheet(date(2026, 3, 14), RECIPE, length_mm=60.0, width_mm=60.0)


def plain(srgb: tuple[int, int, int]) -> np.ndarray:
    return np.full((90, 90, 3), srgb, np.uint8)


def test_the_bench_and_its_light_are_taken_out_of_the_example() -> None:
    """It shows the demo's flakes, on a dark bench, in a warm light and underexposed."""
    as_seen = middle_mean(EXAMPLE)
    straightened = mean_of(sheet_face(SHEET, EXAMPLE))
    expected = area_mean(RECIPE).lab
    assert delta_e00(straightened.lab, expected) < 12 < delta_e00(as_seen.lab, expected)
    assert compare(SHEET, EXAMPLE)[0].measured == straightened.srgb


def test_a_sheet_of_unknown_size_is_compared_as_the_camera_saw_it_and_says_so() -> None:
    line = compare(replace(SHEET, length_mm=None), EXAMPLE)[0]
    assert line.what == "mean colour, in the room's light"
    assert line.measured == middle_mean(EXAMPLE).srgb


@pytest.mark.parametrize("grey", [60, 128, 190])
def test_a_photo_without_paper_may_be_too_dark_or_too_bright(grey: int) -> None:
    sheet = replace(SHEET, prediction={"mean": {"srgb": "#808080"}})
    check_likeness(sheet, sheet_face(sheet, plain((grey, grey, grey))))


def test_a_photo_of_another_colour_cannot_calibrate_and_the_distance_is_reported() -> None:
    sheet = replace(SHEET, prediction={"mean": {"srgb": "#1d4f8f"}})
    with pytest.raises(
        InputError, match=r"within 15 ΔE00 of its sheet's predicted colour, got \d+ ΔE00; check"
    ):
        check_likeness(sheet, sheet_face(sheet, plain((200, 40, 40))))


def test_without_a_prediction_a_photo_must_be_like_the_mix_unmixed_or_mixed() -> None:
    blue = replace(RECIPE, flakes=(Flake("a", "#1d4f8f", 5.0), Flake("b", "#16284f", 5.0)))
    sheet = replace(SHEET, recipe=blue)
    check_likeness(sheet, sheet_face(sheet, plain((25, 60, 110))))
    with pytest.raises(InputError, match="of its sheet's predicted colour"):
        check_likeness(sheet, sheet_face(sheet, plain((230, 220, 60))))
