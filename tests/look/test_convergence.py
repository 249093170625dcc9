"""The picture drawn by default is what brute force comes to: every move, face and kind of press."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from blendlab.colour.difference import delta_e00
from blendlab.colour.spaces import lab_from_xyz1
from blendlab.folding.path_trace import HALVINGS
from blendlab.look.adaptive import joined, surface_weights
from blendlab.look.brute_force import sampled
from blendlab.look.light_paths import followed
from blendlab.look.prepared_sheet import prepare
from blendlab.look.render import compositions, in_slab, placed, render
from blendlab.look.surfaces import Flat, planed, top_face
from blendlab.look.view import SurfaceSpec
from blendlab.recipe.moves import MOVES
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

FLAKES = (Flake("white", "#f1eee4", 45), Flake("blue", "#1d4f8f", 30), Flake("gold", "#f0ac2b", 25))
SHEET = Sheet(120.0, 120.0, 6.0)
BRUTE = 4096  # points a pixel; fewer leave noise down the paths, which also darkens or lightens the mean
HALF = BRUTE // 2  # where that noise is small beside the limits
PRESSES = {"calm": {}, "wild": {"drag": 1.0, "unevenness": 1.0}, "slippery": {"drag": 0.0, "unevenness": 0.5}}


def prepared_for(folds, move="half", sheet=SHEET, **press):
    return prepare(Recipe("Tile", sheet, FLAKES, Folding(move, folds=folds, **press)))


def piece(face, down, right, rows=16, columns=16):
    """Some pixels of a flat face."""
    corner = np.array(face.corner_mm) + down * np.array(face.down_mm) + right * np.array(face.right_mm)
    return replace(face, shape=(rows, columns), corner_mm=tuple(corner))


def off(surface, prepared, folds, brute=BRUTE):
    """dE00 of each pixel from brute force, of the mean, and contrast as a part of brute force's."""
    drawn, true = (render(surface, prepared, folds, n).xyz1.reshape(-1, 3) for n in (None, brute))
    shown = np.isfinite(true[:, 0])
    assert np.array_equal(np.isfinite(drawn[:, 0]), shown)
    drawn, true = drawn[shown], true[shown]
    lab, true_lab = lab_from_xyz1(drawn), lab_from_xyz1(true)
    contrasts = [np.sqrt(1.0 + colours.var(axis=0).sum()) for colours in (lab, true_lab)]  # 1: what none sees
    means = delta_e00(lab_from_xyz1(drawn.mean(axis=0)), lab_from_xyz1(true.mean(axis=0)))
    return delta_e00(lab, true_lab), float(means), contrasts[0] / contrasts[1]


@pytest.mark.parametrize("folds", [0, 2, 4, 6, 8, 10])
def test_from_fold_to_fold_the_picture_is_what_brute_force_comes_to(folds):
    prepared = prepared_for(folds)
    face = top_face(prepared.sheet_after(folds), 1.0)
    pixels, mean, contrast = off(piece(face, 8, 30, 20, 20), prepared, folds)
    assert pixels.mean() < 1.2
    assert np.percentile(pixels, 99) < 8
    assert mean < 0.32
    assert contrast == pytest.approx(1, abs=0.03)


@pytest.mark.parametrize("folds", [6, 8])
def test_more_light_paths_are_followed_from_a_wild_press(folds):
    prepared = prepared_for(folds, **PRESSES["wild"])
    face = top_face(prepared.sheet_after(folds), 1.0)
    pixels, mean, contrast = off(piece(face, 8, 8, 20, 20), prepared, folds)
    assert pixels.mean() < 1.3
    assert np.percentile(pixels, 99) < 6
    assert mean < 0.4
    assert contrast == pytest.approx(1, abs=0.03)


@pytest.mark.parametrize("press", PRESSES)
@pytest.mark.parametrize("move", MOVES)
def test_every_move_comes_near_brute_force_from_every_press(move, press):
    folds = 3
    prepared = prepared_for(folds, move, **PRESSES[press])
    face = top_face(prepared.sheet_after(folds), 1.0)
    rolled = move in ("roll", "twist")  # whose layers come to the face closer than a pixel
    pixels, mean, contrast = off(piece(face, 4, 4), prepared, folds, BRUTE if rolled else HALF)
    assert pixels.mean() < 1.6
    assert mean < 0.55
    # Where little is to be seen, a spot smaller than a pixel that no light path meets is much of it.
    assert contrast == pytest.approx(1, abs=0.2 if press == "slippery" else 0.05)


FACES = {
    "bottom": SurfaceSpec("bottom"),
    "front": SurfaceSpec("front"),
    "planed": SurfaceSpec("planed", depth_mm=2.0),
    "sawn": SurfaceSpec("sawn", at_mm=(5.0, 3.0), angle_deg=25.0, tilt_deg=40.0),
    "block": SurfaceSpec("block"),
    "turned": SurfaceSpec("turned"),
    "unrolled": SurfaceSpec("unrolled"),
}


@pytest.mark.parametrize("face", FACES)
def test_every_face_comes_near_brute_force(face):
    folds, sheet = 3, Sheet(48.0, 32.0, 12.0)
    prepared = prepared_for(folds, sheet=sheet)
    surface = FACES[face].surface(prepared.sheet_after(folds), 1.0)
    pixels, mean, contrast = off(surface, prepared, folds, HALF)
    assert np.median(pixels) < 2
    assert pixels.mean() < 2.4
    assert mean < 0.35
    assert contrast == pytest.approx(1, abs=0.04)


@pytest.mark.parametrize("press", PRESSES)
@pytest.mark.parametrize("move", MOVES)
def test_a_path_is_made_of_what_many_of_its_points_are(move, press):
    folds = 3
    prepared = prepared_for(folds, move, **PRESSES[press])
    slab = prepared.sheet_after(folds)
    frames = top_face(slab, 0.1).frames(0, 12)
    paths = in_slab(placed(frames, 0.2, -0.3), prepared.light_depth_mm, slab.thickness_mm)
    whole = followed(paths, prepared.charge, prepared.programme, folds)
    points = sampled(paths, np.array([0.5]), 2048, prepared.charge, prepared.programme, folds)
    assert whole.sum(axis=1) == pytest.approx(1, abs=1e-5)
    assert np.abs(whole - points).sum(axis=1).mean() < 0.08


@given(st.floats(0.0, 5.9), st.integers(0, 2**32 - 1))
@example(1.46875, 0)  # across a fold
@settings(max_examples=5)
def test_where_the_way_back_is_straight_a_path_is_exact_but_for_where_it_meets_a_fold(depth, seed):
    """Plates that slip and an even press only stretch: each layer is a straight line back to the charge.

    A fold is placed to within the last bisection of half a path; what lies in there is taken to be as the
    rest of its layer.
    """
    sheet, layer_mm = Sheet(60.0, 60.0, 6.0), 1.5
    recipe = Recipe("Tile", sheet, FLAKES, Folding(folds=2, drag=0.0, unevenness=0.0, seed=seed))
    prepared = prepare(recipe)
    frames = planed(sheet, 0.2, depth).frames(0, 12)
    paths = in_slab(placed(frames, 0.0, 0.0), prepared.light_depth_mm, 6.0)
    whole = followed(paths, prepared.charge, prepared.programme, 2)
    points = sampled(paths, np.array([0.5]), 4096, prepared.charge, prepared.programme, 2)
    folds_met = (depth + prepared.light_depth_mm) // layer_mm - depth // layer_mm
    assert whole == pytest.approx(points, abs=1e-3 + folds_met * 0.5 ** (HALVINGS + 1))


def test_over_a_whole_face_the_mean_tends_to_the_recipes_shares():
    sheet = Sheet(400.0, 400.0, 6.0)
    prepared = prepare(Recipe("Tile", sheet, FLAKES, Folding(folds=4)))
    frames = planed(sheet, 0.1, 2.0).frames(0, 40)
    paths = compositions(frames, prepared.charge, prepared.programme, 4, prepared.light_depth_mm, 4)
    assert paths.mean(axis=(0, 1)) == pytest.approx(prepared.recipe.shares, abs=0.03)


def test_a_thin_slab_is_looked_through_to_its_lower_face():
    sheet = Sheet(40.0, 40.0, 2.0)
    weak = tuple(replace(flake, hide_mm=8.0) for flake in FLAKES)
    prepared = prepare(Recipe("Tile", sheet, weak, Folding(folds=1)))
    frames = top_face(sheet, 0.5).frames(0, 20)
    paths = in_slab(placed(frames, 0.0, 0.0), 5.0, 2.0)  # leave the slab after two fifths
    whole = followed(paths, prepared.charge, prepared.programme, 1)
    points = sampled(paths, np.array([0.5]), 2048, prepared.charge, prepared.programme, 1)
    assert whole.sum(axis=1) == pytest.approx(1, abs=1e-5)
    assert np.abs(whole - points).sum(axis=1).mean() < 0.03


def test_paths_leave_no_terraces_along_a_ramp():
    """Second differences of a smooth field are those of a finely drawn one: no steps between cells."""
    folds, px_per_mm = 5, 4.0
    prepared = prepared_for(folds, drag=1.0, unevenness=0.0)
    face = piece(top_face(SHEET, px_per_mm), round(40 * px_per_mm), round(60 * px_per_mm), 24, 24)
    steps = []
    for samples in (None, 2304):
        light = lab_from_xyz1(render(face, prepared, folds, samples).xyz1)[..., 0]
        steps.append(np.abs(np.diff(light, 2, axis=1)).mean())
    assert steps[0] < steps[1] + 0.5


def test_a_smooth_cells_surface_goes_through_its_corners_and_is_its_neighbours_at_a_side():
    for size in (2, 4, 8):
        weights = surface_weights(size)
        assert weights.sum(axis=-1) == pytest.approx(np.ones((size, size)))
        plane = np.array([0.0, 1.0, 2.0, 3.0, 1.5])
        at = (np.arange(size) + 0.5) / size
        assert weights @ plane == pytest.approx(2 * at[:, None] + at[None, :])


def test_pixels_join_on_one_face_and_not_across_an_edge_or_a_gap():
    flat = Flat((4, 4), (0.0, 0.0, 6.0), (1.0, 0, 0), (0, -1.0, 0), (0, 0, -1.0)).frames(0, 4)
    frames = flat.reshape(4, 4, 12).copy()
    assert joined(frames).all()
    frames[2, 2, 0] += 0.3
    assert joined(frames).sum() == 12  # it and those to the left, above and between do not
    frames[2, 2] = np.nan
    assert joined(frames).sum() == 12
