"""The mixing measures, tried on patterns and maps whose mixing is known."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.folding.charge import lay_charge
from blendlab.folding.mixing import intensity_of_segregation, layer_mm, scale_of_segregation
from blendlab.folding.programme import draw_programme
from blendlab.folding.trace import follow_back
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

CAT = np.array([[2, 1], [1, 1]])
SHEET = Sheet(120.0, 120.0, 6.0)
TWO = (Flake("white", "#f2f0e8", 50), Flake("blue", "#14409a", 50))


def cat_map_periods():
    with (Path(__file__).parents[1] / "reference" / "mixing" / "cat_map.csv").open() as file:
        return [(int(row["lattice"]), int(row["period"])) for row in csv.DictReader(file)]


@given(st.integers(4, 60), st.integers(4, 60), st.floats(0.05, 2))
def test_stripes_have_danckwerts_scale(first_px, second_px, pitch_mm):
    """Danckwerts 1952: stripes L1, L2 correlate as 1 - r/K with K = L1*L2/(L1 + L2), so the scale is K/2."""
    stripes = np.resize(np.repeat([0.0, 1.0], [first_px, second_px]), 200 * (first_px + second_px))
    scale = scale_of_segregation(np.tile(stripes, (2, 1)), pitch_mm, axis=1)
    joint_mm = pitch_mm * first_px * second_px / (first_px + second_px)
    assert scale == pytest.approx(joint_mm / 2, rel=0.02)


def test_equal_stripes_have_a_quarter_of_their_width_across_and_no_end_along():
    stripes = np.tile(np.repeat(np.tile([0.0, 1.0], 50), 20), (400, 1))
    assert scale_of_segregation(stripes, 0.5, axis=1) == pytest.approx(10 / 4, rel=0.02)
    assert scale_of_segregation(stripes.T, 0.5, axis=0) == pytest.approx(10 / 4, rel=0.02)
    assert scale_of_segregation(stripes, 0.5, axis=0) == pytest.approx(0.5 * 400, rel=0.01)


@given(st.floats(-50, 50), st.floats(0.1, 50))
def test_scale_is_a_length_for_any_quantity(offset, factor):
    values = np.random.default_rng(2).random((40, 60)).cumsum(axis=1) % 1
    plain = scale_of_segregation(values, 1.0, axis=1)
    assert scale_of_segregation(offset + factor * values, 1.0, axis=1) == pytest.approx(plain, rel=1e-6)
    assert scale_of_segregation(values, 3.0, axis=1) == pytest.approx(3 * plain)


def test_a_flat_picture_has_no_scale_and_no_segregation():
    assert scale_of_segregation(np.full((20, 30), 71.3), 1.0, axis=0) == 0
    assert intensity(np.full((600, 4), 1 / 4)) == 0
    assert intensity(np.ones((20, 1))) == 0  # a single kind


@given(st.floats(0.05, 0.95), st.floats(0, 1))
def test_intensity_of_two_even_mixtures(mean, part):
    """Danckwerts 1952: I = variance / (c(1 - c)); samples c + d and c - d in equal numbers."""
    off = part * min(mean, 1 - mean)
    samples = np.array([[mean + off, 1 - mean - off], [mean - off, 1 - mean + off]] * 4)
    assert intensity(samples) == pytest.approx(off**2 / (mean * (1 - mean)), abs=1e-12)


@given(st.lists(st.integers(0, 3), min_size=2, max_size=40).filter(lambda kinds: len(set(kinds)) > 1))
def test_whole_flakes_are_wholly_segregated(kinds):
    assert intensity(np.eye(4)[kinds]) == pytest.approx(1)


def intensity(samples):
    """Intensity of segregation of samples, shape (samples, kinds)."""
    return intensity_of_segregation(samples.mean(axis=0), (samples**2).mean(axis=0))


def stirred(pattern):
    """What a square pattern looks like after one cat map."""
    n = len(pattern)
    x, y = CAT @ np.indices((n, n)).reshape(2, -1) % n
    return pattern[x, y].reshape(n, n)


def coarse_intensity(pattern):
    """Intensity of segregation of 36 samples."""
    step = len(pattern) // 6
    share = pattern[: 6 * step, : 6 * step].reshape(6, step, 6, step).mean(axis=(1, 3))
    return intensity(np.stack([share.ravel(), 1 - share.ravel()], axis=-1))


@pytest.mark.parametrize(("lattice", "period"), cat_map_periods())
def test_what_the_cat_map_mixes_is_whole_again_after_its_published_period(lattice, period):
    half = (np.arange(lattice) < lattice / 2).repeat(lattice).reshape(lattice, lattice)
    places = np.arange(lattice**2).reshape(lattice, lattice)
    scales, intensities, now = [], [], places
    for _ in range(period):
        scales.append(scale_of_segregation(half.ravel()[now], 1.0, axis=0))
        intensities.append(coarse_intensity(half.ravel()[now]) if lattice >= 50 else 1.0)
        now = stirred(now)
        assert np.array_equal(now, places) == (len(scales) == period)
    if lattice >= 50:
        assert scales[0] > 1.9 * scales[1] > 3.6 * scales[2]
        assert intensities[0] > 0.85
        assert min(intensities) < 0.1


def test_scale_falls_at_the_cat_maps_stretching_rate():
    """Stripes under the cat map thin by (3 + sqrt 5)/2 each time, a rate of .9624."""
    x, y = np.meshgrid((np.arange(4096) + 0.5) / 4096, (np.arange(8) + 0.5) / 8, indexing="ij")
    scales, along, across = [], 1, 0
    for _ in range(6):
        scales.append(scale_of_segregation((along * x + across * y) % 1 < 0.5, 1 / 4096, axis=0))
        along, across = CAT @ (along, across)
    rate = np.log(scales[2] / scales[5]) / 3
    assert rate == pytest.approx(np.log((3 + 5**0.5) / 2), rel=0.02)


@pytest.fixture(scope="module")
def charge():
    return lay_charge(Recipe("Tile", SHEET, TWO), np.random.default_rng(3))


def drawn(folds, drag, unevenness):
    folding = Folding(folds=folds, drag=drag, unevenness=unevenness)
    return draw_programme(folding, SHEET, folds, np.random.default_rng(4))


def test_layers_thin_as_the_bakers_map_says(charge):
    """Every fold doubles the faces in the depth, and adds one joint between stacked sheets."""
    programme, height = drawn(10, 0.0, 0.0), SHEET.thickness_mm
    faces = height / layer_mm(charge, programme, 0, np.random.default_rng(0))
    for folds in (1, 3, 6, 10):
        joints = (2**folds - 1) * 0.5  # half of them are between two kinds of equal shares
        layer = layer_mm(charge, programme, folds, np.random.default_rng(folds))
        assert layer == pytest.approx(height / (2**folds * faces + joints), rel=0.07)


@pytest.mark.parametrize(("drag", "unevenness"), [(0.0, 0.0), (0.5, 0.3)])
def test_layers_are_as_thick_as_a_count_of_them_gives(charge, drag, unevenness):
    programme, verticals, deep = drawn(2, drag, unevenness), 400, 2000
    points = np.empty((verticals, deep, 3))
    points[..., :2] = np.random.default_rng(0).uniform(-60, 60, (verticals, 1, 2))
    points[..., 2] = (np.arange(deep) + 0.5) / deep * SHEET.thickness_mm
    kinds = charge.kinds_at(follow_back(points.reshape(-1, 3), programme, 2)).reshape(verticals, deep)
    faces = np.count_nonzero(np.diff(kinds.astype(int), axis=1), axis=1).mean()
    layer = layer_mm(charge, programme, 2, np.random.default_rng(0))
    assert layer == pytest.approx(SHEET.thickness_mm / faces, rel=0.08)


def test_one_kind_is_one_layer():
    alone = lay_charge(Recipe("Tile", SHEET, TWO[:1]), np.random.default_rng(0))
    assert layer_mm(alone, drawn(3, 0.5, 0.3), 3, np.random.default_rng(0)) == SHEET.thickness_mm
