from dataclasses import replace

import numpy as np
import pytest

from blendlab.colour.pigment import light_of, palette
from blendlab.look.render import compositions
from blendlab.look.surfaces import top_face
from blendlab.photo import surrogate_sheets
from blendlab.photo.light_prior import light_prior
from blendlab.photo.share_fit import REACH_STEP, Problem, fit, fit_few, fit_ladder, wave_means
from blendlab.photo.surrogate_sheets import MAX_MATCHED_FOLDS, SHEETS, PressRange, programmes, surrogates
from blendlab.recipe.recipe import Flake, Sheet

SHEET = Sheet(150, 140, 6)
FLAKES = (
    Flake("white", "#f1efe6", 1),
    Flake("blue", "#17439b", 1),
    Flake("red", "#bb2a22", 1),
    Flake("soot", "#1a1a1b", 1),
)
TRUTH = np.array([0.5, 0.3, 0.0, 0.2])
PAPER = (0.05, 0.03, 0.03)


def seen_after(folds: int) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Colours of sheets that the fit has not seen."""
    problem = Problem(np.zeros(0), palette(FLAKES), SHEET, "half", PAPER)
    paths = surrogates(SHEET, "half", problem.light_depth_mm(TRUTH), folds, seed=99).compositions(TRUTH)
    light = light_of(paths.reshape(-1, len(TRUTH)), problem.palette)
    return light.reshape(-1, 4, 3).mean(axis=1).astype(np.float64)


def test_surrogates_keep_the_shares() -> None:
    for folds in (0, 3, 6):
        paths = surrogates(SHEET, "half", 0.1, folds).compositions(TRUTH)
        assert paths.sum(axis=-1) == pytest.approx(1, abs=1e-5)
        np.testing.assert_allclose(paths.mean(axis=(0, 1, 2)), TRUTH, atol=0.05)
        assert not paths[..., 2].any()


@pytest.mark.parametrize("folds", [0, 3, 7])
def test_surrogates_show_what_a_rendered_sheet_shows(folds: int) -> None:
    charge, (_, programme) = surrogate_sheets._charges(SHEET, 1)[0], programmes(SHEET, "half", SHEETS, 1)[0]
    dealt = charge.dealt(np.digitize(charge.labels, [50, 80]).astype(np.uint8), 3)
    face = top_face(SHEET, surrogate_sheets.PX_PER_MM)
    sampled = surrogate_sheets._spread_out(face.shape, np.random.default_rng([1, 2, 0]))
    frames = face.frames(0, face.shape[0])[sampled]
    paths = compositions(frames, dealt, programme, folds, 0.1, surrogate_sheets.ACROSS)
    found = surrogates(SHEET, "half", 0.1, folds).compositions(np.array([0.5, 0.3, 0.2]))[0]
    assert np.abs(found - paths).mean() < 0.02
    np.testing.assert_allclose(found.mean(axis=(0, 1)), paths.mean(axis=(0, 1)), atol=0.02)


def test_folding_blends_the_surrogates() -> None:
    spread = [surrogates(SHEET, "half", 0.1, f).compositions(TRUTH)[..., 0].std() for f in (0, 4, 8)]
    assert spread[0] > spread[1] > spread[2]


def test_a_known_press_narrows_the_programmes_and_the_depth_of_light() -> None:
    known = PressRange((0.6, 0.7), (0.2, 0.3), 1.5)
    for folding, _ in programmes(SHEET, "half", SHEETS, 1, known):
        assert 0.6 <= folding.drag <= 0.7
        assert 0.2 <= folding.unevenness <= 0.3
    any_press = Problem(np.zeros(0), palette(FLAKES), SHEET, "half", PAPER)
    deeper = replace(any_press, press=known).light_depth_mm(TRUTH) / any_press.light_depth_mm(TRUTH)
    assert 1.5 / REACH_STEP < deeper < 1.5 * REACH_STEP


def test_programmes_cover_the_ranges_and_are_cached() -> None:
    some = programmes(SHEET, "half", SHEETS, 1)
    assert len({folding.drag for folding, _ in some}) == SHEETS
    assert all(programme.cycles == MAX_MATCHED_FOLDS for _, programme in some)
    assert programmes(SHEET, "half", SHEETS, 1) is some


def test_descriptions_are_linear_in_distributions() -> None:
    rng = np.random.default_rng(1)
    one, other = rng.random((40, 3)), rng.random((60, 3))
    both = wave_means(np.concatenate([one, other]))
    np.testing.assert_allclose(both, 0.4 * wave_means(one) + 0.6 * wave_means(other), atol=1e-5)


@pytest.mark.parametrize("folds", [0, 2, 4])
def test_shares_are_recovered(folds: int) -> None:
    problem = Problem(wave_means(seen_after(folds)), palette(FLAKES), SHEET, "half", PAPER)
    found = fit_few(problem, folds, np.full(4, 0.25), np.zeros(3))
    assert found.shares.sum() == pytest.approx(1)
    assert np.abs(found.shares - TRUTH).mean() < 0.05
    assert found.shares[2] < 0.03
    assert (found.spread[TRUTH > 0] > 0).all()


@pytest.mark.parametrize("folds", [3, 7])
def test_a_fit_reaches_its_optimum_from_even_shares(folds: int) -> None:
    empty = Problem(np.zeros(0), palette(FLAKES), SHEET, "half", PAPER)
    shown = empty.sheets(folds, TRUTH, np.zeros(3), empty.light_depth_mm(TRUTH)).mean(axis=0)
    found = fit(replace(empty, means=shown), folds, np.full(4, 0.25), np.zeros(3))
    assert found.misfit < 0.1  # 1.3 and 0.8 where slopes keep their curvature
    np.testing.assert_allclose(found.shares, TRUTH, atol=0.01)


def test_exposure_is_fitted_without_paper() -> None:
    brighter = seen_after(0) * 1.3
    problem = Problem(wave_means(brighter), palette(FLAKES), SHEET, "half", (0.35, 0.16, 0.08))
    found = fit_ladder(problem, 1)[0]
    np.testing.assert_allclose(np.exp(found.gains), 1.3, atol=0.05)
    assert np.abs(found.shares - TRUTH).mean() < 0.05


def test_a_cast_of_lamplight_is_likelier_than_one_of_green_or_magenta() -> None:
    # CIE standard illuminants A and D65, and F2 for a greenish lamp: CIE 15:2018, tables of white points.
    d65, lamp, tube = np.array([[0.95047, 1, 1.08883], [1.09850, 1, 0.35585], [0.99187, 1, 0.67395]])
    held = light_prior((1.0, 1.0, 1.0)).rows
    for white, least in ((lamp, 6.0), (tube, 3.0)):
        _, warmer, greener = held @ np.log(white / d65)
        assert abs(warmer) > least * abs(greener)
    assert held @ np.ones(3) == pytest.approx([1, 0, 0], abs=1e-12)
    np.testing.assert_allclose((held[1:] @ held[1:].T), np.eye(2), atol=1e-12)
