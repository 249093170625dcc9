"""Which surface `sheet` shows: the words of its options."""

import argparse
import math
from typing import TYPE_CHECKING

from .. import checks

if TYPE_CHECKING:
    from ..look.profile import Profile
    from ..look.view import SurfaceSpec

# As in `look.view`, which is too slow to load for a parser's sake; a test holds the two together.
FACES = ("top", "bottom", "front", "right", "back", "left", "planed", "sawn", "block", "turned", "unrolled")
SIZES = {"cylinder": 2, "sphere": 1, "spindle": 2, "bowl": 3}  # how many numbers each shape takes


def numbers(what: str, text: str, count: int, unit: str = "millimetres") -> list[float]:
    """Return so many numbers of a list with commas."""
    try:
        found = [float(part) for part in text.split(",")]
    except ValueError:
        found = []
    if len(found) != count or not all(map(math.isfinite, found)):
        number = "a number" if count == 1 else f"{count} numbers with commas between"
        checks.refuse(f"{what} must be {number}", text, f"give it in {unit}")
    return found


def profile(text: str) -> "Profile":
    """Read a profile: a shape with its sizes, or points of length and radius.

    Raises
    ------
    InputError
        Where it is neither.

    Examples
    --------
    >>> profile("0,10;40,14;60,8").radius_mm
    14.0
    >>> profile("sphere:25").length_mm
    50.0
    """
    from ..look import profile as shapes

    name, colon, sizes = text.partition(":")
    if colon:
        count = SIZES[checks.one_of("the shape of --profile", name, SIZES)]
        made: Profile = getattr(shapes, name)(*numbers(f"the size of a {name}", sizes, count))
        return made
    points = (numbers("a point of --profile", point, 2) for point in text.split(";"))
    return shapes.Profile(tuple((along, radius) for along, radius in points))


def asked(args: argparse.Namespace) -> "SurfaceSpec":
    """Return what the options ask for.

    Raises
    ------
    InputError
        Where an option cannot be read.
    """
    from ..look.view import SurfaceSpec

    x, y = numbers("--at-mm", args.at_mm, 2)
    turned = profile(args.profile) if args.profile else None
    return SurfaceSpec(args.face, args.depth_mm, (x, y), args.angle_deg, args.tilt_deg, turned, args.axis)


def add_options(command: argparse.ArgumentParser) -> None:
    """Offer the options that say which surface is wanted."""
    made = command.add_argument_group("which surface")
    made.add_argument("--face", default="top", choices=FACES, help="what is looked at, top unless given")
    made.add_argument(
        "--depth-mm",
        type=float,
        default=1.0,
        metavar="D",
        help="planed: what is taken off",
    )
    made.add_argument("--at-mm", default="0,0", metavar="X,Y", help="sawn: a point of it, from the middle")
    made.add_argument(
        "--angle-deg",
        type=float,
        default=0.0,
        metavar="A",
        help="sawn: its way, anticlockwise from the length",
    )
    made.add_argument(
        "--tilt-deg",
        type=float,
        default=0.0,
        metavar="T",
        help="sawn: lean of the blade from upright",
    )
    shapes = "sphere:R, cylinder:L,R, spindle:L,R, bowl:H,R,WALL, or points 'length,radius;…'"
    made.add_argument("--profile", metavar="SHAPE", help=f"turned: {shapes}; else the thickest rod")
    made.add_argument(
        "--axis",
        default="length",
        choices=("length", "width", "upright"),
        help="turned: way of its axis in the slab",
    )
