"""Page: which flakes, how many grams of each, and the colour they make."""

from typing import Any

import streamlit as st

from blendlab import checks
from blendlab.colour import advice
from blendlab.colour.backing import BACKINGS, look_on
from blendlab.colour.difference import delta_e00
from blendlab.colour.means import area_mean, cielab_mean, full_blend
from blendlab.colour.pigment import palette_of
from blendlab.colour.uncertainty import of_area_mean, of_full_blend
from blendlab.recipe.recipe import FINISHES, MAX_FLAKES, Flake, Recipe
from blendlab.screens.parts import (
    batch_fields,
    cache,
    draft,
    help_texts,
    number_fields,
    opacity_words,
    refusals,
    session,
)
from blendlab.screens.parts.opacity import drop_measured, popover, say_dropped
from blendlab.screens.parts.session import KEEP
from blendlab.screens.parts.style import plain, share, swatch
from blendlab.workshop.order import Plastic
from blendlab.workshop.sheet_size import tile_g

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
        srgb, name = session.ROW_SRGB(row), session.ROW_NAME(row)
        st.color_picker(
            plain(f"Colour of {name.get()}"),
            key=srgb.key,
            width=44,
            disabled=fixed,
            on_change=drop_measured,
            args=(row,),
            **session.offered(srgb),
            **keep,
        )
        st.text_input(
            "Name",
            key=name.key,
            max_chars=60,
            width=152,
            on_change=draft.renamed,
            args=(row,),
            **session.offered(name),
            **keep,
        )
        number_fields.draw(
            plain(f"Grams of {name.get()}"), session.ROW_GRAMS(row), 100, label_visibility="collapsed"
        )
        share((_grams(row) or 0.0) / total if total else 0.0, session.ROW_SRGB(row).get())
        popover(row, session.RECIPE.get())
        alone = len(session.ROWS.get()) == 1
        st.button(
            plain(f"Remove {session.ROW_NAME(row).get()}"),
            key=f"remove{row}",
            type="tertiary",
            help="A sheet needs one flake" if alone else plain(f"Remove {session.ROW_NAME(row).get()}"),
            on_click=draft.remove_row,
            args=(row,),
            disabled=alone,
        )
    say_dropped(row)
    if opacity_words.must_choose(row):
        st.warning(
            plain(
                f"Is {name.get()} white or natural? Pale flakes look alike; natural ones let light through."
            )
        )
        opacity_words.ask(row, draft.flake_of(row))
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
    for sentence in advice.for_recipe(recipe):
        st.text(sentence)


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


def _needs(total: float) -> None:
    """Say what the finished size needs beside what the mix weighs, and offer to make them agree."""
    try:
        order, plastic = batch_fields.order(), Plastic.published(batch_fields.press().plate_c)
    except checks.InputError:  # said where the field is read
        return
    needed = order.tiles[0] * order.tiles[1] * tile_g(order, plastic).usual
    st.text(f"Needs {needed:.0f} g with trim; the mix weighs {total:.0f} g.")
    if total == 0 or round(needed) == round(total):
        return
    thick = order.thickness_mm * total / needed
    with st.container(horizontal=True):
        st.button(f"Make the mix {needed:.0f} g", on_click=_scale, args=(needed / total,))
        st.button(f"Use all of it: {thick:.1f} mm thick", on_click=_thicken, args=(thick,))


def _scale(times: float) -> None:
    for row in session.ROWS.get():
        session.ROW_GRAMS(row).put(number_fields.shown(max(round((_grams(row) or 0.0) * times, 1), 0.1)))


def _thicken(thickness_mm: float) -> None:
    session.SIZE["thickness_mm"].put(number_fields.shown(round(thickness_mm, 1)))


def _grams(row: int) -> float | None:
    """Grams of a row, None where its field cannot be read."""
    try:
        return draft.grams_of(row)
    except checks.InputError:
        return None


st.title("Flakes")
st.write(
    "Give each flake the colour of a thick piece, a name and its grams. The sheet beside them is what the "
    "press would make of them."
)
fields, result = st.columns([11, 9], gap="large")
with fields:
    title = session.TITLE
    st.text_input("Name of the sheet", key=title.key, max_chars=60, **session.offered(title), **KEEP)
    st.caption("Finished size, cold and trimmed")
    batch_fields.show_size()
    st.selectbox(
        "Finish of the liners",
        FINISHES,
        key=session.FINISH.key,
        width=200,
        help=help_texts.FINISH,
        **session.offered(session.FINISH, FINISHES),
        **KEEP,
    )
    amounts = [_grams(row) for row in session.ROWS.get()]
    total = sum(amount for amount in amounts if amount)
    said = [_row(row, total) for row in session.ROWS.get()]
    recipe, wrong = draft.recipe()
    if wrong not in said:
        refusals.show(wrong)
    with st.container(horizontal=True, vertical_alignment="center"):
        full = len(session.ROWS.get()) >= MAX_FLAKES
        st.button("Add a flake", icon=":material/add:", on_click=_add, disabled=full)
    if None in amounts:
        st.text("What the mix weighs shows once every amount can be read.")
    else:
        _needs(total)
    _means(recipe)
with result:
    picture = st.empty()
    st.caption(f"Top face after {recipe.folding.folds} folds; choose the count on the Folds page.")
    with picture.container():
        alt = f"Predicted sheet after {recipe.folding.folds} folds, mean colour {full_blend(recipe).srgb}"
        for shown in cache.sharpening(recipe, 480):
            picture.image(shown.png, width="stretch", output_format="PNG", alt=alt)
    draft.offer_other_sheets()
    _thin(recipe)
