"""The registry of surfaces to look at: names, words and options, quick to import for a parser."""

from dataclasses import dataclass

Vector = tuple[float, float, float]


@dataclass(frozen=True)
class Face:
    """A face, a cut or a solid.

    Attributes
    ----------
    words : str
        What a maker calls it.
    means : str
        What it shows; empty for the sides of the slab.
    options : tuple of str
        Fields of `SurfaceSpec` that belong to it.
    """

    name: str
    words: str
    means: str = ""
    options: tuple[str, ...] = ()


# How each side of the slab is seen: directions to the right and down its picture.
SIDES: dict[str, tuple[Vector, Vector]] = {
    "top": ((1, 0, 0), (0, -1, 0)),
    "bottom": ((-1, 0, 0), (0, -1, 0)),
    "front": ((1, 0, 0), (0, 0, -1)),
    "right": ((0, 1, 0), (0, 0, -1)),
    "back": ((-1, 0, 0), (0, 0, -1)),
    "left": ((0, -1, 0), (0, 0, -1)),
}
FACES = {
    face.name: face
    for face in (
        *(Face(side, f"{side.capitalize()} face") for side in SIDES),
        Face("planed", "Planed face", "the top face taken down", ("depth_mm",)),
        Face("sawn", "Saw cut", "a cut anywhere", ("at_mm", "angle_deg", "tilt_deg")),
        Face("block", "Block", "the whole sheet"),
        Face("turned", "Turned blank", "a blank from the lathe", ("profile", "axis")),
        Face("unrolled", "Turned blank, unrolled", "its skin laid flat", ("profile", "axis")),
    )
}
# Directions of a turned blank: which of x, y, z is its axis, and which are at 0 and 90 degrees about it.
AXES = {"length": (0, 1, 2), "width": (1, 2, 0), "upright": (2, 0, 1)}
