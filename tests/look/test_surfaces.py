"""Faces, planed faces and saw cuts: where their points lie, and that they meet."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.colour.difference import delta_e00
from blendlab.colour.spaces import lab_from_xyz1
from blendlab.look.block import Block
from blendlab.look.camera import aimed_at, lit
from blendlab.look.faces import FACES, SIDES, Face
from blendlab.look.prepared_sheet import PreparedSheet, prepare
from blendlab.look.render import render
from blendlab.look.solid_view import SolidView, solid_view
from blendlab.look.surfaces import Flat, planed, saw_cut, top_face
from blendlab.look.view import SurfaceSpec
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

SHEET = Sheet(60.0, 40.0, 8.0)
FLAKES = (Flake("cream", "#f1e6c8", 60), Flake("red", "#c0392b", 30), Flake("plum", "#5b2340", 10))
FOLDS = 2
# Edges along which two faces meet: which side of each picture, and whether they run opposite ways.
MEETINGS = [
    ("top", "below", "front", "above", False),
    ("top", "above", "back", "above", True),
    ("top", "right", "right", "above", True),
    ("top", "left", "left", "above", False),
    ("bottom", "below", "front", "below", True),
    ("bottom", "above", "back", "below", False),
    ("bottom", "left", "right", "below", True),
    ("bottom", "right", "left", "below", False),
    ("front", "right", "right", "left", False),
    ("right", "right", "back", "left", False),
    ("back", "right", "left", "left", False),
    ("left", "right", "front", "left", False),
]


@pytest.fixture(scope="module")
def prepared() -> PreparedSheet:
    """A sheet that light does not enter, so that two faces show the same point alike."""
    folding = Folding(folds=FOLDS, drag=0.4, unevenness=1.0)
    return replace(prepare(Recipe("tile", SHEET, FLAKES, folding)), light_depth_mm=1e-6)


def middles(surface: Flat) -> np.ndarray:
    rows, columns = surface.shape
    return surface.frames(0, rows)[:, :3].reshape(rows, columns, 3)


@pytest.mark.parametrize("face", SIDES)
def test_every_face_is_seen_from_outside_true_to_size(face: str) -> None:
    surface = planed(SHEET, 3.0, 0.0, face)
    right, down, inward = (np.array(v) for v in (surface.right_mm, surface.down_mm, surface.inward))
    np.testing.assert_allclose(np.cross(right, down), np.linalg.norm(right) * np.linalg.norm(down) * inward)
    size = np.array(SHEET.size_mm)
    assert surface.shape == tuple(
        round(3 * float(abs(way) / np.linalg.norm(way) @ size)) for way in (down, right)
    )
    points = middles(surface).reshape(-1, 3) - [0, 0, size[2] / 2]
    out = points @ -inward
    np.testing.assert_allclose(out, abs(inward) @ size / 2)  # all on the face itself
    along = np.ptp(points, axis=0) + abs(right) + abs(down)
    np.testing.assert_allclose(along, size * (inward == 0))


@given(st.builds(Sheet, st.floats(20, 300), st.floats(20, 300), st.floats(1, 100)), st.floats(0.01, 1))
def test_pixels_tile_the_whole_upper_face(sheet: Sheet, px_per_mm: float) -> None:
    surface = top_face(sheet, px_per_mm)
    points = middles(surface)
    rows, columns = surface.shape
    assert abs(columns - sheet.length_mm * px_per_mm) <= max(0.5, 1 - sheet.length_mm * px_per_mm)
    assert abs(rows - sheet.width_mm * px_per_mm) <= max(0.5, 1 - sheet.width_mm * px_per_mm)
    assert np.array(surface.right_mm) * columns == pytest.approx([sheet.length_mm, 0, 0])
    assert np.array(surface.down_mm) * rows == pytest.approx([0, -sheet.width_mm, 0])
    assert points.mean(axis=(0, 1)) == pytest.approx([0, 0, sheet.thickness_mm], abs=1e-9)
    assert np.all(points[..., 2] == pytest.approx(sheet.thickness_mm))
    assert np.all(np.abs(points[..., :2]) < [sheet.length_mm / 2, sheet.width_mm / 2])
    assert surface.inward == (0, 0, -1)
    steps = (*surface.right_mm, *surface.down_mm, *surface.inward)
    assert np.all(surface.frames(0, rows)[:, 3:] == steps)


def test_the_upper_face_is_seen_from_above_with_the_length_across() -> None:
    surface = top_face(Sheet(120.0, 80.0, 6.0), 1.0)
    points = middles(surface)
    assert points.shape == (80, 120, 3)
    assert points[0, 0] == pytest.approx([-59.5, 39.5, 6.0])
    assert points[-1, -1] == pytest.approx([59.5, -39.5, 6.0])


@given(st.integers(0, 39), st.integers(1, 40))
def test_rows_come_in_any_portion(first: int, count: int) -> None:
    surface, last = top_face(SHEET, 1.0), min(first + count, 40)
    assert np.array_equal(surface.frames(first, last), surface.frames(0, 40)[first * 60 : last * 60])


@pytest.mark.parametrize("face", SIDES)
def test_planing_to_nothing_is_the_face(prepared: PreparedSheet, face: str) -> None:
    assert planed(SHEET, 2.5) == top_face(SHEET, 2.5)
    untouched, dusted = (render(planed(SHEET, 2.0, depth, face), prepared, FOLDS, 1) for depth in (0.0, 1e-7))
    delta_e = delta_e00(*(lab_from_xyz1(picture.xyz1) for picture in (untouched, dusted)))
    assert np.mean(delta_e > 0.1) < 0.01  # only where the next layer is less than a hair away


def test_planing_goes_straight_in() -> None:
    for face in SIDES:
        untouched, deep = planed(SHEET, 2.0, 0.0, face), planed(SHEET, 2.0, 1.5, face)
        np.testing.assert_allclose(
            middles(deep) - middles(untouched), 1.5 * np.array(deep.inward) + 0 * middles(deep)
        )


@pytest.mark.parametrize(("one", "its", "other", "others", "opposite"), MEETINGS)
def test_faces_meet_in_the_same_points_and_colours(
    prepared: PreparedSheet, one: str, its: str, other: str, others: str, opposite: bool
) -> None:
    px = 400.0
    first, second = planed(SHEET, px, 0.0, one), planed(SHEET, px, 0.0, other)
    strips = [_strip(surface, side) for surface, side in ((first, its), (second, others))]
    ends = [middles(strip).reshape(-1, 3) for strip in strips]
    ends[1] = ends[1][::-1] if opposite else ends[1]
    # Each row of pixels lies half a pixel within its own face.
    np.testing.assert_allclose(np.linalg.norm(ends[0] - ends[1], axis=1), np.hypot(0.5, 0.5) / px)
    labs = [lab_from_xyz1(render(strip, prepared, FOLDS, 1).xyz1).reshape(-1, 3) for strip in strips]
    labs[1] = labs[1][::-1] if opposite else labs[1]
    delta_e = delta_e00(*labs)
    assert np.median(delta_e) < 0.1
    assert np.mean(delta_e > 5) < 0.1  # where a layer ends within the half pixel between


def _strip(surface: Flat, side: str) -> Flat:
    """The outermost pixels of a face at one of its sides."""
    rows, columns = surface.shape
    right, down = np.array(surface.right_mm), np.array(surface.down_mm)
    corner = np.array(surface.corner_mm)
    if side == "below":
        corner = corner + (rows - 1) * down
    if side == "right":
        corner = corner + (columns - 1) * right
    shape = (1, columns) if side in ("above", "below") else (rows, 1)
    return replace(surface, shape=shape, corner_mm=tuple(corner))


def test_a_saw_cut_along_an_edge_is_that_edge() -> None:
    front, right = planed(SHEET, 2.0, 0.0, "front"), planed(SHEET, 2.0, 0.0, "right")
    np.testing.assert_allclose(middles(saw_cut(SHEET, 2.0, (7.0, -20.0), 0.0)), middles(front), atol=1e-9)
    np.testing.assert_allclose(middles(saw_cut(SHEET, 2.0, (30.0, 3.0), 90.0)), middles(right), atol=1e-9)
    behind = planed(SHEET, 2.0, 15.0, "front")
    np.testing.assert_allclose(middles(saw_cut(SHEET, 2.0, (0.0, -5.0), 0.0)), middles(behind), atol=1e-9)


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, -75.0, 200.0])
@pytest.mark.parametrize("tilt_deg", [0.0, 40.0, -55.0, 80.0])
def test_a_saw_cut_shows_its_plane_as_far_as_it_runs_in_the_slab(
    prepared: PreparedSheet, angle_deg: float, tilt_deg: float
) -> None:
    surface = saw_cut(SHEET, 6.0, (5.0, -3.0), angle_deg, tilt_deg)
    normal = np.array(surface.inward)
    points = middles(surface).reshape(-1, 3)
    np.testing.assert_allclose((points - [5.0, -3.0, 8.0]) @ normal, 0.0, atol=1e-9)
    assert normal[2] == pytest.approx(-np.sin(np.radians(tilt_deg)))
    seen = np.isfinite(render(surface, prepared, FOLDS, 1).xyz1[..., 0])
    inside = np.all(np.abs(points - [0, 0, 4.0]) <= np.array(SHEET.size_mm) / 2 + 1e-6, axis=1)
    np.testing.assert_array_equal(seen.ravel(), inside)
    pixel = np.linalg.norm(surface.right_mm) * np.linalg.norm(surface.down_mm)
    assert seen.sum() * pixel == pytest.approx(_section(normal, np.array([5.0, -3.0, 8.0])), rel=0.03)
    assert seen.any(axis=0).mean() > 0.97  # the picture is no larger than the cut
    assert seen.any(axis=1).mean() > 0.9


def _section(normal: np.ndarray, point: np.ndarray) -> float:
    """Area of a plane's section of the slab: points strewn in a thin layer about the plane, counted."""
    rng = np.random.default_rng(0)
    points = rng.uniform((-30, -20, 0), (30, 20, 8), (2_000_000, 3))
    near = np.abs((points - point) @ normal) < 0.5
    return near.mean() * 60 * 40 * 8


def test_a_block_shows_the_right_picture_on_each_of_three_faces(prepared: PreparedSheet) -> None:
    view = solid_view(Block(SHEET), 500)
    frames = view.frames(0, view.shape[0])
    picture = render(view, prepared, 0, 1).xyz1.reshape(-1, 3)
    seen = np.isfinite(frames[:, 0])
    np.testing.assert_array_equal(np.isfinite(picture[:, 0]), seen)
    shown = set()
    for face in SIDES:
        surface = planed(SHEET, 8.0, 0.0, face)
        on_it = seen & np.all(np.isclose(frames[:, 9:], surface.inward), axis=1)
        if not on_it.any():
            continue
        shown.add(face)
        at = frames[on_it][:, :3] - surface.corner_mm
        steps = np.array([surface.down_mm, surface.right_mm])
        index = np.floor(at @ steps.T / (steps**2).sum(axis=1)).astype(int)
        assert index.min() >= 0
        index = np.minimum(index, np.array(surface.shape) - 1)
        flat = lab_from_xyz1(render(surface, prepared, 0, 1).xyz1)
        seen_here = lab_from_xyz1(picture[on_it])
        alike, mirrored = (
            np.mean(delta_e00(seen_here, way[index[:, 0], index[:, 1]]) < 5) for way in (flat, flat[:, ::-1])
        )
        assert alike > 0.8  # the nearest pixels of a coarser grid; the rest lie where a flake ends
        assert mirrored < 0.65
    assert shown == {"top", "front", "right"}


def test_a_block_before_another_camera_shows_its_other_faces() -> None:
    block = Block(SHEET)
    view = SolidView(block, aimed_at(block.hull_mm, 140.0, -25.0, 200))
    frames = view.frames(0, view.shape[0])
    places = frames[np.isfinite(frames[:, 0]), :3]
    np.testing.assert_allclose(places.min(axis=0), [-30.0, -20.0, 0.0], atol=0.5)
    np.testing.assert_allclose(places.max(axis=0), [30.0, 20.0, 8.0], atol=0.5)
    inward = {tuple(np.round(way)) for way in frames[np.isfinite(frames[:, 0]), 9:]}
    assert inward == {(1, 0, 0), (0, -1, 0), (0, 0, 1)}  # left, back and bottom
    wide = np.isfinite(frames[:, 0]).reshape(view.shape)
    assert wide.any(axis=0).mean() == pytest.approx(1 / 1.04, abs=0.03)  # it fills the picture
    assert wide.any(axis=1).mean() == pytest.approx(1 / 1.04, abs=0.04)


def test_a_view_is_shaded_and_set_on_a_ground() -> None:
    view = solid_view(Block(SHEET), 80)
    shade = view.shade()
    assert len(np.unique(shade)) == 3
    assert shade.max() == 1.0
    assert shade.min() > 0.3
    picture = np.full((*view.shape, 3), 0.5, np.float32)
    picture[0, 0] = np.nan
    shown = lit(picture, shade, 0.9)
    assert np.all(np.isfinite(shown))
    np.testing.assert_allclose(shown[0, 0, 1], 0.9)
    np.testing.assert_allclose(shown[5, 5], 0.5 * shade[5, 5])


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda: planed(SHEET, 2.0, 0.0, "upper"), "face must be one of those known, got 'upper'"),
        (lambda: planed(SHEET, 2.0, -1.0), "depth_mm planed off must be a number from 0 to 8, got -1.0"),
        (lambda: planed(SHEET, 2.0, 8.0), "planing must leave something of 8 mm, got 8.0; plane off less"),
        (lambda: planed(SHEET, 2.0, float("nan"), "left"), "depth_mm planed off must be a number"),
        (
            lambda: saw_cut(SHEET, 2.0, (0.0, 25.0), 0.0),
            "must pass through the slab, got one at 0, 25 mm and 0 degrees; the slab reaches 30 and 20",
        ),
        (lambda: saw_cut(SHEET, 2.0, (0.0, 0.0), 10.0, 95.0), "tilt_deg of a saw cut must be a number"),
        (lambda: saw_cut(SHEET, 2.0, (float("inf"), 0.0)), "x of a saw cut must be a number"),
        (lambda: solid_view(Block(SHEET), 0), "width_px of a view must be a whole number from 1 to 8000"),
    ],
)
def test_what_cannot_be_seen_is_refused_in_a_sentence(ask: object, says: str) -> None:
    with pytest.raises(InputError) as caught:
        ask()  # type: ignore[operator]
    assert says in str(caught.value)


def test_a_face_that_is_listed_but_not_drawn_is_refused(monkeypatch):
    monkeypatch.setitem(FACES, "edge", Face("edge", "Edge"))
    with pytest.raises(InputError, match="edge"):
        SurfaceSpec("edge").surface(SHEET, 1.0)
