"""Charges that were laid, not stirred, as their photos show them."""

import numpy as np
import pytest

from blendlab.photo import move_fit
from blendlab.photo.answer import PhotoMatch
from blendlab.photo.face import Marks
from blendlab.photo.match import match
from blendlab.recipe.lay import Lay
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

from .scene import BOXES, Camera, face_of, take

FLAKES = (Flake("cap white", BOXES["cap white"], 90), Flake("crate blue", BOXES["crate blue"], 60))
STRIPES = tuple(Lay((flake.name,), "stripes", count=3, angle_deg=90) for flake in FLAKES)
LAYERS = tuple(Lay((flake.name,), "layer") for flake in FLAKES)
CAMERA = Camera(columns=900, rows=675, paper="beside")


def matched(folds: int, lays: tuple[Lay, ...]) -> PhotoMatch:
    """The match of a photo of a small sheet whose charge was laid so."""
    recipe = Recipe("laid", Sheet(120, 96, 6), FLAKES, Folding(folds=folds, drag=0.5, seed=4), lays=lays)
    shot = take(recipe, FLAKES, CAMERA, np.random.default_rng(2), face_of(recipe))
    return match(shot.srgb8, FLAKES, recipe.sheet, Marks(shot.corners_px, shot.paper_px))


@pytest.mark.parametrize("folds", [0, 2])
def test_stripes_are_offered_where_the_charge_was_laid_so(
    folds: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(move_fit, "MAX_MATCHED_FOLDS", 3)
    found = matched(folds, STRIPES)
    assert found.laid[0].place == "stripes"
    assert found.laid[0].likelier > 8
    assert abs(found.laid[0].folds - folds) <= 1
    assert found.as_json()["charge"]["better"][0]["place"] == "stripes"
    assert "supposes that the charge was stirred. Laid in stripes," in found.charge_words


def test_layers_are_offered_where_the_charge_was_laid_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(move_fit, "MAX_MATCHED_FOLDS", 3)
    found = matched(2, LAYERS)
    assert (found.laid[0].place, found.laid[0].folds) == ("layer", 2)
    assert "Laid in layers, after 2 folds," in found.charge_words


def test_a_stirred_charge_is_taken_for_stirred(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(move_fit, "MAX_MATCHED_FOLDS", 3)
    found = matched(1, ())
    assert found.laid == ()
    assert found.as_json()["charge"] == {"supposed": "stirred", "better": []}
    assert found.charge_words == "This supposes that the charge was stirred."
