"""More flakes on hand than a recipe may hold: the likeliest are found among them."""

import numpy as np
import pytest

from blendlab.checks import InputError
from blendlab.photo.face import Marks, take_face
from blendlab.photo.match import match
from blendlab.photo.move_fit import Case
from blendlab.photo.shortlist import KEPT, MAX_ON_HAND, shortlist
from blendlab.photo.surrogate_sheets import ANY_PRESS
from blendlab.recipe.recipe import MAX_FLAKES, Flake, Folding, Recipe, Sheet
from blendlab.runtime.progress import no_progress

from .scene import BOXES, Camera, Shot, face_of, take

# A dozen more boxes, each dE*ab 20 or more from the flakes of the sheet.
MORE = (
    *("#7f1d5a", "#d7d34a", "#3b2f2f", "#0f6b6b", "#a7c7b0", "#8a4f2a"),
    *("#30475e", "#c9a0dc", "#5c7a29", "#e8b4a0", "#7fb7be", "#b5651d"),
)
SHED = (
    *(Flake(f"more {n}", srgb, 1) for n, srgb in enumerate(MORE)),
    *(Flake(name, srgb, 1) for name, srgb in BOXES.items()),
)
CAMERA = Camera(columns=800, rows=600, paper="beside")


def shoot(folds: int, grams: dict[str, float]) -> Shot:
    flakes = tuple(Flake(name, BOXES[name], g) for name, g in grams.items())
    recipe = Recipe("past sheet", Sheet(140, 110, 6), flakes, Folding(folds=folds, seed=5))
    return take(recipe, SHED, CAMERA, np.random.default_rng(3), face_of(recipe, 1.5))


@pytest.mark.parametrize("folds", [1, 5])
def test_the_flakes_of_a_sheet_are_among_those_kept(folds: int) -> None:
    grams = {"cap white": 80.0, "crate blue": 50.0, "fender red": 40.0}
    shot = shoot(folds, grams)
    face = take_face(shot.srgb8, shot.recipe.sheet, Marks(shot.corners_px, shot.paper_px))
    kept = shortlist(Case(face, SHED, "half", ANY_PRESS), no_progress)
    assert len(kept) == KEPT
    assert set(grams) <= {flake.name for flake in kept}
    assert [SHED.index(flake) for flake in kept] == sorted(SHED.index(flake) for flake in kept)


def test_a_list_that_fits_a_recipe_is_left_alone() -> None:
    shot = shoot(0, {"cap white": 80.0, "soot": 50.0})
    face = take_face(shot.srgb8, shot.recipe.sheet, Marks(shot.corners_px, shot.paper_px))
    some = SHED[:MAX_FLAKES]
    assert shortlist(Case(face, some, "half", ANY_PRESS), no_progress) == some


def test_too_many_flakes_are_refused() -> None:
    crowd = [Flake(f"box {n}", "#808080", 1) for n in range(MAX_ON_HAND + 1)]
    with pytest.raises(InputError, match="the number of flakes on hand must be a whole number from 1 to 60"):
        match(np.zeros((90, 90, 3), np.uint8), crowd, Sheet(100, 100))
