"""The step that logs a planned sheet as pressed, and its undo."""

from datetime import date
from math import prod

import streamlit as st

from ...logbook import sheet_log
from ...workshop.batch_plan import Batch, as_json
from ...workshop.predicted_sheet import Prediction
from ...workshop.wording import programme
from . import press_clock_view, refusals, session
from .autosave import home
from .style import plain


def show(batch: Batch, prediction: Prediction, own_stock: bool) -> None:
    """Offer to log the sheet, and to take it back.

    Parameters
    ----------
    prediction : Prediction
        Kept with it, to be compared with what comes out.
    own_stock : bool
        Whether the maker keeps a stock that the flakes could be taken from.
    """
    st.subheader("Pressed it?")
    with st.container(horizontal=True, vertical_alignment="bottom"):
        day = st.date_input("Pressed on", format="YYYY-MM-DD", key="pressed on", width=170)
        take = st.checkbox(
            f"Take the {batch.total_g.usual:.0f} g out of the shed",
            value=own_stock,
            disabled=not own_stock,
            key="pressed take",
            width="content",
        )
        st.button(
            "Log it as pressed",
            type="primary",
            icon=":material/edit_note:",
            on_click=_record,
            args=(batch, prediction, day, take and own_stock),
        )
    refusals.show(session.PRESSED_REFUSED.pop(), "Nothing was logged.")
    refusals.show(session.PRESSED_KEPT.pop(), "The sheet stays in the log.")
    if undone := session.PRESSED_UNDONE.pop():
        st.success(plain(undone))
    uid, said = session.PRESSED.get()
    if uid:
        with st.container(horizontal=True, vertical_alignment="center"):
            st.success(said)
            st.button("Undo", icon=":material/undo:", on_click=_undo, args=(uid,))


def _record(batch: Batch, prediction: Prediction, day: date, take: bool) -> None:
    grams = {part.flake.name: part.total_g for part in batch.portions}
    planned = as_json(batch)
    del planned["cautions"]
    finished, pressed = (prod(sides) for sides in (batch.order.finished_mm, batch.order.pressed_mm))
    cold = {"cold_mm": list(batch.order.finished_mm), "cold_g": batch.tile_g.usual * finished / pressed}
    sheet = sheet_log.LoggedSheet(
        pressed_on=day,
        recipe=batch.recipe,
        programme=press_clock_view.happened(batch) or programme(batch),
        prediction={**prediction.as_json(), **cold, **planned},
    )
    taken = f", and {sum(grams.values()):.1f} g taken out of the shed" if take else ""
    with refusals.kept(session.PRESSED_REFUSED):
        kept = sheet_log.record(home(), sheet, picture=prediction.png(), take=grams if take else None)
        press_clock_view.put_away()
        session.PRESSED.put((kept.uid, f"Logged{taken}. Photo, notes and measures go in on the Log page."))


def _undo(uid: str) -> None:
    with refusals.kept(session.PRESSED_KEPT):
        session.PRESSED_UNDONE.put(sheet_log.undo(home(), uid).text)
        session.PRESSED.forget()
