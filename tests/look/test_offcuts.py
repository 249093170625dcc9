"""Sheets with offcuts as pictures, held to brute force."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from blendlab.colour.difference import delta_e00
from blendlab.colour.spaces import lab_from_xyz1
from blendlab.look.ladder import rungs
from blendlab.look.offcut_paths import followed_through, sampled_through
from blendlab.look.prepared_sheet import prepare
from blendlab.look.render import render, srgb8
from blendlab.look.surfaces import top_face
from blendlab.look.view import SurfaceSpec
from blendlab.recipe.offcut import Offcut
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

SHEET = Sheet(120.0, 120.0, 6.0)
OLD = Recipe(
    "Old tile",
    SHEET,
    (Flake("white", "#f1eee4", 45), Flake("blue", "#1d4f8f", 30), Flake("gold", "#f0ac2b", 25)),
    Folding(folds=2, seed=3),
)
GREEN = Flake("green", "#2f6f4f", 60)


def cut(old=OLD, folds=2, size_mm=(14.0, 14.0, 4.0), grams=60.0, own=(GREEN,), **folding):
    offcut = Offcut(old, folds)
    chips = Flake("chips", offcut.srgb, grams, size_mm=size_mm, cut_from=offcut)
    return Recipe("New tile", SHEET, (*own, chips), Folding(**folding))


@cache
def ready(old_folds=2):
    """The new sheet, for all fold counts that are looked at: they share charge and programme."""
    return prepare(cut(folds=old_folds), 8)


def face_of(prepared, folds):
    """Some pixels of the top face."""
    return piece(top_face(prepared.sheet_after(folds), 1.0), 40, 20)


def piece(face, start, side):
    """As many pixels along each side of a flat face, from the one in the row and column `start`."""
    corner = np.array(face.corner_mm) + start * np.array(face.down_mm) + start * np.array(face.right_mm)
    return replace(face, shape=(side, side), corner_mm=tuple(corner))


def paths_down(prepared, folds, count, deep_mm):
    rng = np.random.default_rng(0)
    half = np.array(prepared.programme.sizes_mm[folds]) / 2
    paths = np.zeros((count, 6))
    paths[:, :2] = rng.uniform(-0.95, 0.95, (count, 2)) * half[:2]
    paths[:, 2], paths[:, 5] = half[2], -deep_mm
    return paths


def test_offcuts_of_a_plain_sheet_are_that_plain_colour():
    old = Recipe("Plain", SHEET, (Flake("blue", "#1d4f8f", 30),))
    prepared = prepare(cut(old, 3, own=()))
    picture = render(face_of(prepared, 2), prepared, 2)
    assert {tuple(pixel) for pixel in srgb8(picture.xyz1).reshape(-1, 3)} == {(0x1D, 0x4F, 0x8F)}
    assert prepared.palette.names == ("blue",)


@pytest.mark.parametrize("folds", [0, 2, 4])
def test_offcuts_of_a_plain_sheet_look_like_the_flakes_it_was_made_of(folds):
    blue = Flake("blue", "#1d4f8f", 60, size_mm=(14.0, 14.0, 4.0))
    pictures = [
        render(face_of(prepared, folds), prepared, folds)
        for prepared in map(
            prepare,
            (
                cut(Recipe("Plain", SHEET, (blue,))),
                Recipe("New", SHEET, (GREEN, replace(blue, name="chips"))),
            ),
        )
    ]
    assert pictures[0].xyz1 == pytest.approx(pictures[1].xyz1, abs=2e-4)
    assert pictures[0].seen == pytest.approx(pictures[1].seen, abs=1e-5)


@pytest.mark.parametrize("folds", [0, 2, 5, 8])
@pytest.mark.parametrize("old_folds", [1, 5])
def test_light_paths_hold_what_points_along_them_find(folds, old_folds):
    prepared = ready(old_folds)
    paths = paths_down(prepared, folds, 300, 2.0)
    whole = followed_through(paths, prepared.laid, prepared.programme, folds)
    points = sampled_through(paths, np.array([0.5]), 1024, prepared.laid, prepared.programme, folds)
    assert whole.sum(axis=1) == pytest.approx(1, abs=1e-5)
    off = abs(whole - points).max(axis=1)
    assert off.mean() < (0.05 if folds > 2 else 0.025)  # 0.04 and 0.01 where no flake is an offcut
    assert np.quantile(off, 0.98) < 0.12


@pytest.mark.parametrize("folds", [0, 1, 3, 6])
def test_the_picture_is_what_brute_force_comes_to(folds):
    prepared = ready()
    surface = face_of(prepared, folds)
    drawn, true = (render(surface, prepared, folds, samples).xyz1 for samples in (None, 1024))
    lab, true_lab = lab_from_xyz1(drawn), lab_from_xyz1(true)
    assert delta_e00(lab, true_lab).mean() < 1.4
    means = [lab_from_xyz1(each.reshape(-1, 3).mean(axis=0)) for each in (drawn, true)]
    assert delta_e00(*means) < 0.5
    assert np.sqrt(lab.var(axis=(0, 1)).sum()) == pytest.approx(
        np.sqrt(true_lab.var(axis=(0, 1)).sum()), rel=0.05
    )


@pytest.mark.parametrize(
    "spec", [SurfaceSpec("front"), SurfaceSpec("planed", depth_mm=2.0)], ids=["side", "planed"]
)
def test_other_faces_come_near_brute_force(spec):
    prepared = ready()
    surface = spec.surface(prepared.sheet_after(2), 0.5)
    if surface.shape[0] > 24:
        surface = piece(surface, 20, 24)
    drawn, true = (render(surface, prepared, 2, samples).xyz1 for samples in (None, 4096))
    shown = np.isfinite(true[..., 0])
    assert delta_e00(lab_from_xyz1(drawn[shown]), lab_from_xyz1(true[shown])).mean() < 2.5


def test_four_sheets_deep_the_picture_is_what_brute_force_comes_to():
    recipe = OLD
    for n in range(4):
        own = Flake(f"own {n}", ("#2f6f4f", "#8f1d2f", "#101010", "#f0f0f0")[n], 20)
        recipe = cut(recipe, 1, (20.0, 20.0, 5.0), 80.0, own=(own,))
    prepared = prepare(recipe, 1)
    assert len(prepared.palette.names) == 7
    drawn, true = (render(face_of(prepared, 1), prepared, 1, samples).xyz1 for samples in (None, 1024))
    assert delta_e00(lab_from_xyz1(drawn), lab_from_xyz1(true)).mean() < 2.0


def test_a_replicate_cuts_other_pieces_of_the_same_sheet():
    first, second = (prepare(cut(), 1, replicate) for replicate in (0, 1))
    assert first.laid.sheets[1] is second.laid.sheets[1]
    assert not np.array_equal(first.laid.cuts.spots_mm[:9], second.laid.cuts.spots_mm[:9])


def test_more_folds_of_the_older_sheet_blend_its_pieces():
    spreads = []
    for folds in (1, 12):
        prepared = prepare(cut(folds=folds, own=()), 0)
        lab = lab_from_xyz1(render(face_of(prepared, 0), prepared, 0).xyz1)
        spreads.append(np.sqrt(lab.var(axis=(0, 1)).sum()))
    assert spreads[1] < 0.15 * spreads[0]


def test_layers_are_counted_inside_pieces_too():
    thick = [next(rungs(prepare(cut(folds=folds), 1), (1,))).layer_mm for folds in (0, 4)]
    assert thick[1] < 0.4 * thick[0]
