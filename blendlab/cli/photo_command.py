"""The command about photos: `match`."""

import argparse
import re
from pathlib import Path

from .. import checks
from ..io.photo_files import read_photo
from ..io.text_files import read_text
from ..recipe.folding_moves import MOVES
from .output import Commands, Result, colour_line, wait_for_compiler
from .surface_options import numbers


def _size(text: str) -> tuple[float, float]:
    """Length and width of LxW, mm."""
    found = re.fullmatch(r"([\d.]+)[x×]([\d.]+)", text.strip())
    if not found:
        checks.refuse("--size-mm must be length x width", text, "give it in millimetres, such as 200x200")
    length, width = (numbers("--size-mm", side, 1)[0] for side in found.groups())
    return length, width


def match(args: argparse.Namespace) -> Result:
    """Flakes, shares and folds of a photographed sheet."""
    from ..recipe.flake_list import from_csv

    size = _size(args.size_mm)
    corners = numbers("--corners", args.corners, 8, "pixels") if args.corners else None
    white = numbers("--white", args.white, 4, "pixels") if args.white else None
    stock = from_csv(read_text(args.flakes))
    if args.only:
        names = [name.strip() for name in args.only.split(",")]
        known = {flake.name: flake for flake in stock}
        stock = tuple(known[checks.one_of("a flake of --only", name, known)] for name in names)
    photo = read_photo(args.photo)
    wait_for_compiler()
    from ..photo.match import match as match_photo

    found = match_photo(
        photo,
        [flake.charged(10.0) for flake in stock],
        size,
        thickness_mm=args.thickness_mm,
        corners_px=[(corners[n], corners[n + 1]) for n in range(0, 8, 2)] if corners else None,
        white_px=(white[0], white[1], white[2], white[3]) if white else None,
        moves=tuple(move.strip() for move in args.moves.split(",")),
    )
    result = found.as_json()
    lines = [f"{part:5.1f} %  {name}" for name, part in result["percent"].items()]
    chances = ", ".join(f"{n}: {p:.0%}" for n, p in enumerate(result["folds"]["probability"]) if p >= 0.01)
    lines.append(f"{result['folds']['best']} folds are most likely ({chances})")
    lines += [colour_line("photo", result["mean"]), colour_line("prediction", result["predicted_mean"])]
    lines.append(f"The means differ by {result['delta_e00']:.1f} dE00.")
    return result, "\n".join([*lines, *(f"For a better match: {line}" for line in result["advice"])])


_MATCH = """\
Take the photo from straight above in even light, the whole sheet on a plain ground,
white paper beside it. Each flake's share comes out in percent, with the
probability of each fold count, the mean colours of photo and prediction, and what
would make a better photo. Corners and paper are found where they are not given. It
takes up to half a minute.

example:
  blendlab match swatches/past-sheet.jpg --flakes swatches/flakes.csv \\
      --size-mm 200x200 --only 'milk-cap white,harbour blue,marigold,coal'
"""


def add(command: Commands) -> None:
    """Offer the command."""
    about = "Find the flakes, shares and folds of a photographed sheet."
    option = command("match", match, about, _MATCH).add_argument
    option("photo", metavar="PHOTO", type=Path, help="JPEG, PNG or WebP, at most 40 megapixels")
    option("--flakes", required=True, metavar="CSV", help="flake list to choose from, 12 at most")
    option("--only", metavar="NAMES", help="only these flakes of the list, separated by commas")
    option("--size-mm", required=True, metavar="LxW", help="its sides, across the photo and down")
    option("--thickness-mm", type=float, default=6.0, metavar="T", help="thickness; 6 by default")
    option(
        "--corners",
        metavar="x,y,…",
        help="its corners in pixels, clockwise from the upper left",
    )
    option("--white", metavar="x,y,w,h", help="a box on white paper, in pixels")
    option("--moves", default="half", metavar="NAMES", help=f"moves, separated by commas: {', '.join(MOVES)}")
