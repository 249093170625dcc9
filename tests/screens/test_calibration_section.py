"""Press calibration on the log page: learnt, shown with its uncertainty, switched on, off and back."""

import json
from dataclasses import asdict, replace
from pathlib import Path

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

from blendlab.logbook import drafts, sheet_log
from blendlab.photo.press_calibration import PhotographedSheet, PressCalibration
from blendlab.photo.press_calibration import _grid as grid
from blendlab.runtime.progress import ProgressCallback
from blendlab.screens.parts import calibration
from blendlab.tables.ranges import Range

from .opening import STRIP, in_address, opened, sound
from .test_log_page import LOG, click, photo, seeded, words

LEARNT = PressCalibration(Range(0.1, 0.2, 0.3), Range(0.5, 0.65, 0.8), Range(1.2, 1.5, 1.9), 5, 3.04)


def on_progress(app: AppTest) -> str:
    return " ".join(caption.value for caption in app.caption)


def switched(mix: object, drag: float, unevenness: float, reach: float) -> object:
    worked = STRIP.with_folding(drag=drag, unevenness=unevenness)
    return mix == replace(worked, reach_factor=reach)


@pytest.fixture
def learnt(home: Path) -> None:
    seeded(home)
    drafts.save(home, calibration.PAGE, json.dumps(asdict(LEARNT)))


@pytest.mark.usefixtures("learnt")
def test_it_is_shown_with_its_range_and_how_much_better_it_predicts() -> None:
    app = opened(page=LOG)
    for word in ("0.65", "0.50 to 0.80", "1.50", "1.20 to 1.90"):
        assert word in words(app)
    assert "A photo is 3 times as likely with it as with a usual press" in on_progress(app)


@pytest.mark.usefixtures("learnt")
def test_it_is_switched_on_off_and_back() -> None:
    app = opened(page=LOG)
    click(app, "Use my press")
    assert switched(in_address(app), 0.2, 0.65, 1.5)
    click(app, "Back to what was set")
    assert in_address(app) == STRIP
    click(app, "Use my press")
    click(app, "Use a usual press")
    assert switched(in_address(app), 0.5, 0.3, 1.0)


@pytest.mark.usefixtures("learnt")
def test_it_is_forgotten(home: Path) -> None:
    app = click(opened(page=LOG), "Forget it")
    assert drafts.load(home, calibration.PAGE) is None
    assert not any(button.label == "Use my press" for button in app.button)


def test_one_that_predicts_worse_says_so(home: Path) -> None:
    seeded(home)
    drafts.save(home, calibration.PAGE, json.dumps(asdict(replace(LEARNT, likelier=0.8))))
    assert "leave it off" in on_progress(opened(page=LOG))


@pytest.mark.parametrize("text", ["no JSON", "[]", "[1]", '{"drag": 3}', "{}"])
def test_what_another_version_learnt_is_left_alone(home: Path, text: str) -> None:
    seeded(home)
    drafts.save(home, calibration.PAGE, text)
    app = opened(page=LOG)
    assert not any(button.label == "Use my press" for button in app.button)


def test_it_is_learnt_from_the_photos_that_can_be_read(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[PhotographedSheet] = []

    def likely(seen: PhotographedSheet, on_progress: ProgressCallback) -> np.ndarray:
        asked.append(seen)
        off = (grid() - [0.2, 0.6, 0.4]) / 0.1
        return -0.5 * (off**2).sum(axis=1)

    monkeypatch.setattr(calibration, "log_likelihood", likely)
    shape = {"length_mm": 70.0, "width_mm": 52.5}  # of a photo that is cut to the sheet
    seeded(home, **shape)
    other = sheet_log.record(home, replace(sheet_log.search(home)[0], uid=""), photo=photo())
    click(opened(page=LOG), "Learn from 2 photos")
    assert [seen.recipe for seen in asked] == [STRIP, STRIP]
    found = calibration.load()
    assert found is not None
    assert found.sheets == 2
    assert found.unevenness.low < 0.6 < found.unevenness.high
    sheet_log.amend(home, replace(other, length_mm=500.0))  # no such sheet is to be seen in the photo
    app = opened(page=LOG)
    click(app, "Learn from 2 photos")
    (warning,) = app.warning
    assert "does not look like" in warning.value


def test_without_photos_it_says_what_is_missing(home: Path) -> None:
    sheet_log.record(home, replace(seeded(home), uid="", photo=None))
    for sheet in sheet_log.search(home):
        sheet_log.amend(home, replace(sheet, photo=None))
    app = sound(opened(page=LOG))
    assert "It needs sheets with a photo and a size" in on_progress(app)
