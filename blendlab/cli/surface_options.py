"""The options of `sheet` that choose a surface."""

import argparse
from typing import TYPE_CHECKING

from .. import checks
from ..look.faces import AXES, FACES
from ..look.profile import SHAPES, Profile
from .arguments import number, numbers
from .output import notify

if TYPE_CHECKING:
    from ..look.view import SurfaceSpec

OLD_SHAPES = {"cylinder": "rod", "sphere": "ball"}  # earlier names, still accepted


def profile(text: str) -> Profile:
    """Parse a profile: a shape with its sizes, or points of length and radius.

    InputError where the text is neither.

    Examples
    --------
    >>> profile("0,10;40,14;60,8").radius_mm
    14.0
    >>> profile("ball:25").length_mm
    50.0
    """
    name, colon, sizes = text.partition(":")
    if colon:
        shape = SHAPES[checks.one_of("the shape of --profile", _present_name(name), SHAPES)]
        return shape.make(*numbers(f"the size of a {name}", sizes, len(shape.sizes)))
    points = (numbers("a point of --profile", point, 2) for point in text.split(";"))
    return Profile(tuple((along, radius) for along, radius in points))


def _present_name(shape: str) -> str:
    """Return a shape's name; an earlier one is accepted, with a note on standard error."""
    name = OLD_SHAPES.get(shape, shape)
    if name != shape:
        notify(f"the shape {shape} is now called {name}; write --profile {name}:…")
    return name


def surface_spec(args: argparse.Namespace) -> "SurfaceSpec":
    """Return the surface that the options describe; InputError where one cannot be parsed."""
    from ..look.view import SurfaceSpec

    x, y = numbers("--at-mm", args.at_mm, 2)
    turned = profile(args.profile) if args.profile else None
    return SurfaceSpec(args.face, args.depth_mm, (x, y), args.angle_deg, args.tilt_deg, turned, args.axis)


def add_options(command: argparse.ArgumentParser) -> None:
    """Add the options that choose a surface."""
    option = command.add_argument_group("the surface").add_argument
    option("--face", default="top", choices=tuple(FACES), help="the surface to draw (default top)")
    option("--depth-mm", type=number, default=1.0, metavar="D", help="planed: depth taken off, mm")
    option("--at-mm", default="0,0", metavar="X,Y", help="sawn: a point of the cut, mm from the middle")
    option(
        "--angle-deg",
        type=number,
        default=0.0,
        metavar="A",
        help="sawn: its direction, degrees anticlockwise from the length",
    )
    option(
        "--tilt-deg",
        type=number,
        default=0.0,
        metavar="T",
        help="sawn: tilt of the blade from upright, degrees",
    )
    shapes = ", ".join(f"{name}:{','.join(shape.sizes).upper()}" for name, shape in SHAPES.items())
    points = "or points 'length,radius;…'"
    option("--profile", metavar="SHAPE", help=f"turned: {shapes}, {points}; without it, the thickest rod")
    option("--axis", default="length", choices=tuple(AXES), help="turned: direction of its axis in the slab")
