"""The command that reads a photo: `match`."""

import argparse
import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from .. import checks
from ..io.photo_files import read_photo
from ..io.text_files import read_text
from ..recipe.moves import MOVES
from ..recipe.recipe import FINISHES, GLOSSY, Sheet
from ..units import percent, some
from .arguments import AddCommand, number, numbers
from .output import Result, announce_compiling, colour_line, progress_lines

if TYPE_CHECKING:
    from ..photo.press_calibration import PressCalibration


def _size(text: str) -> tuple[float, float]:
    """Parse length and width, such as 200x150, mm."""
    found = re.fullmatch(r"([\d.]+)[x×]([\d.]+)", text.strip())
    if not found:
        checks.refuse("--size-mm must be length x width", text, "give it in millimetres, such as 200x200")
    length, width = (numbers("--size-mm", side, 1)[0] for side in found.groups())
    return length, width


def _points(numbers: Sequence[float] | None) -> list[tuple[float, float]] | None:
    """Pair the coordinates of four points."""
    return [(numbers[n], numbers[n + 1]) for n in range(0, 8, 2)] if numbers else None


def match(args: argparse.Namespace) -> Result:
    """Estimate the flakes, shares and folds of a photographed sheet."""
    from ..photo.shortlist import MAX_ON_HAND
    from ..recipe.flake_list import charge, from_csv

    size = _size(args.size_mm)
    corners = numbers("--corners", args.corners, 8, "pixels") if args.corners else None
    white = numbers("--white", args.white, 4, "pixels") if args.white else None
    chart = numbers("--chart", args.chart, 8, "pixels") if args.chart else None
    listed = from_csv(read_text(args.flakes))
    known = [flake.name for flake in listed]
    names = [name.strip() for name in args.only.split(",")] if args.only else known
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        checks.refuse("each flake of --only must be named once", twice, "name another, or leave it out")
    if len(names) > MAX_ON_HAND:
        too_many = checks.Raw(f"{len(names)} in {args.flakes}")
        remedy = "name those you would use with --only"
        checks.refuse(f"a match must have at most {MAX_ON_HAND} flakes to choose from", too_many, remedy)
    press = _calibration() if args.calibrated else None
    flakes = charge(listed, {checks.one_of("a flake of --only", name, known): 10.0 for name in names})
    photo = read_photo(args.photo)
    announce_compiling()
    from ..photo.face import Marks
    from ..photo.match import match as match_photo

    box = (white[0], white[1], white[2], white[3]) if white else None
    marks = Marks(_points(corners), box, _points(chart))
    found = match_photo(
        photo,
        flakes,
        Sheet(*size, args.thickness_mm, args.finish),
        marks,
        press=press,
        moves=tuple(move.strip() for move in args.moves.split(",")),
        on_progress=progress_lines(args.json),
    )
    result = found.as_json()
    lines = [f"{part:5.1f} %  {name}" for name, part in result["percent"].items()]
    chances = ", ".join(
        f"{n}: {percent(p)}" for n, p in enumerate(result["folds"]["probability"]) if p >= 0.01
    )
    lines.append(found.note or f"Most likely {some(found.folds.best, 'fold')} ({chances})")
    if not found.note:
        lines.append(found.charge_words)
    lines += [colour_line("photo", result["mean"]), colour_line("prediction", result["predicted_mean"])]
    lines[-2] += f"   within {result['mean_band90_delta_e00']:.0f} dE00, nine times in ten"
    lines.append(f"The means differ by {result['delta_e00']:.1f} dE00.")
    return result, "\n".join([*lines, *(f"For a better match: {line}" for line in result["advice"])])


def _calibration() -> "PressCalibration":
    """Return the press calibration of the maker's log."""
    from ..logbook import calibration_data, database

    found = calibration_data.load(database.default_home(os.environ))
    if found is None:
        rule = "--calibrated needs a press calibration"
        checks.refuse(rule, None, "learn it from the photos on the app's page Log, or leave it out")
    return found


_MATCH = """\
Take the photo from straight above in even light: the whole sheet on a plain
background, with white paper beside it, or a 24-patch colour chart, by which colours are
read twice as well. Prints the shares in percent, the likeliest fold count with its
probabilities, the mean colours of the photo and of the prediction, and what would make
the answer more certain. A stirred charge is supposed; where stripes or layers explain
the photo clearly better, that is said. Corners and paper are found in the photo unless
given; give a chart's corners with --chart. For a sheet from your own press, --calibrated
uses the calibration that the app learnt from the photos in the log. It takes half a
minute to two minutes, by machine.

example:
  blendlab match swatches/past-sheet.jpg --flakes swatches/flakes.csv \\
      --size-mm 200x200 --only 'milk-cap white,harbour blue,marigold,coal'
"""


def add(command: AddCommand) -> None:
    """Add the command to the parser."""
    about = "Find the flakes, shares and folds of a photographed sheet."
    option = command("match", match, about, _MATCH).add_argument
    option("photo", metavar="PHOTO", type=Path, help="JPEG, PNG or WebP, at most 40 megapixels")
    option("--flakes", required=True, metavar="CSV", help="flake list to choose from, at most 60")
    option("--only", metavar="NAMES", help="only these flakes of the list, separated by commas")
    option("--size-mm", required=True, metavar="LxW", help="size of the sheet: across the photo, then down")
    option("--thickness-mm", type=number, default=6.0, metavar="T", help="of the sheet (default 6)")
    option("--finish", default=GLOSSY, choices=FINISHES, help="of the sheet (default glossy)")
    corners = "corners of the sheet in pixels, clockwise from the upper left"
    option("--corners", metavar="x,y,…", help=corners)
    option("--white", metavar="x,y,w,h", help="a box on white paper, in pixels")
    chart = "instead of paper: outer corners of a chart's four corner patches, in pixels, clockwise"
    option("--chart", metavar="x,y,…", help=chart)
    option("--moves", default="half", metavar="NAMES", help=f"moves, separated by commas: {', '.join(MOVES)}")
    option(
        "--calibrated",
        action="store_true",
        help="made on your own press, as calibrated from the log's photos",
    )
