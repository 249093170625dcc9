"""Draw the pictures that the app opens with, anew; run by hand after a change of the renderer or the demo.

    python -m tests.bench.draw_opening

`tests/screens/test_shipped_pictures.py` fails as long as they are not what the renderer draws.
"""

import json

import numpy as np

from blendlab.io.pictures import png_bytes
from blendlab.look.ladder import rungs, tile_px_per_mm
from blendlab.look.prepared_sheet import prepare
from blendlab.look.surfaces import top_face
from blendlab.look.view import look_at
from blendlab.recipe.recipe import to_toml
from blendlab.screens.parts import cache, draft, sheet_view
from blendlab.screens.parts.shipped_pictures import FIGURES, FOLDER, LADDER


def main() -> None:
    """Write them into the folder that they ship in."""
    FOLDER.mkdir(exist_ok=True)
    recipe = draft.demo()
    folds, start = recipe.folding.folds, cache.unfolded(recipe)
    prepared, scale = prepare(start, cache.MAX_RUNGS), tile_px_per_mm(start)
    steps = list(rungs(prepared, cache.counts(recipe)))
    ladder = np.concatenate([step.srgb8 for step in steps], axis=1)
    (FOLDER / LADDER).write_bytes(png_bytes(ladder, scale))
    slab = prepared.sheet_after(folds)
    px_per_mm = sheet_view.PX / max(slab.size_mm)
    view = look_at(top_face(slab, px_per_mm), prepared, folds)
    name = f"{folds}-folds.png"
    (FOLDER / name).write_bytes(png_bytes(view.srgb8, px_per_mm))
    percent = {flake.name: part for flake, part in zip(recipe.flakes, view.percent.tolist(), strict=True)}
    figures = {
        "recipe": to_toml(start),
        "px_per_mm": scale,
        "rungs": [
            {
                "folds": step.folds,
                "mean_xyz1": step.mean.xyz1,
                "contrast": step.contrast,
                "unfolded": step.unfolded,
                "lively": step.lively,
                "feature_mm": step.feature_mm,
                "segregation": step.segregation,
                "drift": step.drift,
                "look": step.look,
                "layer_mm": step.layer_mm,
            }
            for step in steps
        ],
        "views": [
            {
                "picture": name,
                "folds": folds,
                "px": sheet_view.PX,
                "mean_xyz1": view.mean.xyz1,
                "percent": percent,
            }
        ],
    }
    (FOLDER / FIGURES).write_text(json.dumps(figures, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
