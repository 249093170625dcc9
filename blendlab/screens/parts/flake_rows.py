"""The flakes of the mix, a row each: colour, name, grams by field or slider, opacity, out."""

from typing import Any

import streamlit as st

from ... import checks
from ...recipe.recipe import Recipe
from . import draft, number_fields, opacity_words, refusals, session, size_section
from .opacity import drop_measured, popover, say_dropped
from .session import KEEP, Value
from .style import capital, label, plain, surplus

FULL_SCALES = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 100_000, 1_000_000)
LEAST_SCALE_G = 50.0
STEPS = {"g": 1.0, "oz": 0.05}  # of a slider
LEAST_G = 0.1  # left by sliding down


def show(recipe: Recipe) -> list[str]:
    """Show all rows and what is done with them together; return what is wrong with each."""
    total = size_section.total_g() or 0.0
    largest = max((draft.known_grams(row) or 0.0 for row in session.ROWS.get()), default=0.0)
    needed = size_section.needed_g() or 0.0
    most = number_fields.units().mass.of(max(largest, needed, LEAST_SCALE_G))
    scale = next(scale for scale in FULL_SCALES if scale >= min(most, FULL_SCALES[-1]))
    with st.container():
        said = [_row(row, float(scale), recipe) for row in session.ROWS.get()]
        surplus("rows", 2 * len(said))
    with st.container(horizontal=True, vertical_alignment="center", gap="small"):
        st.toggle("Keep the proportions", key=session.LOCKED.key, help=LOCK, **KEEP)
        _fill_the_rest(needed, total)
    return said


IN_LINE: dict[str, Any] = {
    "horizontal": True,
    "vertical_alignment": "center",
    "gap": "xsmall",
    "wrap": False,
}
LOCK = "Change one amount and the others follow, so that the colour stays."


def _row(row: int, scale: float, recipe: Recipe) -> str:
    """One flake; beneath, and returned, what is wrong with it."""
    name, mass = session.ROW_NAME(row), number_fields.units().mass
    with st.container(key=f"row{row}", **IN_LINE):
        _colour(row)
        with st.container(width="stretch", gap=None):
            _name(row)
            _slider(row, scale)
        number_fields.draw(
            label(f"{capital(mass.name)} of {name.get()}"),
            session.ROW_GRAMS(row),
            76,
            label_visibility="collapsed",
            on_change=_typed,
            args=(row,),
        )
        st.html(mass.symbol, width=12)
        popover(row, recipe)
        _remove(row)
    with st.container(gap="xsmall"):  # whether it says anything or not, so that nothing below shifts
        return _remarks(row)


def _colour(row: int) -> None:
    flake, srgb = session.ROW_FLAKE(row).get(), session.ROW_SRGB(row)
    st.color_picker(
        label(f"Colour of {session.ROW_NAME(row).get()}"),
        key=srgb.key,
        width=48,
        disabled=bool(flake.chip or flake.spectrum or flake.cut_from),
        on_change=drop_measured,
        args=(row,),
        label_visibility="collapsed",
        **session.offered(srgb),
        **KEEP,
    )


def _name(row: int) -> None:
    name = session.ROW_NAME(row)
    st.text_input(
        label(f"Name of {name.get()}"),
        key=name.key,
        max_chars=60,
        on_change=draft.renamed,
        args=(row,),
        label_visibility="collapsed",
        **session.offered(name),
        **KEEP,
    )


def _slider(row: int, scale: float) -> None:
    """The same grams as the field's, by sliding.

    Where the grams were changed elsewhere it is another slider: the page may still send the old one's value.
    """
    grams, mass = draft.known_grams(row), number_fields.units().mass
    start = min(mass.of(grams or 0.0), scale)
    slide = session.slide(row, session.ROW_SLIDES(row).get())
    if slide.is_set() and slide.get() != start:
        session.ROW_SLIDES(row).put(session.ROW_SLIDES(row).get() + 1)
        slide = session.slide(row, session.ROW_SLIDES(row).get())
    st.slider(
        label(f"{capital(mass.name)} of {session.ROW_NAME(row).get()} by sliding"),
        0.0,
        scale,
        start,
        step=STEPS[mass.symbol],
        key=slide.key,
        on_change=_slid,
        args=(row, slide),
        label_visibility="collapsed",
        disabled=grams is None,
    )


def _remove(row: int) -> None:
    alone = len(session.ROWS.get()) == 1
    words = label(f"Remove {session.ROW_NAME(row).get()}")
    st.button(
        words,
        key=f"remove{row}",
        type="tertiary",
        help="A sheet needs one flake" if alone else words,
        on_click=draft.remove_row,
        args=(row,),
        disabled=alone,
    )


def _remarks(row: int) -> str:
    dropped = say_dropped(row)
    choose = opacity_words.must_choose(row)
    if choose:
        with st.container(gap="xsmall"):
            name = session.ROW_NAME(row).get()
            st.warning(
                plain(f"Is {name} white or natural? Pale flakes look alike; natural ones let light through.")
            )
            opacity_words.ask(row, draft.flake_of(row))
    refused = ""
    try:
        draft.flake_of(row)
    except checks.InputError as error:
        refused = str(error)
        refusals.show(refused)
    surplus(f"remarks of row {row}", dropped + choose + bool(refused))
    return refused


def _fill_the_rest(needed: float, total: float) -> None:
    """Offer to let one flake make up what the size still needs."""
    rest = needed - total
    with st.popover("Fill the rest", disabled=rest < 0.05, help="One flake makes up what is missing."):
        for row in session.ROWS.get():
            more = number_fields.units().mass.text(max(rest, 0.0))
            words = plain(f"{session.ROW_NAME(row).get()}: {more} more")
            st.button(words, key=f"fill{row}", on_click=_add_grams, args=(row, rest))


def _add_grams(row: int, more: float) -> None:
    draft.grams_field(row).put(round((draft.known_grams(row) or 0.0) + more, 1))


def _slid(row: int, slide: Value[float]) -> None:
    if slide.key != session.slide(row, session.ROW_SLIDES(row).get()).key:
        return  # the page sent the value of a slider from before
    draft.grams_field(row).put(max(slide.get() * number_fields.units().mass.metric, LEAST_G))
    _typed(row)


def _typed(row: int) -> None:
    """Let the other amounts follow one that was changed, where their proportions are kept."""
    now, flakes = draft.known_grams(row), session.RECIPE.get().flakes
    rows = session.ROWS.get()
    if not session.LOCKED.get() or not now or len(flakes) != len(rows):
        return
    times = now / flakes[rows.index(row)].grams
    for other, flake in zip(rows, flakes, strict=True):
        if other != row:
            draft.grams_field(other).put(max(round(flake.grams * times, 1), LEAST_G))
