"""The fields that say which face, cut or turned blank is looked at."""

import streamlit as st

from ...look.profile import Profile, bowl, cylinder, sphere, spindle
from ...look.surfaces import FACES
from ...look.view import VIEWS, SurfaceSpec
from ...recipe.recipe import Recipe
from . import help_texts, refusals
from .session import KEEP
from .style import within

NAMES = {
    **{face: f"{face.capitalize()} face" for face in FACES},
    "planed": "Planed face",
    "sawn": "Saw cut",
    "block": "Block",
    "turned": "Turned blank",
    "unrolled": "Turned blank, unrolled",
}
SHAPES = {
    "rod": (cylinder, ("length", "radius")),
    "ball": (sphere, ("radius",)),
    "spindle": (spindle, ("length", "radius")),
    "bowl": (bowl, ("height", "radius", "wall")),
}
AXES = ("length", "width", "upright")
AXIS = "Which way the lathe's axis lies in the slab; upright for a disc or a bowl."
SAW_AT = "Where the cut passes, from the middle of the sheet."
SAW_TURN = "0 cuts along the length; above 0 the cut turns anticlockwise."
SAW_LEAN = "0 is an upright blade; leaning, it shows the layers drawn out."


def chosen_surface(recipe: Recipe) -> SurfaceSpec:
    """Read what is to be looked at.

    Parameters
    ----------
    recipe : Recipe
        Its slab bounds the sizes offered.

    Returns
    -------
    SurfaceSpec
    """
    face = st.pills(
        "Look at",
        VIEWS,
        default="top",
        format_func=str.capitalize,
        key="face",
        help=help_texts.FACES,
        required=True,
        **KEEP,
    )
    if face == "planed":
        most = recipe.sheet.thickness_mm
        deepest = most * 0.98
        within("depth", 0.0, deepest)
        depth = st.slider("Planed off the top, mm", 0.0, deepest, min(1.0, most / 2), key="depth", **KEEP)
        return SurfaceSpec(face, depth_mm=depth)
    if face == "sawn":
        return _sawn(recipe)
    if face in ("turned", "unrolled"):
        return _turned(face, recipe)
    return SurfaceSpec(face)


def _sawn(recipe: Recipe) -> SurfaceSpec:
    a, b = recipe.sheet.length_mm / 2, recipe.sheet.width_mm / 2
    within("sawx", -a, a)
    within("sawy", -b, b)
    x, y, turn, lean = st.columns(4)
    return SurfaceSpec(
        "sawn",
        at_mm=(
            x.slider("Along the length, mm", -a, a, 0.0, key="sawx", help=SAW_AT, **KEEP),
            y.slider("Across, mm", -b, b, 0.0, key="sawy", **KEEP),
        ),
        angle_deg=turn.slider("Turned, degrees", -90.0, 90.0, 0.0, 5.0, key="sawturn", help=SAW_TURN, **KEEP),
        tilt_deg=lean.slider(
            "Blade leans, degrees", -80.0, 80.0, 0.0, 5.0, key="sawlean", help=SAW_LEAN, **KEEP
        ),
    )


def _turned(face: str, recipe: Recipe) -> SurfaceSpec:
    """A blank on the lathe; sizes start so that it fits the slab."""
    radius = min(recipe.sheet.size_mm) / 2
    fits = {"radius": radius, "wall": radius / 5, "height": radius, "length": recipe.sheet.length_mm}
    columns = st.columns(5)
    name = columns[0].selectbox("Shape", list(SHAPES), key="shape", **KEEP)
    axis = columns[1].selectbox("Axis along the", list(AXES), key="axis", help=AXIS, **KEEP)
    make, sizes = SHAPES[name or "rod"]
    given = [
        column.number_input(
            f"{size.capitalize()}, mm", 0.5, 1000.0, fits[size], key=f"turn{name}{size}", **KEEP
        )
        for column, size in zip(columns[2:], sizes, strict=False)
    ]
    turned: Profile | None = None
    with refusals.shown("The thickest rod is shown."):
        turned = make(*given)  # type: ignore[operator]
    return SurfaceSpec(face, profile=turned, axis=axis or "length")
