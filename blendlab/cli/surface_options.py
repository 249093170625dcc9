"""The options of `sheet` that choose a surface."""

import argparse
import math
from typing import TYPE_CHECKING

from .. import checks

if TYPE_CHECKING:
    from ..look.profile import Profile
    from ..look.view import SurfaceSpec

# The same as in `look.view`, which takes too long to load for a parser; a test compares the two.
FACES = ("top", "bottom", "front", "right", "back", "left", "planed", "sawn", "block", "turned", "unrolled")
SIZES = {"cylinder": 2, "sphere": 1, "spindle": 2, "bowl": 3}  # how many numbers each shape takes


def numbers(what: str, text: str, count: int, unit: str = "millimetres") -> list[float]:
    """Parse exactly `count` numbers separated by commas."""
    try:
        found = [float(part) for part in text.split(",")]
    except ValueError:
        found = []
    if len(found) != count or not all(map(math.isfinite, found)):
        number = "a number" if count == 1 else f"{count} numbers separated by commas"
        checks.refuse(f"{what} must be {number}", text, f"give it in {unit}")
    return found


def profile(text: str) -> "Profile":
    """Parse a profile: a shape with its sizes, or points of length and radius.

    Raises
    ------
    InputError
        Where the text is neither.

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


def surface_spec(args: argparse.Namespace) -> "SurfaceSpec":
    """Return the surface that the options describe.

    Raises
    ------
    InputError
        Where an option cannot be parsed.
    """
    from ..look.view import SurfaceSpec

    x, y = numbers("--at-mm", args.at_mm, 2)
    turned = profile(args.profile) if args.profile else None
    return SurfaceSpec(args.face, args.depth_mm, (x, y), args.angle_deg, args.tilt_deg, turned, args.axis)


def add_options(command: argparse.ArgumentParser) -> None:
    """Add the options that choose a surface."""
    option = command.add_argument_group("the surface").add_argument
    option("--face", default="top", choices=FACES, help="the surface to draw, top unless given")
    option("--depth-mm", type=float, default=1.0, metavar="D", help="planed: depth taken off, mm")
    option("--at-mm", default="0,0", metavar="X,Y", help="sawn: a point of the cut, mm from the middle")
    option(
        "--angle-deg",
        type=float,
        default=0.0,
        metavar="A",
        help="sawn: its direction, degrees anticlockwise from the length",
    )
    option(
        "--tilt-deg",
        type=float,
        default=0.0,
        metavar="T",
        help="sawn: tilt of the blade from upright, degrees",
    )
    shapes = "sphere:R, cylinder:L,R, spindle:L,R, bowl:H,R,WALL, or points 'length,radius;…'"
    option("--profile", metavar="SHAPE", help=f"turned: {shapes}; without it, the thickest rod")
    option(
        "--axis",
        default="length",
        choices=("length", "width", "upright"),
        help="turned: direction of its axis in the slab",
    )
