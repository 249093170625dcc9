"""The command that starts from any picture: `like`."""

import argparse
from pathlib import Path

from .. import checks
from ..io.photo_files import read_photo
from ..io.pictures import write_contact_sheet
from ..io.text_files import read_text
from .arguments import AddCommand, check_output_path, number, numbers
from .output import Result, announce_compiling, progress_lines


def like(args: argparse.Namespace) -> Result:
    """Propose sheets like a picture."""
    from ..recipe.flake_list import from_csv

    part = numbers("--part", args.part, 4, "pixels") if args.part else None
    if args.out is not None:
        check_output_path("--out", args.out, ".png")
    stock = from_csv(read_text(args.flakes))
    picture = read_photo(args.picture)
    announce_compiling()
    from ..photo.likeness import USUAL_GRAMS, Proposal
    from ..photo.likeness import like as like_picture
    from ..photo.shortlist import MAX_ON_HAND

    if len(stock) > MAX_ON_HAND:
        too_many = checks.Raw(f"{len(stock)} in {args.flakes}")
        remedy = "take out those you would not use"
        checks.refuse(f"the list must have at most {MAX_ON_HAND} flakes to choose from", too_many, remedy)
    box = (part[0], part[1], part[2], part[3]) if part else None
    total_g = USUAL_GRAMS if args.grams is None else args.grams
    found = like_picture(picture, stock, total_g, box, progress_lines(args.json))

    def caption(one: Proposal) -> str:
        laid = "laid in stripes" if one.recipe.lays else "stirred"
        return f"{one.recipe.flakes[0].size_mm[0]:g} mm flakes, {laid}, {one.way}"

    if args.out is not None:
        tiles = [found.srgb8, *(one.srgb8 for one in found.proposals)]
        means = [found.picture.mean.srgb, *(one.seen.mean.srgb for one in found.proposals)]
        captions = ["the picture", *map(caption, found.proposals)]
        write_contact_sheet(args.out, tiles, means, captions, found.proposals[0].px_per_mm)
    lines = []
    for rank, one in enumerate(found.proposals, 1):
        lines.append(f"{rank}. {caption(one)}. {one.alike}")
        lines += [f"   {flake.grams:7.1f} g  {flake.name}" for flake in one.recipe.flakes]
    return found.as_json(), "\n".join([*lines, *found.remarks])


_LIKE = """\
Prints up to five mixes whose sheets come near the picture in colours, contrast, feature
size and direction, nearest first: grams of each flake, how coarse to cut it, how to lay
it, which move to fold with and how often. Colours are taken as the picture shows them,
dim where it is dim: a photo of a pressed sheet belongs to `match`, which corrects them
for its light. It takes half a minute to two minutes, by machine. --out writes the
picture with each predicted sheet beside it.

example:
  blendlab like pebbles.jpg --flakes swatches/flakes.csv --grams 230 --out like.png
"""


def add(command: AddCommand) -> None:
    """Add the command to the parser."""
    option = command("like", like, "Mixes that look like a picture.", _LIKE).add_argument
    option("picture", metavar="PICTURE", type=Path, help="JPEG, PNG or WebP, at most 40 megapixels")
    option("--flakes", required=True, metavar="CSV", help="flake list to choose from, at most 60")
    option("--grams", type=number, metavar="G", help="of the whole sheet (default 230)")
    option("--part", metavar="x,y,w,h", help="only this box of the picture, in pixels")
    option("--out", metavar="PNG", help="write the picture and the predicted sheets side by side")
