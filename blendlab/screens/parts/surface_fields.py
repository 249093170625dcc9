"""The fields that say which face, cut or turned blank is looked at."""

import streamlit as st

from ...look.faces import AXES, FACES
from ...look.profile import SHAPES, Profile
from ...look.view import SurfaceSpec
from ...recipe.recipe import Recipe
from . import number_fields, refusals
from .session import KEEP
from .style import surplus

SHOWN = {
    "top": "Top",
    "bottom": "Bottom",
    "edge": "Edge",
    "sawn": "Saw cut",
    "planed": "Planed",
    "block": "Block",
    "lathe": "Turned",
}
FURTHER = {  # label, key and choices of what has several pictures
    "edge": ("Which edge", "edge", ("front", "right", "back", "left")),
    "lathe": ("Turned blank", "lathe", ("turned", "unrolled")),
}
AXIS = "Which way the lathe's axis lies in the slab; upright for a disc or a bowl."
SAW_AT = "Where the cut passes, from the middle of the sheet."
SAW_TURN = "0 cuts along the length; above 0 the cut turns anticlockwise."
SAW_LEAN = "0 is an upright blade; leaning, it shows the layers drawn out."


def chosen_surface(recipe: Recipe) -> SurfaceSpec:
    """Read the fields of the chosen surface.

    Parameters
    ----------
    recipe : Recipe
        Its slab bounds the sizes offered.
    """
    with st.container(gap="xsmall"):
        face = _face()
    with st.container():
        asked = _measured(face, recipe)
        surplus("fields of a face", bool(FACES[face].options))
    return asked


def _measured(face: str, recipe: Recipe) -> SurfaceSpec:
    """Read the sizes that a face asks for, in one field or one row of them."""
    options = FACES[face].options
    if "depth_mm" in options:
        most = recipe.sheet.thickness_mm
        depth = number_fields.slide(
            "Planed off the top, mm", "depth", min(1.0, most / 2), 0.0, most * 0.98, fine=True
        )
        return SurfaceSpec(face, depth_mm=depth)
    if "at_mm" in options:
        return _sawn(recipe)
    if "profile" in options:
        return _turned(face, recipe)
    return SurfaceSpec(face)


def _face() -> str:
    """Choose what is looked at; of the four edges, and of a turned blank's two pictures, which one."""
    first = _pills("Look at", "face", tuple(SHOWN))
    face = _pills(*FURTHER[first]) if first in FURTHER else first
    surplus("pills of a face", first in FURTHER)
    return face


def _pills(words: str, key: str, offered: tuple[str, ...]) -> str:
    chosen: str = st.pills(
        words,
        offered,
        default=offered[0],
        format_func=lambda face: SHOWN.get(face, face.capitalize()),
        key=key,
        required=True,
        label_visibility="collapsed",
        **KEEP,
    )
    return chosen


def _sawn(recipe: Recipe) -> SurfaceSpec:
    a, b = recipe.sheet.length_mm / 2, recipe.sheet.width_mm / 2
    x, y, turn, lean = st.columns(4)
    return SurfaceSpec(
        "sawn",
        at_mm=(
            number_fields.slide("Along the length, mm", "sawx", 0.0, -a, a, place=x, help=SAW_AT),
            number_fields.slide("Across, mm", "sawy", 0.0, -b, b, place=y),
        ),
        angle_deg=turn.slider(
            "Turned, degrees", -90.0, 90.0, 0.0, 5.0, "%.0f", key="sawturn", help=SAW_TURN, **KEEP
        ),
        tilt_deg=lean.slider(
            "Blade leans, degrees", -80.0, 80.0, 0.0, 5.0, "%.0f", key="sawlean", help=SAW_LEAN, **KEEP
        ),
    )


def _turned(face: str, recipe: Recipe) -> SurfaceSpec:
    """A blank on the lathe; sizes start so that it fits the slab."""
    radius = min(recipe.sheet.size_mm) / 2
    fits = {"radius": radius, "wall": radius / 5, "height": radius, "length": recipe.sheet.length_mm}
    columns = st.columns(5)
    name = columns[0].selectbox("Shape", list(SHAPES), key="shape", **KEEP)
    axis = columns[1].selectbox("Axis along the", list(AXES), key="axis", help=AXIS, **KEEP)
    shape = SHAPES[name or "rod"]
    given = [
        number_fields.number(
            f"{size.capitalize()}, mm", f"turn{name}{size}", fits[size], 0.5, 1000.0, place=column
        )
        for column, size in zip(columns[2:], shape.sizes, strict=False)
    ]
    turned: Profile | None = None
    with refusals.shown("The thickest rod is shown."):
        turned = shape.make(*given)
    return SurfaceSpec(face, profile=turned, axis=axis or "length")
