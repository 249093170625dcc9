"""The calibration of a press, from synthetic presses whose values are known."""

from dataclasses import replace

import numpy as np
import pytest

from blendlab.checks import InputError
from blendlab.logbook import calibration_data
from blendlab.photo import press_calibration
from blendlab.photo.press_calibration import (
    PhotographedSheet,
    PressCalibration,
    calibrate,
    log_likelihood,
    uncalibrated,
)
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet, from_toml, to_toml
from blendlab.tables.ranges import Range

FLAKES = (Flake("white", "#f2f0e8", 30.0), Flake("blue", "#1d4f8f", 20.0), Flake("marigold", "#f0ac2b", 15.0))
SIDE, COUNTS = 38, (3, 5)
# One and a half standard deviations of the prior to either side, as far as 0 allows:
# drag, unevenness, logarithm of the reach factor.
PRESSES = {"sticky and rough": (0.87, 0.6, 0.5), "slippery and even": (0.13, 0.05, -0.5)}


def bell(drag, unevenness, log_reach, width=0.08):
    """A Gaussian log likelihood, as of a very clear photo."""
    deviation = (press_calibration._grid() - [drag, unevenness, log_reach]) / width
    return -0.5 * (deviation**2).sum(axis=1)


def test_clear_photos_set_the_values_and_none_leave_the_prior():
    found = calibrate([bell(0.2, 0.6, 0.4)] * 6)
    assert found.drag.usual == pytest.approx(0.2, abs=0.03)
    assert found.unevenness.usual == pytest.approx(0.6, abs=0.03)
    assert found.reach_factor.usual == pytest.approx(np.exp(0.4), rel=0.05)
    nothing = calibrate([np.zeros(len(press_calibration._grid()))])
    assert nothing.drag.usual == pytest.approx(0.5, abs=0.01)
    # The band of the prior: 1.645 standard deviations to either side (normal table).
    assert nothing.drag.high == pytest.approx(0.5 + 1.645 * press_calibration.PRIOR_SPREAD[0], abs=0.05)
    assert nothing.likelier == 1.0


def test_more_photos_narrow_the_band_and_vague_ones_hardly_move_it():
    widths = [calibrate([bell(0.3, 0.5, 0.2, 0.4)] * count).unevenness for count in (1, 4, 16)]
    assert widths[0].high - widths[0].low > widths[1].high - widths[1].low > widths[2].high - widths[2].low
    vague = calibrate([bell(0.9, 0.9, 0.9, 3.0)])
    assert abs(vague.drag.usual - 0.5) < 0.05


def test_the_band_of_drag_is_widened_but_never_beyond_the_priors(monkeypatch):
    def widths(likelihood):
        found = calibrate([likelihood])
        return found.drag.high - found.drag.low, found.unevenness.high - found.unevenness.low

    clear, nothing = bell(0.5, 0.3, 0.0, 0.1), np.zeros(len(press_calibration._grid()))
    wide, prior = widths(clear), widths(nothing)
    monkeypatch.setattr(press_calibration, "WIDENING", (1.0, 1.0, 1.0))
    assert wide[0] == pytest.approx(1.35 * widths(clear)[0])
    assert wide[1] == widths(clear)[1]
    assert prior == widths(nothing)


def test_photos_of_one_press_support_the_calibration_and_of_several_do_not():
    one = calibrate([bell(0.2, 0.6, 0.4)] * 3)
    assert one.likelier > 10
    many = calibrate([bell(0.1, 0.1, -0.8), bell(0.9, 0.9, 0.8), bell(0.5, 0.3, 0.0)])
    assert many.likelier < one.likelier


def test_a_calibration_is_applied_to_a_recipe_and_taken_off():
    recipe = Recipe("tile", Sheet(), FLAKES, Folding(folds=4, seed=3))
    calibration = PressCalibration(Range(0.1, 0.2, 0.3), Range(0.5, 0.6, 0.7), Range(1.1, 1.5, 2.0), 5, 2.0)
    applied = calibration.applied_to(recipe)
    assert (applied.folding.drag, applied.folding.unevenness, applied.reach_factor) == (0.2, 0.6, 1.5)
    assert uncalibrated(applied) == recipe
    assert from_toml(to_toml(applied)) == applied
    with pytest.raises(InputError, match=r"reach_factor must be a number from 0\.2 to 5, got 9; "):
        replace(recipe, reach_factor=9)


def sheet_of(folds):
    recipe = Recipe("tile", Sheet(SIDE, SIDE, 6.0), FLAKES, Folding(folds=folds))
    return PhotographedSheet(recipe, np.zeros(1), (SIDE, SIDE), 1.0, 0.3)


def photo_of(folds, values, rng):
    """A simulated photo of a sheet from a press of known values."""
    drag, unevenness, log_reach = values
    seen = sheet_of(folds)
    recipe = replace(seen.recipe, reach_factor=float(np.exp(log_reach)))
    prepared = press_calibration.replicate(recipe.with_folding(drag=drag, unevenness=unevenness), rng)
    return replace(
        seen, described=press_calibration.describe_face(press_calibration.photographed(prepared, seen))
    )


@pytest.fixture(scope="module")
def few_trials():
    """Trials of one recipe at two fold counts, run once because they are slow."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(press_calibration, "TRIALS", 64)
        known = {folds: press_calibration.trials(sheet_of(folds)) for folds in COUNTS}
        patch.setattr(press_calibration, "trials", lambda seen, on_progress: known[seen.recipe.folding.folds])
        yield


@pytest.mark.usefixtures("few_trials")
def test_presses_that_differ_are_distinguished_and_within_their_bands():
    rng = np.random.default_rng(4)
    rough, even = (
        calibrate([log_likelihood(photo_of(folds, values, rng)) for folds in COUNTS * 3])
        for values in PRESSES.values()
    )
    assert rough.unevenness.low > even.unevenness.usual
    assert rough.unevenness.usual > even.unevenness.high
    assert rough.reach_factor.usual > even.reach_factor.usual
    within = [
        band.low <= truth <= band.high
        for found, (drag, unevenness, log_reach) in zip((rough, even), PRESSES.values(), strict=True)
        for band, truth in zip(
            (found.drag, found.unevenness, found.reach_factor),
            (drag, unevenness, float(np.exp(log_reach))),
            strict=True,
        )
    ]
    # calibration_proof.py measures 95 in 100: of six such bands four or more hold 99 times in 100.
    assert sum(within) >= 4
    assert rough.likelier > 1
    assert even.likelier > 1


def test_a_sheet_without_a_size_cannot_calibrate(sheet):
    for prediction in ({}, {"cold_mm": 3}, {"cold_mm": [1]}, {"cold_mm": ["a", "b"]}, {"cold_mm": [0, 5]}):
        bare = replace(sheet, photo=f"{0:064}.jpg", length_mm=None, prediction=prediction)
        assert not calibration_data.can_calibrate(bare)
        with pytest.raises(InputError, match="measure its length and width"):
            calibration_data.read_sheet_photo(bare, np.zeros((90, 90, 3), np.uint8))
    planned = replace(
        sheet, photo=f"{0:064}.jpg", length_mm=None, prediction={"cold_mm": [200.0, 100.0, 6.0]}
    )
    assert calibration_data.can_calibrate(planned)
    assert calibration_data.cold_size_mm(planned) == (200.0, 100.0)
    assert not calibration_data.can_calibrate(replace(planned, photo=None))


def test_a_photo_cropped_to_the_sheet_is_read_whole(sheet):
    stripes = np.tile(
        np.repeat(np.array([[240, 240, 230], [30, 80, 150]], np.uint8), 8, axis=0), (200, 16, 1)
    )
    planned = replace(sheet, photo=f"{0:064}.jpg", length_mm=200.0, width_mm=156.25)
    seen = calibration_data.read_sheet_photo(planned, stripes)
    assert seen.recipe == sheet.recipe
    assert seen.described.shape == press_calibration.describe_face(np.ones((64, 80, 3), np.float32)).shape
    # Cold sheets are smaller than hot ones, so there are fewer pixels to a mm of the hot one.
    assert 1 / 1.3 < seen.px_per_mm / (seen.shape[1] / 200.0) < 1.0
