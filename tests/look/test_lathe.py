"""Turned blanks: profiles, the solid's surface, its shaded view and its unrolled one."""

import itertools
import math

import numpy as np
import pytest

from blendlab.checks import InputError
from blendlab.folding.trace import follow_back
from blendlab.look.faces import AXES
from blendlab.look.lathe import Blank, blank
from blendlab.look.prepared_sheet import PreparedSheet, prepare
from blendlab.look.profile import Profile, ball, bowl, rod, spindle
from blendlab.look.render import render
from blendlab.look.solid_view import solid_view
from blendlab.look.unrolled import unrolled
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

BLOCK = Sheet(70.0, 60.0, 40.0)
FLAKES = (Flake("cream", "#f1e6c8", 60), Flake("red", "#c0392b", 30), Flake("plum", "#5b2340", 10))
SHAPES = {
    "rod": rod(30.0, 12.0),
    "ball": ball(17.0),
    "spindle": spindle(36.0, 15.0),
    "bowl": bowl(20.0, 18.0, 3.0),
    "pull": Profile(((0, 5), (6, 5), (10, 4), (16, 10), (20, 9), (22, 0))),
}


@pytest.fixture(scope="module")
def prepared() -> PreparedSheet:
    folding = Folding(folds=7, drag=0.4, unevenness=0.5)
    return prepare(Recipe("block", BLOCK, FLAKES, folding))


def local(solid: Blank, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Length along the axis, from its middle, and radius, of points of the slab."""
    own = solid.axis_first(points - solid.middle_mm)
    return own[:, 0], np.hypot(own[:, 1], own[:, 2])


def away(solid: Blank, points: np.ndarray) -> np.ndarray:
    """Distance of points from the closed outline."""
    at = np.stack(local(solid, points), axis=-1)
    start, step = solid.outline_mm[:-1], np.diff(solid.outline_mm, axis=0)
    along = np.einsum("nki,ki->nk", at[:, None] - start, step) / (step**2).sum(axis=1)
    nearest = start + np.clip(along, 0, 1)[..., None] * step
    return np.linalg.norm(at[:, None] - nearest, axis=-1).min(axis=1)


def seen_frames(surface: object) -> np.ndarray:
    frames = surface.frames(0, surface.shape[0])  # type: ignore[attr-defined]
    return frames[np.isfinite(frames[:, 0])]


@pytest.mark.parametrize("axis", AXES)
@pytest.mark.parametrize("shape", SHAPES)
def test_what_is_seen_is_on_the_blank_and_is_seen_from_outside(shape: str, axis: str) -> None:
    solid = blank(SHAPES[shape], BLOCK, axis)
    for surface in (solid_view(solid, 90), unrolled(solid, 2.0)):
        frames = seen_frames(surface)
        assert len(frames) > 100
        assert away(solid, frames[:, :3]).max() < 1e-6
        inward = frames[:, 9:]
        np.testing.assert_allclose(np.linalg.norm(inward, axis=1), 1.0)
        assert away(solid, frames[:, :3] + 0.01 * inward).max() <= 0.0101
        for step in (frames[:, 3:6], frames[:, 6:9]):  # both steps lie in the surface
            np.testing.assert_allclose(np.einsum("ij,ij->i", step, inward), 0.0, atol=1e-9)
        turn = np.einsum("ij,ij->i", np.cross(frames[:, 3:6], frames[:, 6:9]), inward)
        assert turn.min() >= -1e-12  # right x down points into the plastic


def test_a_little_inward_is_inside_the_ball_and_the_view_shows_its_near_half() -> None:
    solid = blank(ball(17.0), BLOCK)
    view = solid_view(solid, 200)
    frames = seen_frames(view)
    out = frames[:, :3] - solid.middle_mm
    np.testing.assert_allclose(np.linalg.norm(out, axis=1), 17.0, rtol=3e-3)  # a ball of 48 cones
    np.testing.assert_allclose(np.linalg.norm(out + frames[:, 9:], axis=1), 16.0, rtol=3e-3)
    to_eye = view.camera.eye_mm - frames[:, :3]
    assert np.einsum("ij,ij->i", to_eye, -frames[:, 9:]).min() >= 0
    disc = np.isfinite(view.frames(0, view.shape[0])[:, 0]).mean()
    assert disc == pytest.approx(math.pi / 4 / 1.04**2, rel=0.03)
    shade = view.shade()
    assert 0.9 < np.nanmax(shade) <= 1.0
    assert np.isnan(shade[0, 0])


def cones(points: list[tuple[float, float]]) -> float:
    """Area round an axis: that of a cone's side is pi (r0 + r1) times its slant height."""
    pairs = itertools.pairwise(points)
    return sum(math.pi * (r0 + r1) * math.hypot(x1 - x0, r1 - r0) for (x0, r0), (x1, r1) in pairs)


@pytest.mark.parametrize(
    ("shape", "area_mm2"),
    [
        ("rod", 2 * math.pi * 12 * 30),
        ("ball", 4 * math.pi * 17**2),  # Archimedes: as its cylinder's side
        ("pull", cones([(0, 5), (6, 5), (10, 4), (16, 10), (20, 9), (22, 0)])),
    ],
)
def test_unrolled_surfaces_have_the_blanks_area(shape: str, area_mm2: float) -> None:
    surface = unrolled(blank(SHAPES[shape], BLOCK), 4.0)
    frames = seen_frames(surface)
    pixel = np.linalg.norm(frames[0, 3:6]) * np.linalg.norm(frames[0, 6:9])
    assert len(frames) * pixel == pytest.approx(area_mm2, rel=0.01)


def test_an_unrolled_rod_goes_once_round_from_the_far_end_down() -> None:
    solid = blank(rod(30.0, 12.0), BLOCK, "upright")
    surface = unrolled(solid, 2.0)
    rows, columns = surface.shape
    assert (rows, columns) == (60, round(2 * math.pi * 12 * 2))
    places = surface.frames(0, rows)[:, :3].reshape(rows, columns, 3)
    assert places[0, :, 2] == pytest.approx(20.0 + 15.0 - 0.25)
    assert places[-1, :, 2] == pytest.approx(20.0 - 15.0 + 0.25)
    angle = np.unwrap(np.arctan2(places[0, :, 1], places[0, :, 0]))
    assert np.all(np.diff(angle) > 0)
    assert angle[-1] - angle[0] == pytest.approx(2 * math.pi * (1 - 1 / columns))
    np.testing.assert_allclose(
        np.linalg.norm(places[0, 0] - places[0, -1]), 2 * math.pi * 12 / columns, rtol=1e-2
    )


def test_a_ball_of_the_block_has_the_recipes_shares(prepared: PreparedSheet) -> None:
    radius, wanted = 17.0, 40_000
    rng = np.random.default_rng(3)
    points = rng.uniform(-radius, radius, (2 * wanted, 3))
    points = points[np.linalg.norm(points, axis=1) <= radius] + [0.0, 0.0, 20.0]
    kinds = prepared.charge.kinds_at(follow_back(points, prepared.programme, 7))
    seen = np.bincount(kinds, minlength=3) / len(points)
    shares = prepared.recipe.shares
    sampling = np.sqrt(shares * (1 - shares) / len(points))
    # The ball is an eighth of the block, through which seven folds have spread the flakes, if not evenly.
    assert np.all(np.abs(seen - shares) < 5 * sampling + 0.015)


def test_a_turned_blank_is_drawn_like_any_face(prepared: PreparedSheet) -> None:
    solid = blank(bowl(20.0, 18.0, 3.0), BLOCK, "upright")
    for surface in (solid_view(solid, 120), unrolled(solid, 2.0)):
        picture = render(surface, prepared, 7, 4)
        frames = surface.frames(0, surface.shape[0])
        np.testing.assert_array_equal(np.isfinite(picture.xyz1[..., 1]).ravel(), np.isfinite(frames[:, 0]))
        assert picture.seen.sum() == pytest.approx(1.0)
        assert np.abs(picture.seen - prepared.recipe.shares).max() < 0.1
        assert 0.0 <= picture.segregation <= 1.0


def test_the_slabs_own_middle_is_where_a_blank_stands() -> None:
    solid = blank(rod(60.0, 20.0), BLOCK)
    np.testing.assert_array_equal(solid.middle_mm, [0.0, 0.0, 20.0])
    assert solid.outline_mm[:, 0].tolist() == [-30.0, -30.0, 30.0, 30.0]


def test_profiles_say_what_they_measure() -> None:
    assert (ball(17.0).length_mm, ball(17.0).radius_mm) == pytest.approx((34.0, 17.0))
    assert (spindle(36.0, 15.0).length_mm, spindle(36.0, 15.0).radius_mm) == pytest.approx((36.0, 15.0))
    hollow = bowl(20.0, 18.0, 3.0)
    assert (hollow.length_mm, hollow.radius_mm) == pytest.approx((20.0, 18.0))
    outside, inside = np.array(hollow.points_mm[1:49]), np.array(hollow.points_mm[49:])
    walls_mm = np.linalg.norm(outside[:, None] - inside, axis=-1).min(axis=1)
    assert walls_mm == pytest.approx(3.0, abs=0.1)  # an even wall above the foot
    np.testing.assert_allclose(hollow.points_mm[0], (0.0, 0.4 * 18.0))
    np.testing.assert_allclose(hollow.points_mm[-1], (3.0, 0.0), atol=1e-9)


def test_a_profile_may_be_given_from_either_end() -> None:
    points = ((0.0, 5.0), (10.0, 8.0), (20.0, 0.0))
    np.testing.assert_array_equal(Profile(points).closed, Profile(points[::-1]).closed)
    np.testing.assert_array_equal(Profile(points).closed, [(0, 0), *points])


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (
            lambda: Profile(((0, 10), (40, -2), (60, 8))),
            "from 0 to 1000, got -2; give radii of 0 or more, in millimetres; the axis cannot be",
        ),
        (lambda: Profile(((0, 10),)), "a profile must be 2 to 200 points of length and radius, got"),
        (lambda: Profile(((0, 10), (5, 5, 5))), "of length and radius, got (5, 5, 5); list them"),
        (lambda: Profile("ab"), "points of length and radius, got 'a'"),
        (lambda: Profile(((0, 10), (float("nan"), 5))), "a length of a profile must be a number from -2000"),
        (lambda: Profile(((0, 10), (0, 10), (5, 5))), "neighbouring points of a profile must differ, got"),
        (lambda: Profile(((0, 0), (10, 0))), "a profile must leave its axis"),
        (lambda: Profile(((0, 5), (20, 5), (10, 10), (10, 1))), "not cross itself, got (10.0, 5.0)"),
        (lambda: bowl(20, 18, 17), "wall_mm of a bowl must be a number from 0.5 to 16.2, got 17"),
        (lambda: blank(ball(21), BLOCK), "must fit in the slab, got 42 x 42 x 42 mm; the slab has 70 x 60"),
        (lambda: blank(ball(10), BLOCK, "across"), "choose length, width or upright"),
    ],
)
def test_what_cannot_be_turned_is_refused_in_a_sentence(ask: object, says: str) -> None:
    with pytest.raises(InputError) as caught:
        ask()  # type: ignore[operator]
    assert says in str(caught.value)
