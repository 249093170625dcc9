"""Pictures of the recipe that the app opens on, drawn beforehand: they stand before anything is compiled.

`tests/bench/draw_opening.py` draws them, and a test holds them equal to what the renderer draws. They answer
for exactly that recipe and size: whatever else is asked for is drawn.
"""

import json
from functools import cache
from typing import Any, NamedTuple

import numpy as np

from ...colour.spaces import Colour
from ...io.pictures import read_png
from ...io.shipped_files import SWATCHES
from ...io.text_files import read_text
from ...look.ladder import Rung, tile_px_per_mm
from ...look.view import SurfaceSpec
from ...recipe.recipe import Recipe, from_toml

FOLDER = SWATCHES / "opening"
FIGURES, LADDER = "figures.json", "ladder.png"  # the ladder's pictures side by side


class Shown(NamedTuple):
    """A picture of a face, true to size, and what is seen on it."""

    png: bytes
    mean: Colour
    percent: dict[str, float]


class Shipped(NamedTuple):
    """What was drawn of one recipe."""

    start: Recipe  # as it was before its folds
    px_per_mm: float  # of the rungs
    rungs: dict[int, Rung]
    views: dict[tuple[int, int], Shown]  # of the top face, by folds and pixels along the longest side


@cache
def shipped() -> Shipped:
    """Return what comes with the program."""
    figures = json.loads(read_text(FOLDER / FIGURES))
    tiles = np.split(read_png((FOLDER / LADDER).read_bytes()), len(figures["rungs"]), axis=1)
    steps = [_rung(step, tile) for step, tile in zip(figures["rungs"], tiles, strict=True)]
    return Shipped(
        from_toml(figures["recipe"]),
        figures["px_per_mm"],
        {step.folds: step for step in steps},
        {(view["folds"], view["px"]): _shown(view) for view in figures["views"]},
    )


def _rung(found: dict[str, Any], srgb8: np.ndarray) -> Rung:
    layer_mm = found.pop("layer_mm")
    mean = Colour.from_xyz1(found.pop("mean_xyz1"))
    return Rung(srgb8=srgb8, mean=mean, measure_layer_mm=lambda: layer_mm, **found)


def _shown(found: dict[str, Any]) -> Shown:
    png = (FOLDER / found["picture"]).read_bytes()
    return Shown(png, Colour.from_xyz1(found["mean_xyz1"]), found["percent"])


def rungs(start: Recipe) -> dict[int, Rung]:
    """Return the rungs drawn beforehand, by fold count; `start` is the recipe before its folds."""
    found = shipped()
    same = found.start == start and found.px_per_mm == tile_px_per_mm(start)
    return dict(found.rungs) if same else {}


def view(start: Recipe, folds: int, px: int, asked: SurfaceSpec) -> Shown | None:
    """Return the picture of a face drawn beforehand, or None.

    Parameters
    ----------
    px : int
        Pixels along the slab's longest side.
    """
    found = shipped()
    return found.views.get((folds, px)) if asked == SurfaceSpec() and found.start == start else None
