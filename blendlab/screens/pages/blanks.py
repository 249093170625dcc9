"""Page: blanks laid out on the sheet, and the part of the marbling that each gets."""

import base64

import streamlit as st

from blendlab.colour.means import area_mean
from blendlab.look.nesting import KERF_MM, Layout, Piece, lay_out
from blendlab.recipe.recipe import Recipe
from blendlab.screens.parts import cache, draft, number_fields, refusals
from blendlab.screens.parts.session import KEEP
from blendlab.screens.parts.style import awaiting, some

SHEET_PX, MAX_SHOWN = 640, 24


def _piece() -> Piece:
    """The blank that the fields ask for."""
    shapes = ["square-cornered", "round"]
    shape = st.segmented_control("Shape", shapes, default=shapes[0], key="blankshape", required=True, **KEEP)
    with st.container(horizontal=True):
        if shape == "round":
            across = number_fields.number("Diameter, mm", "blankround", 60.0, 1.0, 1000.0)
            return Piece(across, across, round=True)
        length = number_fields.number("Length, mm", "blanklength", 90.0, 1.0, 1000.0)
        width = number_fields.number("Width, mm", "blankwidth", 40.0, 1.0, 1000.0)
    return Piece(length, width)


def _laid_out(plan_mm: tuple[float, float]) -> Layout:
    piece = _piece()
    with st.container(horizontal=True):
        kerf = number_fields.number(
            "Saw's kerf, mm", "blankkerf", KERF_MM, 0.0, 20.0, help="Width of a cut: that much becomes dust."
        )
        margin = number_fields.number(
            "Edge left free, mm",
            "blankmargin",
            5.0,
            0.0,
            500.0,
            help="No blank comes nearer to the sheet's edge.",
        )
    reach = max(piece.length_mm, piece.width_mm)
    right = number_fields.slide("Move the layout right, mm", "blankright", 0.0, -reach, reach)
    up = number_fields.slide("Move it up, mm", "blankup", 0.0, -reach, reach)
    return lay_out(plan_mm, piece, kerf, margin, (right, up))


def _outlines(layout: Layout, plan_mm: tuple[float, float]) -> str:
    """Numbered outlines of all blanks over the face, placed in parts of its sides."""
    long, wide = plan_mm
    shapes = []
    for number, piece in enumerate(layout.pieces, start=1):
        left = (piece.x_mm - piece.length_mm / 2 + long / 2) / long
        top = (wide / 2 - piece.y_mm - piece.width_mm / 2) / wide
        across, down = piece.length_mm / long, piece.width_mm / wide
        place = f"left:{left:.3%};top:{top:.3%};width:{across:.3%};height:{down:.3%}"
        rounded = ";border-radius:50%" if piece.round else ""
        shapes.append(f'<div class="outline" style="{place}{rounded}"><b>{number}</b></div>')
    return "".join(shapes)


def _overview(recipe: Recipe, layout: Layout, plan_mm: tuple[float, float]) -> None:
    """Draw the sheet with its blanks."""
    with awaiting("blanks", plan_mm, area_mean(recipe).srgb):
        image = base64.b64encode(cache.view(recipe, SHEET_PX).png).decode()
        words = f"The sheet with {len(layout.pieces)} numbered blanks on it"
        picture = f'<img alt="{words}" src="data:image/png;base64,{image}">'
        st.html(f'<div class="layout">{picture}{_outlines(layout, plan_mm)}</div>')


st.title("Blanks")
st.write("Lay blanks out on the sheet, move the layout to catch a streak, and see what each one gets.")
recipe = draft.last_good()
plan_mm = cache.cold_plan_mm(recipe)
picture, fields = st.columns([11, 9], gap="large")
with fields:
    with refusals.shown(stop=True):
        layout = _laid_out(plan_mm)
    ways = [", turned a quarter"] * layout.turned + [", in staggered rows"] * layout.staggered
    st.subheader(f"{some(len(layout.pieces), 'blank')}{''.join(ways)}")
    st.caption(f"On the cold sheet, {number_fields.units().sides(plan_mm)} before it is trimmed.")
mean, shown = area_mean(recipe).srgb, dict(enumerate(layout.pieces[:MAX_SHOWN], start=1))
with st.container(horizontal=True, gap="small"):
    places = []
    for number, piece in shown.items():
        with st.container(width=cache.BLANK_PX, gap=None):
            places.append(awaiting(f"blank{number}", (piece.length_mm, piece.width_mm), mean))
            st.html(f'<div class="under">{number}</div>')
if len(layout.pieces) > MAX_SHOWN:
    st.caption(f"The first {MAX_SHOWN} are shown.")
with picture:
    _overview(recipe, layout, plan_mm)
for place, (number, piece) in zip(places, shown.items(), strict=True):
    with place:
        png = cache.blank_png(recipe, piece)
        st.image(png, width="stretch", output_format="PNG", alt=f"Blank {number}")
