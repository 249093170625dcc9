"""Whole photos, from pixels to the recipe; tests/bench/photo_proof.py is the large version."""

import json
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import skimage

from blendlab.checks import InputError
from blendlab.colour.difference import delta_e00
from blendlab.colour.pigment import palette
from blendlab.colour.spaces import Colour, lab_from_xyz1, srgb1_from_hex
from blendlab.io import photo_files
from blendlab.photo import move_fit, photo_advice
from blendlab.photo.answer import PhotoMatch
from blendlab.photo.face import Marks, take_face
from blendlab.photo.match import match
from blendlab.photo.press_calibration import PressCalibration
from blendlab.photo.rectify import develop
from blendlab.photo.share_fit import Fit, Problem, fit, wave_means
from blendlab.photo.sheet_corners import find_corners
from blendlab.photo.unexplained_colours import new_flake, unexplained
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet, from_toml, to_toml
from blendlab.tables.ranges import Range

from .scene import BOXES, Camera, Shot, face_of, take

NAMES = ("cap white", "crate blue", "fender red", "lemon", "soot")
ON_HAND = tuple(Flake(name, BOXES[name], 1) for name in NAMES)
ROUGH = Camera(
    tilt_deg=18,
    gains=(1.15, 1.0, 0.8),
    stops=-0.5,
    slope=(0.05, -0.03),
    columns=900,
    rows=675,
    jpeg=80,
    noise=0.01,
    paper="beside",
)


def shoot(folds: int, grams: dict[str, float], camera: Camera) -> Shot:
    """A photo of a small invented sheet."""
    flakes = tuple(Flake(name, BOXES[name], g) for name, g in grams.items())
    recipe = Recipe("coaster sheet", Sheet(120, 96, 6), flakes, Folding(folds=folds, drag=0.6, seed=11))
    return take(recipe, ON_HAND, camera, np.random.default_rng(8), face_of(recipe))


@pytest.fixture(scope="module")
def matched() -> tuple[Shot, PhotoMatch]:
    shot = shoot(3, {"cap white": 90, "crate blue": 60, "lemon": 30}, ROUGH)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(move_fit, "MAX_MATCHED_FOLDS", 5)  # beyond the sheet's three, in half the time
        return shot, match(shot.srgb8, shot.boxes, Sheet(120, 96))


def test_flakes_shares_folds_and_mean_are_found(matched: tuple[Shot, PhotoMatch]) -> None:
    shot, answer = matched
    got = {part.flake.name: part.share for part in answer.parts}
    assert (
        np.mean([abs(got.get(n, 0) - s) for n, s in zip(NAMES, (0.5, 1 / 3, 0, 1 / 6, 0), strict=True)])
        < 0.05
    )
    assert abs(answer.folds.best - 3) <= 1
    assert 3 in answer.folds.likely(0.95)
    assert delta_e00(answer.mean.lab, lab_from_xyz1(shot.mean_xyz1)) < 3
    assert np.abs(answer.corners_px - shot.corners_px).max() < 6
    assert answer.paper == "found"
    assert answer.advice == ("Check that the white that was found is paper, or point it out yourself.",)


def test_a_calibrated_press_is_used(
    matched: tuple[Shot, PhotoMatch], monkeypatch: pytest.MonkeyPatch
) -> None:
    shot, any_press = matched
    monkeypatch.setattr(move_fit, "MAX_MATCHED_FOLDS", 5)
    press = PressCalibration(Range(0.55, 0.6, 0.65), Range(0.25, 0.3, 0.35), Range(0.9, 1.1, 1.3), 6, 2.0)
    known = match(shot.srgb8, shot.boxes, Sheet(120, 96), press=press)
    assert 0.55 <= known.recipe.folding.drag <= 0.65
    assert 0.25 <= known.recipe.folding.unevenness <= 0.35
    assert known.recipe.reach_factor == 1.1
    assert any_press.recipe.reach_factor == 1.0
    assert known.folds.probability[3] > 0.2


def test_bands_hold_their_share(matched: tuple[Shot, PhotoMatch]) -> None:
    for part in matched[1].parts:
        assert 0 <= part.low <= part.share <= part.high <= 1
        assert not part.is_new


def test_the_recipe_can_be_kept_and_pressed_again(matched: tuple[Shot, PhotoMatch]) -> None:
    recipe = matched[1].recipe
    assert from_toml(to_toml(recipe)) == recipe
    assert recipe.folding.folds == matched[1].folds.best
    assert sum(flake.grams for flake in recipe.flakes) == pytest.approx(100)
    assert matched[1].predicted_xyz1.shape == matched[1].face_xyz1.shape
    blurs, seen, predicted = np.array(matched[1].curve).T
    assert (np.diff(blurs) > 0).all()
    assert (np.diff(seen) < 0).all()
    assert (np.diff(predicted) < 0).all()


def test_the_answer_keeps_the_contract(matched: tuple[Shot, PhotoMatch]) -> None:
    found = json.loads(json.dumps(matched[1].as_json()))
    assert {"percent", "folds", "mean", "delta_e00"} <= found.keys()
    assert sum(found["percent"].values()) == pytest.approx(100, abs=0.3)
    assert sum(found["folds"]["probability"]) == pytest.approx(1, abs=1e-3)
    assert found["folds"]["probability"].index(max(found["folds"]["probability"])) == found["folds"]["best"]
    assert set(found["mean"]) == {"lab", "srgb"}


def plain(colour: str, paper: bool) -> npt.NDArray[np.uint8]:
    """A noisy photo of a sheet of one colour on a table, filling most of it."""
    table = np.full((300, 400, 3), (120, 96, 70), float)
    if paper:
        table[:, 320:] = 235
    table[40:260, 50:270] = 255 * srgb1_from_hex(colour)
    noisy = table + np.random.default_rng(1).normal(0, 4, table.shape)
    return np.clip(np.rint(noisy), 0, 255).astype(np.uint8)


PLAIN_CORNERS = [(50, 40), (270, 40), (270, 260), (50, 260)]


@pytest.mark.parametrize(
    ("name", "paper"), [("crate blue", True), ("soot", True), ("soot", False), ("cap white", False)]
)
def test_one_colour_makes_every_fold_count_equally_likely(name: str, paper: bool) -> None:
    box = (330.0, 20.0, 60.0, 60.0) if paper else None
    answer = match(
        plain(BOXES[name], paper),
        ON_HAND,
        Sheet(200, 200),
        Marks(PLAIN_CORNERS, box),
        moves=("half", "thirds"),
    )
    assert [part.flake.name for part in answer.parts] == [name]
    assert answer.folds.probability == pytest.approx(np.full(11, 1 / 11))
    assert answer.moves == {"half": 0.5, "thirds": 0.5}
    assert answer.as_json()["note"] == answer.note
    assert "says nothing about folds" in answer.note
    assert delta_e00(answer.mean.lab, Colour.from_hex(BOXES[name]).lab) < 3


def test_a_blend_of_one_colour_counts_as_heavily_folded() -> None:
    photo = plain("#808080", True)
    answer = match(photo, ON_HAND, Sheet(200, 200), Marks(PLAIN_CORNERS, (330, 20, 60, 60)))
    assert {part.flake.name for part in answer.parts} == {"cap white", "soot"}
    assert answer.recipe.folding.folds == answer.folds.best == 10
    assert answer.delta_e00 < 6  # ten folds of black and white still show layers, which lighten the mean


@pytest.mark.parametrize("paper", [True, False])
def test_no_sheet_reads_brighter_than_white(paper: bool) -> None:
    photo = plain("#fdfdfd", paper)
    if paper:
        photo[:, 320:] = np.minimum(photo[:, 320:], 225)  # in the shade
    face = take_face(photo, Sheet(200, 200), Marks(PLAIN_CORNERS, (330, 20, 60, 60) if paper else None))
    assert face.is_too_bright
    assert lab_from_xyz1(face.xyz1.mean(axis=(0, 1)))[0] < 99
    assert any("brighter than any white" in line for line in photo_advice.for_photo(face)) == paper


def test_a_move_named_twice_counts_once() -> None:
    photo = plain(BOXES["soot"], True)
    answer = match(
        photo, ON_HAND, Sheet(200, 200), Marks(PLAIN_CORNERS), moves=("half", "half", "twist", "twist:180")
    )
    assert answer.moves == {"half": 0.5, "twist:180": 0.5}
    with pytest.raises(InputError, match="the number of moves must be a whole number from 1"):
        match(photo, ON_HAND, Sheet(200, 200), Marks(PLAIN_CORNERS), moves=())
    with pytest.raises(InputError, match="a move must be one of those known, got 'sideways'; choose half"):
        match(photo, ON_HAND, Sheet(200, 200), Marks(PLAIN_CORNERS), moves=("sideways",))


def test_a_colour_that_is_not_on_the_list_becomes_a_new_flake() -> None:
    shot = shoot(1, {"cap white": 100, "bottle green": 60}, Camera(columns=900, rows=675, paper="beside"))
    face = take_face(shot.srgb8, Sheet(120, 96), Marks(white_px=shot.paper_px))
    colours = face.xyz1[face.clear].astype(np.float64)

    def fitted(flakes: tuple[Flake, ...]) -> tuple[Problem, Fit]:
        problem = Problem(wave_means(colours), palette(flakes), face.sheet, "half", (0.05, 0.03, 0.03))
        even = np.full(len(flakes), 1 / len(flakes))
        return problem, fit(problem, 1, even, np.zeros(3))

    problem, found = fitted(ON_HAND[:2])
    left = unexplained(colours, problem, 1, found)
    assert len(left) > 200
    new = new_flake(left, 1, NAMES)
    assert new.name == "new colour 1"
    assert delta_e00(Colour.from_hex(new.srgb).lab, Colour.from_hex(BOXES["bottle green"]).lab) < 6
    problem, found = fitted((*ON_HAND[:2], new))
    assert found.shares[2] == pytest.approx(60 / 160, abs=0.08)
    assert len(unexplained(colours, problem, 1, found)) == 0


@pytest.mark.parametrize("where", ["under", "beside", "none"])
def test_corners_are_found_wherever_the_paper_lies(where: str) -> None:
    camera = Camera(tilt_deg=24, towards_deg=200, roll_deg=-9, columns=900, rows=675, paper=where, glare=0.8)
    shot = shoot(2, {"fender red": 60, "lemon": 50, "crate blue": 60}, camera)
    found = find_corners(develop(shot.srgb8))
    assert found is not None
    assert np.abs(found.corners_px - shot.corners_px).max() < 6


PHOTOS = Path(skimage.__file__).parent / "data"  # sample photographs inside the package scikit-image


@pytest.mark.parametrize(
    "name",
    ["astronaut.png", "coffee.png", "chelsea.png", "page.png", "gravel.png", "retina.jpg", "rocket.jpg"],
)
def test_photos_of_other_things_are_refused(name: str) -> None:
    with pytest.raises(InputError, match="this does not look like marbled plastic: no sheet with four"):
        match(photo_files.read_photo(PHOTOS / name), ON_HAND, Sheet(200, 200))


def test_impossible_settings_are_refused(matched: tuple[Shot, PhotoMatch]) -> None:
    photo = matched[0].srgb8
    with pytest.raises(InputError, match="the number of flakes on hand must be a whole number from 1"):
        match(photo, (), Sheet(120, 96))
    with pytest.raises(InputError, match="the sheet's corners must go round it"):
        match(photo, ON_HAND, Sheet(120, 96), Marks([[100, 100], [500, 400], [500, 100], [100, 400]]))
    with pytest.raises(InputError, match="burnt out"):
        match(
            np.full((300, 300, 3), 255, np.uint8),
            ON_HAND,
            Sheet(120, 96),
            Marks([[9, 9], [290, 9], [290, 290], [9, 290]]),
        )
