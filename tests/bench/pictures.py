"""Draw the pictures that README.md and DEVELOPERS.md show; run by hand after a change of looks.

.venv/bin/python tests/bench/pictures.py
"""

from pathlib import Path

from blendlab.io.pictures import write_contact_sheet
from blendlab.io.text_files import read_text
from blendlab.look.ladder import rungs, tile_px_per_mm
from blendlab.look.prepared_sheet import prepare
from blendlab.recipe.folding_moves import Folding
from blendlab.recipe.moves import MOVES
from blendlab.recipe.recipe import from_toml

SWATCHES = Path(__file__).resolve().parents[2] / "swatches"


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
    steps = list(rungs(prepare(recipe, 10), range(11)))
    write_contact_sheet(
        pictures / "ladder.png",
        [step.srgb8 for step in steps],
        [step.mean.srgb for step in steps],
        [f"{step.folds} folds, {step.look}" for step in steps],
        tile_px_per_mm(recipe),
    )


if __name__ == "__main__":
    main()
