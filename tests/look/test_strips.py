"""A picture drawn strip by strip is the picture drawn at once."""

import numpy as np
import pytest

from blendlab.checks import InputError
from blendlab.look import strips
from blendlab.look.prepared_sheet import prepare
from blendlab.look.render import render
from blendlab.look.strips import Strips
from blendlab.look.surfaces import Surface
from blendlab.look.view import SurfaceSpec, look_at
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

RECIPE = Recipe(
    "Tile", Sheet(40, 30, 6), (Flake("white", "#f2f0e8", 60), Flake("blue", "#1d4f8f", 40)), Folding(folds=2)
)
PREPARED = prepare(RECIPE, 2)


def drawn(surface: Surface) -> Strips:
    return Strips(surface, lambda part: render(part, PREPARED, 2))


@pytest.mark.parametrize("face", ["top", "sawn", "turned"])
def test_strips_make_the_picture_that_is_drawn_at_once(face: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(strips, "STRIP_ROWS", 32)
    surface = SurfaceSpec(face, tilt_deg=20.0 if face == "sawn" else 0.0).surface(RECIPE.sheet, 4)
    whole, parts = look_at(surface, PREPARED, 2), drawn(surface)
    found = np.zeros_like(whole.srgb8)
    for rows, pixels in parts:
        found[rows] = pixels
    np.testing.assert_array_equal(found, whole.srgb8)
    np.testing.assert_allclose(parts.mean().lab, whole.mean.lab, atol=1e-4)  # float32 light, summed otherwise
    np.testing.assert_allclose(parts.percent(), whole.percent, atol=1e-9)


def test_a_surface_beside_the_slab_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(strips, "STRIP_ROWS", 32)
    beside = SurfaceSpec("top").surface(Sheet(40, 30, 60), 2)
    with pytest.raises(InputError, match="must show some of the slab"):
        list(drawn(beside))
