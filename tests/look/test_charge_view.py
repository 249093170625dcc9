"""The laid charge from above and from the side, before it melts."""

from dataclasses import replace

import numpy as np

from blendlab.look.charge_view import TALL_PX, charge_view, sketches, view_shape
from blendlab.look.prepared_sheet import prepare
from blendlab.recipe.lay import Lay
from blendlab.recipe.recipe import Flake, Recipe, Sheet

WHITE, BLUE = (241, 238, 228), (29, 79, 143)


def view(*lays, size=(120, 80, 8), px=120):
    flakes = (Flake("white", "#f1eee4", 60), Flake("blue", "#1d4f8f", 60))
    found = charge_view(Recipe("Tile", Sheet(*size), flakes, lays=lays), px)
    return found[:80], found[-TALL_PX:]


def part(pixels, colour):
    return (pixels == colour).all(axis=-1).mean()


def test_layers_show_the_last_from_above_and_all_from_the_side():
    plan, side = view(Lay(("white",), "layer"), Lay(("blue",), "layer"))
    assert plan.shape == (80, 120, 3)
    assert side.shape == (24, 120, 3)
    assert part(plan, BLUE) > 0.97
    assert part(side[:8], BLUE) > 0.9
    assert part(side[-8:], WHITE) > 0.9


def test_a_gradient_is_thick_at_the_left_or_the_front():
    plan, _ = view(Lay(("white",), "gradient"), Lay(("blue",)))
    assert part(plan[:, :20], WHITE) > 0.7 > 0.3 > part(plan[:, -20:], WHITE)
    plan, _ = view(Lay(("white",), "gradient", angle_deg=90), Lay(("blue",)))
    assert part(plan[-15:], WHITE) > 0.7 > 0.3 > part(plan[:15], WHITE)


def test_it_is_the_charge_that_is_pressed():
    flakes = (Flake("white", "#f1eee4", 60), Flake("blue", "#1d4f8f", 60))
    recipe = Recipe("Tile", Sheet(120, 80, 8), flakes)
    x, y = np.meshgrid((np.arange(120) + 0.5) - 60, 40 - (np.arange(80) + 0.5))
    points = np.stack([x, y, np.full_like(x, 8.0)], axis=-1).reshape(-1, 3)
    kinds = prepare(recipe).charge.kinds_at(points).reshape(80, 120)
    found = charge_view(recipe, 120)[:80]
    assert ((found == BLUE).all(axis=-1) == (kinds == 1)).all()


def test_sketches_of_several_ways_are_nearly_what_each_is_drawn_as():
    flakes = (Flake("white", "#f1eee4", 60), Flake("blue", "#1d4f8f", 60))
    stirred = Recipe("Tile", Sheet(120, 80, 8), flakes)
    ways = (
        (),
        (Lay(("white",), "layer"), Lay(("blue",), "layer")),
        (Lay(("blue",), "border"), Lay(("white",))),
    )
    recipes = [replace(stirred, lays=lays) for lays in ways]
    found = sketches(recipes, 64)
    assert {pixels.shape[:2] for pixels in found} == {view_shape(stirred.sheet, 64)}
    for recipe, pixels in zip(recipes[1:], found[1:], strict=True):
        assert (pixels == charge_view(recipe, 64)).all(axis=-1).mean() > 0.95
    assert 0.4 < part(found[0][:40], WHITE) < 0.6
