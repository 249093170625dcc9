"""Photos without white paper: what is known of the light, benches that look like paper, and the band."""

import numpy as np
import pytest

from blendlab.colour.difference import delta_e00
from blendlab.colour.spaces import WHITE_XYZ1, lab_from_xyz1
from blendlab.photo import false_paper
from blendlab.photo.face import Face, Marks, take_face
from blendlab.photo.false_paper import USUAL, settled
from blendlab.photo.light import WHITE_BAND, Light, WhiteBalance
from blendlab.photo.light_prior import GROUND_Y, WITHOUT_PAPER, light_prior, oddness
from blendlab.photo.mean_band import FITTED_PART, MEAN_PART, mean_band90
from blendlab.photo.move_fit import Case
from blendlab.photo.surrogate_sheets import ANY_PRESS
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

from .scene import BOXES, Camera, Shot, face_of, take

SHEET = Sheet(120, 96, 6)
ON_HAND = tuple(Flake(name, BOXES[name], 1) for name in ("bottle green", "sand", "cap white", "soot"))
PALE_BENCH = 1  # seeds that draw the palest bench of the scene, and a dark one
DARK_BENCH = 4


def shoot(camera: Camera, seed: int) -> Shot:
    flakes = (Flake("sand", BOXES["sand"], 56), Flake("bottle green", BOXES["bottle green"], 44))
    recipe = Recipe("coaster sheet", SHEET, flakes, Folding(folds=1, drag=0.6, seed=11))
    return take(recipe, ON_HAND, camera, np.random.default_rng(seed), face_of(recipe))


@pytest.fixture
def at_true_count(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(false_paper, "FOLDS", (1,))  # half the work


def judged(shot: Shot) -> tuple[Light, Light]:
    """The light as read, and once the flakes have been asked."""

    def bare() -> Face:
        return take_face(shot.srgb8, SHEET, Marks(shot.corners_px), look_for_paper=False)

    found = take_face(shot.srgb8, SHEET, Marks(shot.corners_px))
    return found.light, settled(Case(found, ON_HAND, "half", ANY_PRESS), bare).face.light


@pytest.mark.usefixtures("at_true_count")
def test_a_pale_bench_is_not_taken_for_paper() -> None:
    bench = Camera(tilt_deg=5, columns=900, rows=675, stops=0.9, gains=(1.0, 1.0, 0.9), paper="none")
    read, kept = judged(shoot(bench, PALE_BENCH))
    assert read.paper == "found"
    assert read.oddness > USUAL
    assert kept.paper == "none"


@pytest.mark.usefixtures("at_true_count")
def test_paper_in_dim_warm_light_is_kept() -> None:
    dim = Camera(tilt_deg=5, columns=900, rows=675, stops=-1.1, gains=(1.2, 1.0, 0.75), paper="beside")
    read, kept = judged(shoot(dim, DARK_BENCH))
    assert read.paper == kept.paper == "found"
    assert read.oddness > USUAL


def most_likely(ground_y: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Log gains that the prior alone gives, for a neutral ground of some luminance as read."""
    prior = light_prior(WITHOUT_PAPER, ground_y * WHITE_XYZ1)
    return np.linalg.lstsq(prior.rows, prior.aims, rcond=None)[0]


def test_a_dark_ground_makes_underexposure_likelier() -> None:
    dark, usual, bright = (most_likely(GROUND_Y * ratio).mean() for ratio in (0.25, 1.0, 4.0))
    assert dark < -0.2
    assert usual == pytest.approx(0, abs=0.02)
    assert bright > 0.2
    # Two normal pieces of knowledge weigh by their variances: 0.35 and 0.6 in log luminance.
    assert bright == pytest.approx(np.log(4) * 0.35**2 / (0.35**2 + 0.6**2), rel=0.05)


def test_a_green_cast_is_odder_than_a_warm_one() -> None:
    assert oddness(np.zeros(3)) == 0
    assert oddness(np.full(3, 0.35)) == pytest.approx(1)  # a standard deviation of exposure
    assert oddness(np.array([-0.2, 0.2, -0.2])) > oddness(
        np.array([0.05, 0.0, -0.3])
    )  # green is rarer than warm


def test_the_band_of_a_mean_holds_nine_in_ten() -> None:
    camera = WhiteBalance(np.full(3, 0.47), WHITE_BAND)
    mean, known, none = (
        0.3 * WHITE_XYZ1,
        Light(camera, np.zeros(3), "given"),
        Light(camera, np.zeros(3), "none"),
    )
    assert mean_band90(known, mean, np.eye(3)) == pytest.approx(MEAN_PART * WHITE_BAND)
    assert mean_band90(none, mean, np.zeros((3, 3))) == pytest.approx(FITTED_PART * WHITE_BAND)
    spread = 0.1 * np.ones(
        (3, 3)
    )  # of exposure alone: its standard deviation, 0.32, is 1.9 times as uncertain
    at_edge = lab_from_xyz1(mean * np.exp(1.645 * 1.9 * np.sqrt(0.1)))
    by_light = float(delta_e00(at_edge, lab_from_xyz1(mean)))
    assert mean_band90(none, mean, spread) == pytest.approx(
        np.hypot(FITTED_PART * WHITE_BAND, by_light), rel=0.15
    )
