"""Commands that draw: `ladder` and `sheet`."""

import argparse
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import isqrt
from typing import TYPE_CHECKING

from .. import checks
from ..io.image_codec import picture_of
from ..io.pictures import write_contact_sheet, write_picture
from ..look.looks import LOOKS, MAX_RUNGS, USUAL_LOOK
from ..recipe.recipe import MAX_FOLDS, Recipe
from ..runtime.memory import free_bytes
from ..units import percent, some
from .arguments import AddCommand, check_output_path, number, read_recipe, whole
from .output import Result, announce_compiling, colour_line
from .surface_options import add_options, surface_spec

if TYPE_CHECKING:
    from ..look.ladder import Rung

MAX_SAMPLES = 4096
THINNEST_MM = 0.001  # of a layer that is given in figures


def _fold_counts(text: str) -> range:
    """Parse a range of fold counts, such as 0-10, or one count."""
    found = re.fullmatch(r"(\d{1,3})(?:-(\d{1,3}))?", text)
    first, last = (int(found[1]), int(found[2] or found[1])) if found else (1, 0)
    if not first <= last <= MAX_FOLDS:
        checks.refuse(
            f"--folds must be a count or a rising range within 0-{MAX_FOLDS}", text, "give one such as 0-10"
        )
    return range(first, last + 1)


def ladder(args: argparse.Namespace) -> Result:
    """Draw the sheet at each fold count and pick the count for a wanted look."""
    tries = checks.whole("--tries", args.tries, 0, 20, "each one takes as long as the ladder itself")
    counts = _fold_counts(args.folds or f"0-{MAX_RUNGS}")
    if args.out is not None:
        check_output_path("--out", args.out, ".png")
    recipe = read_recipe(args.recipe)
    if args.folds is None:  # a short list of moves shortens the ladder
        counts = range(min(counts[-1], recipe.folding.most_folds) + 1)
    recipe.folding.checked_folds(counts[-1], "--folds")
    announce_compiling()
    from ..colour.means import area_mean
    from ..look.charge_view import charge_view
    from ..look.ladder import falling_looks, levels_of_replicate, rungs, tile_px_per_mm
    from ..look.pick import choose
    from ..look.prepared_sheet import prepare
    from ..workshop.wording import stiffness_line

    steps = list(rungs(prepare(recipe, counts[-1]), counts))
    steps = [replace(step, look=look) for step, look in zip(steps, falling_looks(steps), strict=True)]
    others = [levels_of_replicate(recipe, counts, number) for number in range(1, tries + 1)]
    chosen = choose(args.look, steps, others)
    if args.out is not None:
        captions = [f"{some(step.folds, 'fold')}, {step.look}" for step in steps]
        tiles = [step.srgb8 for step in steps]
        means = [step.mean.srgb for step in steps]
        if recipe.lays:  # cold, before the first press
            tiles.insert(0, charge_view(recipe, max(tiles[0].shape)))
            means.insert(0, area_mean(recipe).srgb)
            captions.insert(0, "as laid")
        write_contact_sheet(args.out, tiles, means, captions, tile_px_per_mm(recipe))
    result = {
        "rungs": [step.as_json() for step in steps],
        "pick": {"folds": chosen.folds, "why": chosen.why, "sure": chosen.sure},
    }
    ends = f"{chosen.advice} {chosen.sure}".rstrip(), *_spread(recipe), stiffness_line(recipe)
    return result, "\n".join([*_table(steps), *ends])


def _table(steps: Sequence["Rung"]) -> Iterator[str]:
    """Yield a line for each rung, between the columns' names and what they mean."""
    from ..look.ladder import levels_of

    yield "folds  mean     contrast  feature mm  layer mm  segregation  drift  lively  look"
    for step, lively in zip(steps, levels_of(steps).calmest.lively, strict=True):
        layer = "< 0.001" if step.layer_mm < THINNEST_MM else f"{step.layer_mm:.3g}"
        yield (
            f"{step.folds:5}  {step.mean.srgb}  {step.contrast:8.1f}  {step.feature_mm:10.1f}  "
            f"{layer:>8}  {step.segregation:11.3f}  {step.drift:5.1f}  {percent(lively):>6}  {step.look}"
        )
    yield _COLUMNS


def _check_size(rows: int, columns: int) -> None:
    """Refuse a picture that is too large to draw or for the free memory, before anything is drawn."""
    from ..look.strips import MAX_PX, memory_bytes

    size = checks.Raw(f"{columns:,} x {rows:,} pixels")
    if rows * columns > MAX_PX:
        checks.refuse(f"the picture must have at most {MAX_PX:,} pixels", size, "lower --px-per-mm")
    needed, free = memory_bytes(rows, columns), free_bytes()
    if needed > free:
        rule = f"the picture needs some {needed / 1e6:,.0f} MB of memory, of which {free / 1e6:,.0f} are free"
        checks.refuse(rule, size, "lower --px-per-mm, or close other programs")


def _check_samples(samples: int) -> None:
    """Refuse a number of samples that brute force cannot share out."""
    if samples not in range(1, MAX_SAMPLES + 1) or samples % isqrt(samples):
        rule = f"--samples must be 1 to {MAX_SAMPLES} and fill a pixel evenly"
        checks.refuse(rule, samples, "give 16, 256 or 1024, or leave it out")


def sheet(args: argparse.Namespace) -> Result:
    """Draw one face at true size."""
    if args.folds is not None:
        checks.whole(
            "--folds", args.folds, 0, MAX_FOLDS, "fold fewer times: more makes no visible difference"
        )
    px_per_mm = checks.number("--px-per-mm", args.px_per_mm, 0.1, 40, "print needs about 12, a screen 2 to 4")
    if args.samples is not None:
        _check_samples(args.samples)
    check_output_path("--out", args.out, ".png")
    recipe = read_recipe(args.recipe)
    folding = recipe.folding
    folds = folding.folds if args.folds is None else folding.checked_folds(args.folds, "--folds")
    announce_compiling()
    from ..look.prepared_sheet import prepare
    from ..look.render import render
    from ..look.strips import Strips
    from ..workshop.laying import unstrewn_lines

    prepared = prepare(recipe, folds)
    surface = surface_spec(args).surface(prepared.sheet_after(folds), px_per_mm)
    rows, columns = surface.shape
    _check_size(rows, columns)
    drawn = Strips(surface, lambda part: render(part, prepared, folds, args.samples))
    picture = picture_of(surface.shape, drawn)
    write_picture(args.out, picture, px_per_mm)
    parts = zip(prepared.palette.names, drawn.percent(), strict=True)
    shares = {name: round(float(part), 2) for name, part in parts}
    size = [round(columns / px_per_mm, 1), round(rows / px_per_mm, 1)]
    mean = drawn.mean().as_json()
    words = [colour_line("mean", mean), *(f"{part:6.2f} %  {name}" for name, part in shares.items())]
    words.append(f"{args.out}: {size[0]:g} × {size[1]:g} mm hot, {args.face} after {some(folds, 'fold')}")
    words += *_spread(recipe), *unstrewn_lines(recipe, folds)
    return {"mean": mean, "size_mm": size, "percent": shares}, "\n".join(words)


def _spread(recipe: Recipe) -> tuple[str, ...]:
    """Return a sentence for each lay that does not fit its place."""
    from ..workshop.laying import spread_lines

    return spread_lines(recipe, sum(flake.grams for flake in recipe.flakes))


_COLUMNS = """\
contrast: dE*ab, as seen from half a metre. feature: across the streaks. layer: inside the
sheet. segregation: 1 for whole pieces, 0 when fully mixed. drift: dE00 of the mean from the
average before mixing. lively: what is left of the whole pieces' contrast and segregation."""
_LADDER = """\
Prints one line for each fold count: mean colour, contrast, size of the features,
thickness of the layers, segregation, drift, how lively it is and the look in a word;
below them what each of these means. Then the fold count for the wanted look, and how
sure it is; and which flakes stay coarser, where the recipe says what each was cut from
(stock = "bottle", "cap" or "crate").

example:
  blendlab ladder swatches/harbour.toml --folds 0-6 --look marbled --out ladder.png
"""
_SHEET = """\
Writes a PNG that prints as large as the slab is while hot; prints the mean colour of the
face and how much of each flake shows. The picture is drawn to within what the eye can
hardly see. The same recipe and seed give the same bytes.

examples:
  blendlab sheet swatches/harbour.toml --folds 4 --out sheet.png
  blendlab sheet swatches/harbour.toml --folds 4 --out cut.png --face sawn --angle-deg 30
  blendlab sheet swatches/harbour.toml --folds 4 --out ball.png --face turned --profile ball:3
"""


def add(command: AddCommand) -> None:
    """Add the commands to the parser."""
    about = "The look after each fold count, and the count for a wanted look."
    option = command("ladder", ladder, about, _LADDER).add_argument
    option("recipe", metavar="RECIPE", help="recipe file (TOML); swatches/ holds examples")
    option("--folds", metavar="A-B", help="fold counts to look at (default 0-10)")
    option("--look", default=USUAL_LOOK, choices=LOOKS, help=f"the wanted look (default {USUAL_LOOK})")
    tries = "further sheets, which show how much is chance (default 4)"
    option("--tries", type=whole, default=4, metavar="N", help=tries)
    option(
        "--out",
        metavar="PNG",
        help="write a contact sheet of the rungs, before them the charge as it is laid",
    )
    about = "A picture of a face, a saw cut or a turned blank, at true size."
    parser = command("sheet", sheet, about, _SHEET)
    option = parser.add_argument
    option("recipe", metavar="RECIPE", help="recipe file (TOML); swatches/ holds examples")
    option(
        "--folds",
        type=whole,
        metavar="N",
        help=f"fold-and-press cycles, 0-{MAX_FOLDS} (default the recipe's own)",
    )
    option("--px-per-mm", type=number, default=4.0, metavar="P", help="pixels per mm (default 4)")
    brute = f"draw by brute force instead, with S points a pixel, 1-{MAX_SAMPLES}"
    option("--samples", type=whole, metavar="S", help=brute)
    option("--out", required=True, metavar="PNG", help="where to write the picture")
    add_options(parser)
