"""The command line: `blendlab blend`, `ladder`, `sheet`.

Bad input ends with exit status 2 and one line on standard error. Results go to standard output, in words
or, with --json, as one JSON object and nothing else.
"""

import argparse
import io
import json
import os
import re
import sys
from collections.abc import Callable, Sequence
from typing import Any

from . import __version__, checks
from .files import check_place, read_text, write_contact_sheet, write_png
from .recipe import MOST_FOLDS, Recipe, from_toml

Result = tuple[dict[str, Any], str]  # for --json, and in words

STOPPED, UNREAD = 130, 141  # exit status after Ctrl-C and after a closed pipe, as shells count


def _recipe(path: str) -> Recipe:
    return from_toml(read_text(path))


def _check_picture(path: str) -> None:
    """Refuse a picture's place before time is spent on the picture."""
    if not path.lower().endswith(".png"):  # so that no slip puts a picture in a recipe's place
        checks.refuse("--out must name a PNG", path, "end the name in .png")
    check_place(path)


def _wait_for_compiler() -> None:
    """Say so where the first picture waits for the compiler."""
    from .compiled import is_warm

    if not is_warm():
        print(
            "blendlab: compiling the folding code, once for this version (some 20 seconds) …", file=sys.stderr
        )


def _counts(text: str) -> range:
    """Fold counts of a range such as 0-10, or of one number."""
    found = re.fullmatch(r"(\d{1,3})(?:-(\d{1,3}))?", text)
    first, last = (int(found[1]), int(found[2] or found[1])) if found else (1, 0)
    if not first <= last <= MOST_FOLDS:
        checks.refuse(
            f"--folds must be a count or a rising range within 0-{MOST_FOLDS}", text, "give 0-10, say"
        )
    return range(first, last + 1)


def _colour_line(label: str, colour: dict[str, Any]) -> str:
    lightness, a, b = colour["lab"]
    return f"{label:12} {colour['srgb']}   L* {lightness:6.2f}   a* {a:7.2f}   b* {b:7.2f}"


def blend(args: argparse.Namespace) -> Result:
    """Mean colours of a recipe."""
    from .colour.difference import delta_e00
    from .colour.means import area_mean, cielab_mean, full_blend

    recipe = _recipe(args.recipe)
    means = {
        "area_mean": area_mean(recipe),
        "full_blend": full_blend(recipe),
        "cielab_mean": cielab_mean(recipe),
    }
    result: dict[str, Any] = {name: colour.as_json() for name, colour in means.items()}
    apart = float(delta_e00(means["area_mean"].lab, means["full_blend"].lab))
    result["delta_e00"] = round(apart, 2)
    words = [_colour_line(name.replace("_", " "), colour) for name, colour in result.items() if name in means]
    words.append(f"From area mean to full blend the colour moves by {apart:.1f} dE00.")
    return result, "\n".join(words)


def ladder(args: argparse.Namespace) -> Result:
    """Look, mean and contrast at each fold count, and the count for a wanted look."""
    counts = _counts(args.folds)
    if args.out is not None:
        _check_picture(args.out)
    recipe = _recipe(args.recipe)
    _wait_for_compiler()
    from .look.ladder import another_hand, choose, rungs, tile_px_per_mm
    from .look.making import make_ready
    from .look.render import srgb8

    steps = list(rungs(make_ready(recipe, counts[-1]), counts))
    others = [another_hand(recipe, counts, hand) for hand in range(1, args.tries + 1)]
    chosen = choose(args.look, steps, others)
    if args.out is not None:
        captions = [f"{step.folds} folds, {step.look}" for step in steps]
        tiles = [srgb8(step.xyz1) for step in steps]
        means = [step.mean.srgb for step in steps]
        write_contact_sheet(args.out, tiles, means, captions, tile_px_per_mm(recipe))
    result = {
        "rungs": [step.as_json() for step in steps],
        "pick": {"folds": chosen.folds, "why": chosen.why, "sure": chosen.sure},
    }
    table = ["folds  mean     contrast  feature mm  layer mm  segregation  drift  look"]
    table += [
        f"{step.folds:5}  {step.mean.srgb}  {step.contrast:8.1f}  {step.feature_mm:10.1f}  "
        f"{step.layer_mm:8.3g}  {step.segregation:11.3f}  {step.drift:5.1f}  {step.look}"
        for step in steps
    ]
    return result, "\n".join([*table, f"Fold {chosen.folds} times. {chosen.why} {chosen.sure}"])


def sheet(args: argparse.Namespace) -> Result:
    """Picture of one face at true size."""
    checks.whole(
        "--folds", args.folds, 0, MOST_FOLDS, "past that many folds a sheet no longer changes to the eye"
    )
    checks.number("--px-per-mm", args.px_per_mm, 0.1, 40, "print needs about 12, a screen 2 to 4")
    if args.samples not in [side * side for side in range(1, 17)]:
        checks.refuse("--samples must be a square from 1 to 256", args.samples, "give 4, 9 or 16")
    _check_picture(args.out)
    recipe = _recipe(args.recipe)
    pixels = recipe.sheet.length_mm * recipe.sheet.width_mm * args.px_per_mm**2
    if pixels > 1e8:
        checks.refuse("the picture must have at most 100 million pixels", round(pixels), "lower --px-per-mm")
    _wait_for_compiler()
    from .colour.spaces import Colour
    from .look.making import make_ready
    from .look.render import render, srgb8
    from .look.surfaces import top_face

    picture = render(
        top_face(recipe.sheet, args.px_per_mm), make_ready(recipe, args.folds), args.folds, args.samples
    )
    write_png(args.out, srgb8(picture.xyz1), args.px_per_mm)
    mean = Colour.from_xyz1(picture.xyz1.mean(axis=(0, 1), dtype="float64")).as_json()
    percent = {
        flake.name: round(100 * float(part), 2)
        for flake, part in zip(recipe.flakes, picture.seen, strict=True)
    }
    size = [recipe.sheet.length_mm, recipe.sheet.width_mm]
    words = [_colour_line("mean", mean), *(f"{part:6.2f} %  {name}" for name, part in percent.items())]
    words.append(f"{args.out}: {size[0]:g} × {size[1]:g} mm, {args.face} after {args.folds} folds")
    return {"mean": mean, "size_mm": size, "percent": percent}, "\n".join(words)


class _Parser(argparse.ArgumentParser):
    """An argument parser whose complaints are one line, like every other refusal."""

    def error(self, message: str) -> Any:
        self.exit(2, f"blendlab: {' '.join(message.split())}; see {self.prog} --help\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="blendlab", description=(__doc__ or "").splitlines()[0])
    parser.description = "Predict the look of pressed and folded HDPE flakes before anything is cut."
    parser.add_argument("--version", action="version", version=f"blendlab {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND", parser_class=_Parser)

    def command(
        name: str, run: Callable[[argparse.Namespace], Result], about: str
    ) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=about, description=about)
        made.add_argument("recipe", metavar="RECIPE", help="recipe file (TOML); swatches/ holds examples")
        made.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
        made.set_defaults(run=run)
        return made

    command("blend", blend, "Mean colour from afar (area mean) and mixed through (full blend).")
    made = command("ladder", ladder, "The look after each fold count, and how often to fold for a look.")
    made.add_argument(
        "--folds", default="0-10", metavar="A-B", help="fold counts to look at, 0-10 unless given"
    )
    made.add_argument(
        "--look", default="marbled", choices=("pieces", "streaks", "marbled", "clouded", "even")
    )
    made.add_argument(
        "--tries",
        type=int,
        default=4,
        choices=range(0, 21),
        metavar="N",
        help="further sheets to judge chance by, 4 unless given",
    )
    made.add_argument("--out", metavar="PNG", help="write a contact sheet of the rungs")
    made = command("sheet", sheet, "A picture of the sheet at true size.")
    made.add_argument(
        "--folds", type=int, required=True, metavar="N", help=f"fold-and-press cycles, 0-{MOST_FOLDS}"
    )
    made.add_argument("--face", default="top", choices=("top",))
    made.add_argument(
        "--px-per-mm", type=float, default=4.0, metavar="P", help="pixels per mm, 4 unless given"
    )
    made.add_argument(
        "--samples", type=int, default=16, metavar="S", help="points followed per pixel, 16 unless given"
    )
    made.add_argument("--out", required=True, metavar="PNG", help="where to write the picture")
    return parser


def _deliver(text: str) -> int:
    """Print a result; return the exit status."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")  # for names the console has no letters for
    try:
        print(text, flush=True)
    except OSError as error:
        # The way out would else try, and fail, to send what is left.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if isinstance(error, BrokenPipeError):
            return UNREAD
        checks.refuse("the result must have somewhere to go", error, "send it to another place")
    return 0


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    argv : sequence of str, optional
        Arguments, by default those of the process.

    Returns
    -------
    int
        0, 2 for bad input, `STOPPED` or `UNREAD`.
    """
    args = _parser().parse_args(argv)
    try:
        result, words = args.run(args)
        return _deliver(json.dumps(result) if args.json else words)
    except checks.InputError as error:
        print(f"blendlab: {error}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return STOPPED
