"""Pictures of a sheet: the two averages they run between, calm when far folded, the same to the byte."""

import hashlib
import os
import subprocess
import sys
from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.colour.difference import delta_e00
from blendlab.colour.means import area_mean, full_blend
from blendlab.colour.pigment import light_of
from blendlab.colour.spaces import Colour, lab_from_xyz1
from blendlab.folding.trace import follow_back
from blendlab.look import light_paths
from blendlab.look import render as render_room
from blendlab.look.contrast import contrast
from blendlab.look.prepared_sheet import prepare
from blendlab.look.render import paths_and_points, render, sample_offsets, srgb8
from blendlab.look.surfaces import Flat, top_face
from blendlab.look.view import SurfaceSpec
from blendlab.recipe.offcut import Offcut
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet, from_toml, to_toml
from blendlab.runtime import compiled

LARGE = Sheet(200.0, 200.0, 6.0)
BLUE_AND_YELLOW = (
    Flake("yellow", "#f0d020", 60),
    Flake("blue", "#14409a", 25),
    Flake("black", "#151515", 15),
)
BLACK_AND_WHITE = (Flake("white", "#f6f6f4", 50), Flake("black", "#151515", 50))


def recipe(flakes=BLUE_AND_YELLOW, sheet=None, **folding):
    return Recipe("Tile", sheet or Sheet(80.0, 60.0, 6.0), flakes, Folding(**folding))


def pictured(asked, folds, px_per_mm=1.0, samples=None):
    return render(top_face(asked.sheet, px_per_mm), prepare(asked, folds), folds, samples)


def mean_of(picture):
    return Colour.from_xyz1(np.nanmean(picture.xyz1, axis=(0, 1), dtype=float))


def difference(one, other):
    return float(delta_e00(one.lab, other.lab))


@dataclass(frozen=True)
class EverySo:
    """One pixel in so many of a fine picture, along rows and columns: its small pixels, but few of them."""

    fine: Flat
    every: int

    @property
    def shape(self):
        return tuple(side // self.every for side in self.fine.shape)

    def frames(self, first, last):
        rows = range(first * self.every, last * self.every, self.every)
        columns = slice(0, self.shape[1] * self.every, self.every)
        return np.concatenate([self.fine.frames(row, row + 1)[columns] for row in rows])


RECIPES = {
    "blue and yellow": BLUE_AND_YELLOW,
    "black and white": BLACK_AND_WHITE,
    "a little red in white": (Flake("white", "#f2f0e8", 97), Flake("red", "#c0392b", 3)),
}


@pytest.mark.parametrize("flakes", RECIPES.values(), ids=RECIPES)
@pytest.mark.parametrize(("drag", "unevenness"), [(0.0, 0.0), (0.5, 0.3), (1.0, 1.0)])
def test_folded_far_the_mean_is_the_full_blend(flakes, drag, unevenness):
    asked = recipe(flakes, LARGE, drag=drag, unevenness=unevenness)
    picture = pictured(asked, 16, px_per_mm=0.12)
    assert difference(mean_of(picture), full_blend(asked)) < 1.5
    assert picture.seen == pytest.approx(asked.shares, abs=0.03)
    assert picture.segregation < 0.01


@pytest.mark.parametrize(
    "cut", [SurfaceSpec("front"), SurfaceSpec("sawn", at_mm=(5.0, 3.0), angle_deg=25.0, tilt_deg=20.0)]
)
def test_folded_far_a_cut_shows_the_full_blend_as_the_faces_do(cut):
    asked = recipe(drag=0.5, unevenness=0.3)
    prepared = prepare(asked, 12)
    picture = render(cut.surface(prepared.sheet_after(12), 0.5), prepared, 12)
    assert (
        difference(mean_of(picture), full_blend(asked))
        < 1.5
        < 15
        < difference(area_mean(asked), full_blend(asked))
    )


@pytest.mark.parametrize("flakes", RECIPES.values(), ids=RECIPES)
def test_never_folded_the_mean_is_the_area_mean(flakes):
    # Flakes two millimetres thick that hide within a quarter of one; a large sheet, so that chance averages
    # out; and pixels as coarse as a tile's, so that many hold a face between two flakes.
    opaque = tuple(replace(flake, hide_mm=0.25, size_mm=(7.0, 7.0, 2.0)) for flake in flakes)
    asked = recipe(opaque, Sheet(500.0, 500.0, 6.0))
    picture = pictured(asked, 0, px_per_mm=0.5)
    assert difference(mean_of(picture), area_mean(asked)) < 1.5
    assert picture.seen == pytest.approx(asked.shares, abs=0.03)
    assert picture.segregation > 0.7


def test_between_the_two_the_mean_moves_from_one_to_the_other():
    asked = recipe(sheet=LARGE)
    area, full = area_mean(asked), full_blend(asked)
    assert difference(area, full) > 10
    means = [mean_of(pictured(asked, folds, px_per_mm=0.3)) for folds in (0, 5, 16)]
    to_full = [difference(mean, full) for mean in means]
    assert to_full[0] > to_full[1] > to_full[2]


def spread_of(light):
    return contrast(lab_from_xyz1(light))


@pytest.mark.parametrize("flakes", RECIPES.values(), ids=RECIPES)
@pytest.mark.parametrize("px_per_mm", [1.0, 4.0])
def test_sampling_leaves_a_uniform_sheet_calm(flakes, px_per_mm):
    # Two sheets of sixteen folds with nothing left to show: one pressed evenly by plates that slip, and one
    # at the usual drag and unevenness, but of colours so weak that light passes thousands of layers.
    weak = tuple(replace(flake, hide_mm=3.0) for flake in flakes)
    for asked in (recipe(flakes, LARGE, drag=0.0, unevenness=0.0), recipe(weak, LARGE)):
        surface = EverySo(top_face(asked.sheet, px_per_mm), round(8 * px_per_mm))
        assert spread_of(render(surface, prepare(asked, 16), 16).xyz1) < 1


def densely_sampled(surface, prepared, folds, paths=4, deep=256):
    """Light of each pixel from far more points than a picture can afford, shape (pixels, 3)."""
    rng = np.random.default_rng(1)
    frames = surface.frames(0, surface.shape[0])[:, None, None, :]
    right, down = rng.uniform(-0.5, 0.5, (2, len(frames), paths, 1, 1))
    depth = (
        (np.arange(deep) + rng.random((len(frames), paths, deep)))[..., None] / deep * prepared.light_depth_mm
    )
    points = frames[..., :3] + right * frames[..., 3:6] + down * frames[..., 6:9] + depth * frames[..., 9:]
    kinds = prepared.charge.kinds_at(follow_back(points.reshape(-1, 3), prepared.programme, folds))
    held = np.eye(prepared.charge.kinds, dtype=np.float32)[kinds].reshape(-1, deep, prepared.charge.kinds)
    return light_of(held.mean(axis=1), prepared.palette).reshape(-1, paths, 3).mean(axis=1)


@pytest.mark.parametrize("drag", [0.0, 0.5, 1.0])
def test_a_picture_has_the_contrast_of_the_sheet_itself(drag):
    # Strong colours show but the outermost hundredths of a millimetre, after eight folds about one layer:
    # neither whole flakes nor an even blend.
    folds = 8
    asked = recipe(BLACK_AND_WHITE, LARGE, folds=folds, drag=drag)
    prepared, surface = prepare(asked), EverySo(top_face(asked.sheet, 1.0), 12)
    light, dense = (render(surface, prepared, folds).xyz1, densely_sampled(surface, prepared, folds))
    assert spread_of(light) == pytest.approx(spread_of(dense), rel=0.05)
    lightness = lab_from_xyz1(light)[..., 0].ravel(), lab_from_xyz1(dense)[:, 0]
    assert np.corrcoef(*lightness)[0, 1] > 0.98


@given(st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}"), st.integers(0, 8), st.floats(0, 1))
@settings(max_examples=6)
def test_one_colour_stays_that_colour(srgb, folds, drag):
    asked = recipe((Flake("only", srgb, 20),), Sheet(20.0, 20.0, 2.0), drag=drag)
    picture = pictured(asked, folds)
    assert picture.seen == pytest.approx([1])
    assert picture.segregation == 0
    lab = lab_from_xyz1(picture.xyz1).reshape(-1, 3)
    assert np.max(delta_e00(lab, Colour.from_hex(srgb).lab)) < 0.05


shares = st.lists(st.floats(1, 100), min_size=2, max_size=6)


@given(shares, st.integers(0, 5), st.floats(0, 1), st.floats(0, 1), st.integers(0, 2**32 - 1))
@settings(max_examples=8)
def test_any_picture_holds_its_recipe_and_forgets_the_order_of_flakes(grams, folds, drag, unevenness, seed):
    colours = ("#f0d020", "#14409a", "#151515", "#f2f0e8", "#c0392b", "#2d7d46")
    flakes = tuple(Flake(srgb, srgb, part) for srgb, part in zip(colours, grams, strict=False))
    press = {"drag": drag, "unevenness": unevenness, "seed": seed}
    asked = recipe(flakes, Sheet(60.0, 40.0, 4.0), **press)
    turned = recipe(flakes[::-1], Sheet(60.0, 40.0, 4.0), **press)
    picture, other = (pictured(each, folds, px_per_mm=0.7) for each in (asked, turned))
    assert picture.xyz1.tobytes() == other.xyz1.tobytes()
    assert other.seen[::-1] == pytest.approx(picture.seen, abs=1e-12)
    assert picture.seen.sum() == pytest.approx(1)
    assert 0 <= picture.segregation <= 1
    assert picture.xyz1.min() > 0
    assert picture.xyz1.max() < 1.1


@pytest.mark.parametrize("pieces", [False, True], ids=["flakes", "offcuts"])
def test_a_seed_gives_the_same_bytes_in_another_process_on_other_cores(pieces):
    asked = recipe(folds=5, seed=21)
    if pieces:
        old = Offcut(recipe(seed=3), 2)
        chips = Flake("chips", old.srgb, 60.0, size_mm=(14.0, 14.0, 4.0), cut_from=old)
        asked = replace(asked, flakes=(asked.flakes[0], chips))
    program = (
        "import hashlib, sys\n"
        "from blendlab.look.prepared_sheet import prepare\n"
        "from blendlab.look.render import render, srgb8\n"
        "from blendlab.look.surfaces import top_face\n"
        "from blendlab.recipe.recipe import from_toml\n"
        "asked = from_toml(sys.stdin.read())\n"
        "picture = render(top_face(asked.sheet, 2.0), prepare(asked), asked.folding.folds)\n"
        "print(hashlib.sha256(picture.xyz1.tobytes()).hexdigest())\n"
    )
    prints = []
    for threads in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-c", program],
            input=to_toml(asked),
            env={**os.environ, "NUMBA_NUM_THREADS": threads},
            capture_output=True,
            text=True,
            check=True,
        )
        prints.append(done.stdout.strip())
    here = pictured(from_toml(to_toml(asked)), 5, px_per_mm=2.0).xyz1
    assert prints == [hashlib.sha256(here.tobytes()).hexdigest()] * 2
    other = pictured(replace(asked, folding=replace(asked.folding, seed=22)), 5, px_per_mm=2.0).xyz1
    assert np.abs(other - here).mean() > 0.01


def test_a_picture_is_the_same_however_it_is_portioned(monkeypatch):
    asked = recipe()
    whole, brute = pictured(asked, 3), pictured(asked, 3, samples=12)
    monkeypatch.setattr(light_paths, "PATHS_AT_ONCE", 77)
    monkeypatch.setattr(render_room, "POINTS_AT_ONCE", 700)
    assert np.array_equal(pictured(asked, 3).xyz1, whole.xyz1)
    assert np.array_equal(pictured(asked, 3, samples=12).xyz1, brute.xyz1)


def test_a_pixel_does_not_depend_on_how_large_the_picture_is():
    asked = recipe(sheet=Sheet(100.0, 100.0, 6.0))
    prepared, large = prepare(asked, 4), top_face(asked.sheet, 1.0)
    small = replace(large, shape=(64, 48))
    part = render(large, prepared, 4).xyz1[:64, :48]
    # What borders on the smaller picture's rim has its corners from inside it, the same but for rounding.
    assert np.abs(render(small, prepared, 4).xyz1 - part)[:-8, :-8].max() == 0.0


def test_code_is_warm_once_a_picture_was_drawn(monkeypatch, tmp_path):
    pictured(recipe(), 1, px_per_mm=0.1)
    assert light_paths.is_warm()
    monkeypatch.setattr(compiled, "cache_folder", lambda: tmp_path)
    assert not light_paths.is_warm()


def test_further_folds_do_not_alter_an_earlier_picture():
    asked = recipe()
    surface = top_face(asked.sheet, 1.0)
    few, many = (render(surface, prepare(asked, most), 2) for most in (2, 7))
    assert np.array_equal(few.xyz1, many.xyz1)


def test_a_surface_that_shows_nothing_leaves_a_hole():
    asked = recipe()
    too_wide = Flat((2, 4), (-30.0, 20.0, 6.0), (15.0, 0, 0), (0, -40.0, 0), (0, 0, -1.0))
    picture = render(too_wide, prepare(asked, 1), 1)
    assert np.isfinite(picture.xyz1[0]).all()
    assert np.isnan(picture.xyz1[1]).all()  # its pixels lie beside the slab
    assert picture.seen.sum() == pytest.approx(1)


def test_a_surface_entirely_outside_the_slab_is_refused():
    aside = replace(top_face(recipe().sheet, 0.1), corner_mm=(500.0, 30.0, 6.0))
    with pytest.raises(InputError, match="a surface must show some of the slab, got nothing; "):
        render(aside, prepare(recipe(), 1), 1)


def test_samples_that_fill_no_square_go_down_the_paths():
    assert [paths_and_points(n) for n in (1, 2, 4, 6, 9, 12, 16)] == [
        *((1, 1), (1, 2), (2, 2), (2, 3), (3, 3), (3, 4), (4, 4))
    ]


@given(st.integers(1, 16))
def test_samples_are_spread_evenly_within_their_pixel(across):
    offsets = sample_offsets(across)
    assert offsets.shape == (across, 2)
    assert np.abs(offsets).max() <= 0.5
    if across > 1:
        gaps = np.linalg.norm(offsets[:, None] - offsets, axis=2)[~np.eye(across, dtype=bool)]
        assert gaps.min() > 0.35 * across**-0.5


def test_screen_pixels_clip_what_a_screen_cannot_show():
    white = Colour.from_hex("#ffffff").xyz1
    assert srgb8(np.array([white, np.multiply(white, 1.3), (0, 0, 0), (0.0, 0.3, 0.0)])).tolist() == [
        [255, 255, 255],
        [255, 255, 255],
        [0, 0, 0],
        [0, 198, 0],
    ]
