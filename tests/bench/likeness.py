"""How near proposals come to pictures; run by hand, some minutes on two idle cores:

    nice -n 10 python -m tests.bench.likeness [pictures]

Pictures are predicted sheets of the demo recipes, with chances of their own, which should come back, and
textures that scikit-image ships, tinted. Printed: how far the nearest proposal is, beside the nearest
unfolded, stirred sheet of any proposal's flakes; of known recipes also how far shares are off.
"""

import sys
import time
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import skimage

from blendlab.io.shipped_files import SWATCHES
from blendlab.io.text_files import read_text
from blendlab.look.prepared_sheet import prepare
from blendlab.look.render import render, srgb8
from blendlab.look.surfaces import top_face
from blendlab.photo import likeness
from blendlab.recipe.flake_list import from_csv
from blendlab.recipe.recipe import from_toml

SEED = 99
SHEETS = [("harbour", 2), ("harbour", 4), ("harbour", 6), ("bollard", 3), ("bollard", 5), ("oat-field", 4)]
TINTS = {"brick": ("#4b2018", "#e0a080"), "grass": ("#102a10", "#b8d070"), "gravel": ("#202428", "#e8e0d0")}


def sheet(name: str, folds: int) -> tuple[npt.NDArray[np.uint8], float, dict[str, float]]:
    """Draw a demo recipe; return its picture, grams and shares."""
    recipe = from_toml(read_text(SWATCHES / f"{name}.toml")).with_folding(folds=folds, seed=SEED)
    prepared = prepare(recipe)
    light = render(top_face(prepared.sheet_after(folds), 2.0), prepared, folds).xyz1
    shares = {f.name: float(s) for f, s in zip(recipe.flakes, recipe.shares, strict=True)}
    return srgb8(light), sum(f.grams for f in recipe.flakes), shares


def texture(name: str) -> npt.NDArray[np.uint8]:
    """Return a texture between two colours."""
    grey = getattr(skimage.data, name)()[..., None] / 255
    dark, light = (np.array([int(h[n : n + 2], 16) for n in (1, 3, 5)]) for h in TINTS[name])
    return np.rint(dark + grey * (light - dark)).astype(np.uint8)


def line(name: str, picture: npt.NDArray[np.uint8], grams: float, shares: dict[str, float]) -> str:
    """Search, and describe the outcome in a line."""
    stock = from_csv(read_text(SWATCHES / "flakes.csv"))
    started, before = time.perf_counter(), time.process_time()
    found = likeness.like(picture, stock, grams)
    took = f"{time.perf_counter() - started:.0f} s, {time.process_time() - before:.0f} of one core"
    best = found.proposals[0]
    stirred = {replace(one.recipe, lays=()).with_folding(folds=0, move="half") for one in found.proposals}
    plain = likeness._ranked(found.picture, likeness._cuts([*stirred]), lambda part: None)[0]
    got = {f.name: float(s) for f, s in zip(best.recipe.flakes, best.recipe.shares, strict=True)}
    off = [abs(shares.get(n, 0) - got.get(n, 0)) for n in shares | got] if shares else []
    words = f", shares off by {100 * np.mean(off):.1f} points, {100 * max(off):.1f} at most" if off else ""
    far = best.difference
    return (
        f"{name:12} {far.total:5.1f} from the picture, unfolded {plain.difference.total:5.1f}; contrast"
        f" {far.contrast:.2f}, feature {far.feature:.2f}, palette {far.palette:.1f}{words};"
        f" {best.way}; {took}"
    )


def main() -> None:
    """Print a line for each picture."""
    named = sys.argv[1:]
    for name, folds in SHEETS:
        if not named or f"{name}:{folds}" in named:
            print(line(f"{name}:{folds}", *sheet(name, folds)), flush=True)
    for name in TINTS:
        if not named or name in named:
            print(line(name, texture(name), likeness.USUAL_GRAMS, {}), flush=True)


if __name__ == "__main__":
    main()
