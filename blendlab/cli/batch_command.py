"""The command that plans hot work: `batch`."""

import argparse
import re
from datetime import date
from typing import TYPE_CHECKING

from .. import checks
from ..io.atomic_write import write_bytes
from ..io.text_files import read_text
from ..units import MM_PER_INCH, SYSTEMS
from .arguments import AddCommand, check_output_path, number, read_recipe, whole
from .output import Result, announce_compiling

if TYPE_CHECKING:  # loaded only by the command that uses them
    from ..workshop.closing import Closing
    from ..workshop.melt_flow import Stock
    from ..workshop.press_setup import PressSetup

YEARS = range(1900, 2200)  # of a card; any other year is a slip
_NUMBER = r"\d{1,6}(?:\.\d{1,6})?"


def _sides(
    option: str, text: str, count: int, unit: str = "mm", like: str = "180x150x6"
) -> tuple[float, ...]:
    """Parse two lengths, such as 180x150, or three, such as 180x150x6."""
    found = text.strip().lower().replace("×", "x")
    if not re.fullmatch("x".join([_NUMBER] * count), found):
        shown = "x".join(like.split("x")[:count])
        checks.refuse(f"{option} must be {count} lengths in {unit}", text, f"write it like {shown}")
    return tuple(map(checks.Typed, found.split("x")))


def _finished_mm(args: argparse.Namespace) -> tuple[float, ...]:
    """Return the finished size, mm; from inches exactly."""
    if args.size_in is None:
        return _sides("--size-mm", args.size_mm, 3)
    return tuple(side * MM_PER_INCH for side in _sides("--size-in", args.size_in, 3, "inches", "7x6x0.25"))


def _tiles(text: str) -> tuple[int, int]:
    """Parse how many tiles go along the length and the width, such as 2x1."""
    found = re.fullmatch(r"(\d{1,3})[x×](\d{1,3})", text.strip().lower())
    if not found:
        checks.refuse("--tiles must be two counts", text, "write 2x1 for two tiles along the length")
    return int(found[1]), int(found[2])


def _day(text: str | None) -> date:
    """Parse the day printed on the card; today where none is given."""
    if text is None:
        return date.today()
    remedy = "write it like 2026-03-14"
    try:
        day = date.fromisoformat(text)
    except ValueError:
        checks.refuse("--date must be a day", text, remedy)
    if day.year not in YEARS:
        checks.refuse(f"--date must be in the years {YEARS[0]} to {YEARS[-1]}", text, remedy)
    return day


def _press(args: argparse.Namespace) -> "PressSetup":
    """Return the press, with usual values where options are missing."""
    from ..workshop.press_setup import PressSetup

    plates = _sides("--plate-mm", args.plate_mm, 2) if args.plate_mm else ()
    given = {"largest_load_g": args.largest_load_g, "plate_c": args.plate_c, "liner": args.liner}
    given |= dict(zip(("plate_length_mm", "plate_width_mm"), plates, strict=False))
    return PressSetup(**{name: value for name, value in given.items() if value is not None})


def _closing(args: argparse.Namespace) -> "Closing | None":
    """Return what holds the press shut, None where it is not given."""
    from ..workshop.closing import Closing

    if args.closing is None and args.force_n is None:
        return None
    return Closing(args.closing, args.force_n)


def _stock(args: argparse.Namespace) -> "Stock | None":
    """Return what the flakes were cut from, None where it is not given."""
    from ..workshop.melt_flow import UNKNOWN_STOCK, Stock

    if args.stock is None and args.melt_index is None:
        return None
    return Stock(UNKNOWN_STOCK if args.stock is None else args.stock, args.melt_index)


def batch(args: argparse.Namespace) -> Result:
    """Plan grams, loads, spacer and minutes for a finished sheet; write its card."""
    try:
        return _batch(args)
    except checks.InputError as error:
        raise checks.InputError(SYSTEMS[args.units].sentence(str(error))) from None


def _batch(args: argparse.Namespace) -> Result:
    from ..recipe.flake_list import from_csv
    from ..workshop.batch_plan import as_json, plan
    from ..workshop.fused_block import block
    from ..workshop.order import Order
    from ..workshop.wording import block_lines, plan_lines

    length, width, thickness = _finished_mm(args)
    order, press = Order(length, width, thickness, args.trim, _tiles(args.tiles)), _press(args)
    if args.card is not None:
        check_output_path("--card", args.card, ".pdf")
    day = _day(args.date)
    fused = None if args.fuse is None else block(args.fuse, thickness, press)
    on_hand = from_csv(read_text(args.flakes)) if args.flakes is not None else None
    planned = plan(
        read_recipe(args.recipe),
        order,
        press,
        piece_g={flake.name: flake.piece_g for flake in on_hand or () if flake.piece_g},
        on_hand_g=None if on_hand is None else {flake.name: flake.grams for flake in on_hand},
        closing=_closing(args),
        stock=_stock(args),
        units=SYSTEMS[args.units],
    )
    lines = (*plan_lines(planned), *(() if fused is None else block_lines(fused, press, planned.units)))
    if args.card is not None:
        announce_compiling()
        from ..workshop.card.batch_card import card_pdf
        from ..workshop.predicted_sheet import predict

        picture = predict(planned.recipe).png()
        write_bytes(args.card, card_pdf(planned, picture=picture, made_on=day, paper=args.paper))
        lines = (*lines, f"{args.card}: the card, {args.paper}")
    return as_json(planned) | {"block": fused and fused.as_json()}, "\n".join(lines)


_BATCH = """\
Prints the grams of each flake, the loads, the spacers, the hot size, the minutes of
each step and the usual cautions, with published ranges. Hot plastic burns and gives
off fumes: local codes, the appliance maker's instructions and licensed practice come
first. A sheet is neither food-safe nor load-rated.

With --closing or --force-n the plan says how long each press takes to close, allows
for it, and says what would help. A jack can burst a plate, and a clamp stores energy:
use no more force than it needs.

examples:
  blendlab batch swatches/harbour.toml --size-mm 170x170x6
  blendlab batch swatches/harbour.toml --size-mm 170x170x6 --closing hands --stock bottle
  blendlab batch swatches/harbour.toml --size-mm 400x180x6 --tiles 2x1 --card card.pdf
"""


def add(command: AddCommand) -> None:
    """Add the commands to the parser."""
    about = "What to weigh, what to set and how long to wait for a cold sheet of a given size."
    parser = command("batch", batch, about, _BATCH)
    option = parser.add_argument
    option("recipe", metavar="RECIPE", help="recipe file (TOML): its proportions and its folding are used")
    size = parser.add_mutually_exclusive_group(required=True).add_argument
    size("--size-mm", metavar="LxWxT", help="finished size, cold and trimmed, such as 180x150x6")
    size("--size-in", metavar="LxWxT", help="the same in inches, such as 7x6x0.25")
    option(
        "--units",
        default="g-mm",
        choices=tuple(SYSTEMS),
        help="of plan, card and refusals; --json stays in g and mm",
    )
    option("--flakes", metavar="CSV", help="flake list: grams on hand and the weight of one piece")
    option("--card", metavar="PDF", help="write the batch card, one page to print")
    option("--paper", default="A4", choices=("A4", "Letter"), help="paper of the card (default A4)")
    option("--date", metavar="DAY", help="date on the card, such as 2026-03-14 (default today)")
    option("--trim", type=number, default=5.0, metavar="MM", help="trimmed off each edge, mm (default 5)")
    option("--tiles", default="1x1", metavar="AxB", help="press it as A by B tiles, each trimmed")
    press = parser.add_argument_group("the press").add_argument
    press("--plate-mm", metavar="LxW", help="inner size of the plates (default 380x380)")
    press("--largest-load-g", type=number, metavar="G", help="most that is melted at once, g (default 200)")
    press("--plate-c", type=number, metavar="C", help="plate temperature in °C (default 180)")
    press("--liner", choices=("ptfe", "silicone"), help="liner on the plates (default ptfe)")
    press("--closing", metavar="HOW", help="what holds it shut: hands, bar-clamps, car-jack or screw-press")
    press("--force-n", type=number, metavar="N", help="force on the plates, N, in place of the usual one")
    plastic = parser.add_argument_group("the plastic").add_argument
    plastic(
        "--stock", metavar="KIND", help="what the flakes were cut from: bottle, cap, crate or mixed (default)"
    )
    plastic("--melt-index", type=number, metavar="G", help="at 190 °C and 2.16 kg, g in ten minutes")
    plastic("--fuse", type=whole, metavar="N", help="also time a block of N such sheets, stacked and fused")
