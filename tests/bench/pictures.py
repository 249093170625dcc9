"""Draw the pictures that README.md and DEVELOPERS.md show; run by hand after a change of looks.

.venv/bin/python tests/bench/pictures.py
"""

from dataclasses import replace
from pathlib import Path

from blendlab.io.pictures import write_contact_sheet
from blendlab.io.text_files import Beside, read_text
from blendlab.look.ladder import rungs, tile_px_per_mm
from blendlab.look.prepared_sheet import prepare
from blendlab.recipe.folding_moves import Folding
from blendlab.recipe.lay import Lay
from blendlab.recipe.moves import MOVES
from blendlab.recipe.recipe import Recipe, from_toml
from blendlab.units import some

SWATCHES = Path(__file__).resolve().parents[2] / "swatches"
WHITE, BLUE, GOLD = "milk-cap white", "harbour blue", "marigold"  # of the harbour tile


WAYS: dict[str, tuple[Lay, ...]] = {
    "stirred": (),
    "layers": (Lay((WHITE,), "layer"), Lay((BLUE, GOLD), "layer")),
    "stripes": tuple(Lay((name,), "stripes") for name in (WHITE, BLUE, GOLD)),
    "heaps": (Lay((WHITE,)), Lay((BLUE,), "heaps", count=4), Lay((GOLD,), "heaps")),
    "border": (Lay((BLUE,), "border"), Lay((WHITE, GOLD))),
    "chips on fold 1": (
        Lay((WHITE,), "layer"),
        Lay((BLUE, GOLD), "layer"),
        Lay((GOLD,), "scatter", grams=((GOLD, 14.0),), before_press=1),
    ),
}


def draw_lays(recipe: Recipe) -> None:
    """Draw the same flakes laid in six ways, after one fold and after three."""
    scale = tile_px_per_mm(recipe)
    found = [list(rungs(prepare(replace(recipe, lays=lays), 3), (1, 3))) for lays in WAYS.values()]
    tiles, means, captions = [], [], []
    for row, folds in enumerate(("1 fold", "3 folds")):
        for way, steps in zip(WAYS, found, strict=True):
            tiles.append(steps[row].srgb8)
            means.append(steps[row].mean.srgb)
            captions.append(f"{way}, {folds}")
    write_contact_sheet(SWATCHES / "pictures/lays.png", tiles, means, captions, scale, columns=len(WAYS))


def draw_offcuts() -> None:
    """Draw pieces of an old sheet in a new one, from fold to fold."""
    path, folds = SWATCHES / "second-tide.toml", (0, 1, 2, 4)
    recipe = from_toml(read_text(path), Beside(path))
    steps = list(rungs(prepare(recipe, max(folds)), folds))
    tiles, means = [step.srgb8 for step in steps], [step.mean.srgb for step in steps]
    captions = [some(count, "fold") for count in folds]
    out = SWATCHES / "pictures/offcuts.png"
    write_contact_sheet(out, tiles, means, captions, tile_px_per_mm(recipe), columns=len(folds))


def main() -> None:
    recipe = from_toml(read_text(SWATCHES / "harbour.toml"))
    tiles, means, captions = [], [], []
    for move in MOVES:
        moved = recipe.with_folding(**vars(Folding(move=move, folds=7, seed=recipe.folding.seed)))
        for rung in rungs(prepare(moved, 7), (1, 3, 5, 7)):
            tiles.append(rung.srgb8)
            means.append(rung.mean.srgb)
            captions.append(f"{move}, {rung.folds}")
    pictures = SWATCHES / "pictures"
    pictures.mkdir(exist_ok=True)
    write_contact_sheet(pictures / "moves.png", tiles, means, captions, tile_px_per_mm(recipe), columns=8)
    draw_lays(recipe)
    draw_offcuts()
    steps = list(rungs(prepare(recipe, 10), range(11)))
    write_contact_sheet(
        pictures / "ladder.png",
        [step.srgb8 for step in steps],
        [step.mean.srgb for step in steps],
        [f"{some(step.folds, 'fold')}, {step.look}" for step in steps],
        tile_px_per_mm(recipe),
    )


if __name__ == "__main__":
    main()
