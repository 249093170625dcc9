"""One sheet of the log: its pictures, how it came out, and what the maker writes about it."""

from dataclasses import replace
from typing import Any

import streamlit as st

from ...io.photo_files import photo_from_bytes, small_picture
from ...logbook import cut_up, photos, sheet_log
from ...logbook.comparison import Line, compare
from ...logbook.sheet_log import LoggedSheet
from ...units import Units
from ..pages import file_of
from . import draft, number_fields, refusals, session, stock_table
from .autosave import home
from .number_fields import Quantity
from .photo_colour import PHOTO_TYPES
from .session import Value
from .style import plain, rows, some

PX = 900
_MEASURES = (
    ("length_mm", "Length, mm"),
    ("width_mm", "Width, mm"),
    ("thickness_mm", "Thickness, mm"),
    ("weight_g", "Weight, g"),
)


@st.cache_data(max_entries=200, show_spinner=False)
def _small(name: str, px: int, folder: str) -> bytes:
    return small_picture(photos.read(home(), name), px)


@st.cache_data(max_entries=100, show_spinner="Looking at the photo …")
def _compared(sheet: LoggedSheet, units: Units, folder: str) -> tuple[Line, ...]:
    seen = photo_from_bytes(photos.read(home(), sheet.photo), "the photo") if sheet.photo else None
    return compare(sheet, seen, units)


def picture(sheet: LoggedSheet, px: int, predicted: bool = False) -> None:
    """Show a sheet's photo, or on request or where there is none, its predicted picture."""
    name = sheet.picture if predicted or not sheet.photo else sheet.photo
    if name is None:
        return
    kind = "Photo" if name == sheet.photo else "Predicted picture"
    with refusals.noted():
        png = _small(name, px, str(home()))
        st.image(png, width="stretch", output_format="PNG", alt=f"{kind} of {sheet.recipe.name}")


def show(sheet: LoggedSheet, changes: bool) -> None:
    """Show a sheet with everything known of it.

    Parameters
    ----------
    changes : bool
        Whether the log may be changed.
    """
    with st.container(border=True):
        with st.container(horizontal=True, vertical_alignment="center"):
            st.subheader(plain(sheet.recipe.name))
            st.button(
                "Close",
                key="close log entry",
                type="tertiary",
                help="Close",
                on_click=session.LOG_OPEN.forget,
            )
        folds = sheet.recipe.folding.folds
        st.text(f"Pressed on {sheet.pressed_on.isoformat()}, after {some(folds, 'fold')}")
        came_out, said = st.columns(2, gap="large")
        with came_out:
            _pictures(sheet)
            _comparison(sheet)
        with said:
            _form(sheet, changes)
            _actions(sheet, changes)
        if sheet.programme:
            mass = number_fields.units().mass
            with st.expander("As it was pressed"):
                rows(
                    ([flake.srgb, flake.name, mass.text(flake.grams, 1)] for flake in sheet.recipe.flakes),
                    numbers=(2,),
                )
                st.text("\n".join(sheet.programme))


def _pictures(sheet: LoggedSheet) -> None:
    if sheet.photo and sheet.picture:
        left, right = st.columns(2)
        with left:
            picture(sheet, PX)
            st.caption("Photo")
        with right:
            picture(sheet, PX, predicted=True)
            st.caption("Predicted that day")
    elif sheet.photo or sheet.picture:
        picture(sheet, PX)
        st.caption("Photo" if sheet.photo else "Predicted that day; no photo yet")


def _comparison(sheet: LoggedSheet) -> None:
    lines: tuple[Line, ...] = ()
    with refusals.noted():
        lines = _compared(sheet, number_fields.units(), str(home()))
    if not lines:
        return
    differences = [
        line.difference if session.NUMBERS.get() else line.in_words or line.difference for line in lines
    ]
    rows(
        (
            [line.what, line.predicted, line.measured, difference]
            for line, difference in zip(lines, differences, strict=True)
        ),
        ["", "predicted", "measured", "difference"],
        numbers=(3,),
    )
    if sheet.photo:
        st.caption(
            "A photo is straightened and its light corrected, best with white paper in it. Where no sheet of "
            "the size given is found, its middle half is taken as it is."
        )


def _form(sheet: LoggedSheet, changes: bool) -> None:
    # Only its button saves: Enter in a number would, while the next field is being typed in.
    with st.form(f"about {sheet.uid}", border=False, enter_to_submit=False):
        st.caption("How it came out")
        of = sheet.uid  # what is typed here must not show on another sheet
        stars = st.segmented_control(
            "Stars", range(1, 6), default=sheet.rating, key=f"stars {of}", format_func=_of_five
        )
        notes = st.text_area("Notes", sheet.notes, max_chars=sheet_log.MAX_NOTES, key=f"notes {of}")
        with st.container(horizontal=True):
            measured = {name: _measure(sheet, name, label) for name, label in _MEASURES}
        given = st.file_uploader(
            "Photo of the sheet",
            PHOTO_TYPES,
            key=f"photo {of}",
            help="From straight above in even light, the sheet in the middle.",
        )
        saved = st.form_submit_button("Save", type="primary", disabled=not changes)
    if saved:
        _save(sheet, given, rating=stars, notes=notes, measured=measured)


def _measure(sheet: LoggedSheet, name: str, label: str) -> Quantity:
    """Show the field of a measure."""
    words, _, counted_in = number_fields.named(label)
    field = Quantity(Value(f"{name} {sheet.uid}", ""), counted_in)
    known = getattr(sheet, name)
    if known is not None and not field.text.is_set():
        field.put(known)
    st.text_input(words, width=140, key=field.text.key)
    return field


def _of_five(stars: int) -> str:
    return f"{some(stars, 'star')} of 5"


def _save(sheet: LoggedSheet, given: Any, measured: dict[str, Quantity], **values: Any) -> None:
    """Write what the form says, and start over with it; say what is wrong where it cannot be kept."""
    photo = None if given is None else given.getvalue()
    with refusals.shown("Nothing was changed."):
        for name, label in _MEASURES:
            what, field = label.partition(", ")[0].lower(), measured[name]
            typed = field.text.get().strip()
            values[name] = field.read(f"the measured {what}", 0, 1e6) if typed else None
        sheet_log.amend(home(), replace(sheet, **values), photo=photo)
        session.LOG_DONE.put("Saved.")
        st.rerun()


def _actions(sheet: LoggedSheet, changes: bool) -> None:
    with st.container(horizontal=True, vertical_alignment="center"):
        if st.button("Use its recipe", on_click=_use, args=(sheet,)):
            st.switch_page(file_of("make"))
        with st.popover("Cut up what is left", disabled=not changes):
            _cutting(sheet)
        with st.popover("Remove it from the log", disabled=not changes):
            st.text("Its photo and notes go, and its flakes go back among yours.")
            st.button("Remove it", type="primary", key="log undo", on_click=_undo, args=(sheet.uid,))


def _use(sheet: LoggedSheet) -> None:
    draft.land(sheet.recipe, f"The mix is now that of {sheet.recipe.name}, {sheet.pressed_on.isoformat()}.")


def _cutting(sheet: LoggedSheet) -> None:
    """Ask what is left of a sheet and how large it is cut."""
    of = sheet.uid
    st.text("Its pieces become a flake of yours. Pressed into a new sheet they show its pattern.")
    usual = f"pieces of {sheet.recipe.name}"[:60].strip()
    name = st.text_input("Name of the pieces", usual, max_chars=60, key=f"cut name {of}")
    grams = number_fields.number("What is left, g", f"cut grams {of}", cut_up.left_g(sheet), 0.1, 1e6)
    side = number_fields.number("Sides of a piece, mm", f"cut side {of}", 20.0, 1.0, cut_up.MAX_SIDE_MM)
    st.caption("Cut HDPE cold, with eye protection; catch the dust and chips.")
    # Not by a callback, which would be given what stood in the fields before the last one was typed in.
    if st.button("Put them among my flakes", type="primary", key="cut up"):
        with refusals.shown("Nothing was changed."):
            pieces = cut_up.pieces_of(sheet, name, grams, side)
            amount = number_fields.units().mass.text(grams, 1)
            stock_table.keep_invented()
            cut_up.put(home(), pieces)
            session.LOG_DONE.put(f"{pieces.name}, {amount}, are among your flakes.")
            st.rerun()


def _undo(uid: str) -> None:
    with refusals.kept(session.LOG_REFUSED):
        session.LOG_DONE.put(sheet_log.undo(home(), uid).text)
        session.LOG_OPEN.forget()
