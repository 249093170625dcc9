"""Page: which flakes, how many grams of each, and the colour they make."""

from typing import Any

import streamlit as st

from blendlab import checks
from blendlab.colour.backing import BACKINGS, look_on
from blendlab.colour.difference import delta_e00
from blendlab.colour.means import area_mean, cielab_mean, full_blend
from blendlab.colour.pigment import palette_of
from blendlab.colour.uncertainty import of_area_mean, of_full_blend
from blendlab.recipe.recipe import MAX_FLAKES, Flake, Recipe
from blendlab.recipe.slab_size import SIDES_MM, THICKNESS_MM
from blendlab.screens.parts import cache, draft, help_texts, refusals, session
from blendlab.screens.parts.opacity import popover
from blendlab.screens.parts.session import KEEP
from blendlab.screens.parts.style import plain, share, swatch

BEHIND = {
    "white": "On white",
    "black": "On black",
    "own": "On more of it",
    "window": "Held to a window",
}
PLUS_MINUS = (
    "The true colour should be that near nine times in ten, if flake colours are known to 2 ΔE and masses to "
    "1 g. How far off strengths and the theory usually are was set on measured mixtures of oil paints: no "
    "open measurements of pressed HDPE were found."
)
FRESH = ("#c8452e", "#3d7a4c", "#2b3a4a", "#e3d9c6", "#7b4a86", "#58a6a8")


def _add() -> None:
    taken = draft.names()
    name = next(f"flake {n}" for n in range(1, MAX_FLAKES + 2) if f"flake {n}" not in taken)
    draft.add_row(Flake(name, FRESH[len(taken) % len(FRESH)], 20.0))


def _row(row: int, total: float) -> str:
    """One flake: colour, name, grams, its share, remove; beneath, and returned, what is wrong with it."""
    keep: dict[str, Any] = {**KEEP, "label_visibility": "collapsed"}
    with st.container(key=f"row{row}", horizontal=True, vertical_alignment="center", gap="xsmall"):
        flake = session.ROW_FLAKE(row).get()
        fixed = bool(flake.chip or flake.spectrum)
        st.color_picker("Colour", key=session.ROW_SRGB(row).key, width=44, disabled=fixed, **keep)
        st.text_input("Name", key=session.ROW_NAME(row).key, max_chars=60, width=172, **keep)
        grams = session.ROW_GRAMS(row)
        st.number_input("Grams", key=grams.key, min_value=0.0, step=5.0, format="%g", width=100, **keep)
        share((grams.get() or 0.0) / total if total else 0.0, session.ROW_SRGB(row).get())
        popover(row, session.RECIPE.get())
        alone = len(session.ROWS.get()) == 1
        st.button(
            "",
            key=f"remove{row}",
            icon=":material/close:",
            type="tertiary",
            help="A sheet needs one flake" if alone else plain(f"Remove {session.ROW_NAME(row).get()}"),
            on_click=draft.remove_row,
            args=(row,),
            disabled=alone,
        )
    try:
        draft.flake_of(row)
    except checks.InputError as error:
        refusals.show(str(error))
        return str(error)
    return ""


def _means(recipe: Recipe) -> None:
    afar, mixed = area_mean(recipe), full_blend(recipe)
    for label, colour, uncertainty, note in (
        ("Average before mixing", afar, of_area_mean(recipe), "while the pieces are whole"),
        ("Fully mixed", mixed, of_full_blend(recipe), "after many folds"),
    ):
        swatch(
            label,
            colour,
            f"within {uncertainty.band90_delta_e_ab:.0f} ΔE*ab, nine times in ten; {note}",
            large=True,
        )
    step = float(delta_e00(afar.lab, mixed.lab))
    baseline = cielab_mean(recipe)
    st.caption(
        f"Folding moves the mean colour from the first to the second, a step of {step:.1f} ΔE00. A plain "
        f"CIELAB average, with no physics in it, would be {baseline.srgb}.",
        help=PLUS_MINUS,
    )


def _thin(recipe: Recipe) -> None:
    """The blend as a sheet of the recipe's thickness, where light comes through it."""
    flakes = palette_of(recipe)
    thick = recipe.sheet.thickness_mm
    behind = {backing: look_on(flakes, recipe.shares, thick, backing) for backing in BACKINGS}
    with st.expander("What shows through it"):
        st.caption(f"The fully mixed colour, {thick:g} mm thick, on four grounds.")
        with st.container(horizontal=True):
            for backing, colour in behind.items():
                with st.container(width=210):
                    swatch(BEHIND[backing], colour)


def _sheet_fields() -> None:
    with st.expander("Sheet size and name"):
        st.text_input("Name of the sheet", key=session.TITLE.key, max_chars=60, **KEEP)
        with st.container(horizontal=True):
            for key, label, low, high, said in (
                ("length_mm", "Length, mm", *SIDES_MM, None),
                ("width_mm", "Width, mm", *SIDES_MM, None),
                ("thickness_mm", "Hot thickness, mm", *THICKNESS_MM, help_texts.SPACERS),
            ):
                keep: dict[str, Any] = {"format": "%g", "width": 200, **KEEP}
                st.number_input(label, low, high, key=key, step=1.0, help=said, **keep)


st.title("Flakes")
st.write(
    "Give each flake the colour of a thick piece, a name and its grams. The sheet beside them is what the "
    "press would make of them."
)
fields, result = st.columns([11, 9], gap="large")
with fields:
    total = sum(session.ROW_GRAMS(row).get() or 0.0 for row in session.ROWS.get())
    said = [_row(row, total) for row in session.ROWS.get()]
    recipe, wrong = draft.recipe()
    if wrong not in said:
        refusals.show(wrong)
    with st.container(horizontal=True, vertical_alignment="center"):
        full = len(session.ROWS.get()) >= MAX_FLAKES
        st.button("Add a flake", icon=":material/add:", on_click=_add, disabled=full)
        st.text(f"{total:g} g in all")
    _means(recipe)
    _sheet_fields()
with result:
    picture = st.empty()
    st.caption(f"Top face after {recipe.folding.folds} folds; choose the count on the Folds page.")
    with picture.container():
        cache.warm_up()
        alt = f"Predicted sheet after {recipe.folding.folds} folds, mean colour {full_blend(recipe).srgb}"
        for shown in cache.sharpening(recipe, 480, 4):
            picture.image(shown.png, width="stretch", output_format="PNG", alt=alt)
    _thin(recipe)
