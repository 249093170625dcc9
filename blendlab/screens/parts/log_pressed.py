"""The step that logs a planned sheet as pressed, and its undo."""

from dataclasses import dataclass, replace
from datetime import date
from math import prod
from typing import Any

import streamlit as st

from ...logbook import sheet_log
from ...workshop.batch_plan import Batch, as_json, plan
from ...workshop.predicted_sheet import Prediction, predict
from ...workshop.wording import programme
from . import number_fields, press_clock_view, refusals, session
from .autosave import home
from .photo_colour import PHOTO_TYPES
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
    happened, mass = _happened(batch), number_fields.units().mass
    photo = st.file_uploader("Photo of the sheet, if there is one", PHOTO_TYPES)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        day = st.date_input("Pressed on", format="YYYY-MM-DD", key="pressed on", width=170)
        take = st.checkbox(
            f"Take the {mass.text(sum(happened.grams.values()))} out of your flakes",
            value=own_stock,
            disabled=not own_stock,
            key="pressed take",
            width="content",
        )
        st.button(
            "Log it as pressed",
            type="primary",
            on_click=_record,
            args=(batch, prediction, happened, day, take and own_stock, photo),
        )
    refusals.show(session.PRESSED_REFUSED.pop(), "Nothing was logged.")
    refusals.show(session.PRESSED_KEPT.pop(), "The sheet stays in the log.")
    if undone := session.PRESSED_UNDONE.pop():
        st.success(plain(undone))
    uid, said = session.PRESSED.get()
    if uid:
        with st.container(horizontal=True, vertical_alignment="center"):
            st.success(said)
            st.button("Undo", key="undo pressed", on_click=_undo, args=(uid,))


@dataclass(frozen=True)
class Happened:
    """What was really done: grams of the whole order by flake name, and folds."""

    grams: dict[str, float]
    folds: int


def _happened(batch: Batch) -> Happened:
    """Ask what was done otherwise than planned; as planned where nothing is said."""
    planned = {part.flake.name: part.total_g for part in batch.portions}
    folding = batch.recipe.folding
    st.caption("What really went in, and how often it was folded; as planned unless you change it.")
    with st.container(gap="xsmall"):
        fields = [("Folds", float(folding.folds), 0.0, float(folding.most_folds), True)]
        fields += [(f"{plain(name)}, g", grams, 0.001, 1e6, False) for name, grams in planned.items()]
        with st.container(horizontal=True):
            folds, *given = (
                # A new plan resets the field.
                number_fields.number(label, f"really {label} {start:.6g}", start, low, high, whole=whole)
                for label, start, low, high, whole in fields
            )
    return Happened(dict(zip(planned, given, strict=True)), int(folds))


def _really(batch: Batch, happened: Happened) -> Batch:
    """Return the batch as it was made: its recipe with the real folds and grams."""
    if happened.folds != batch.recipe.folding.folds:
        batch = plan(
            batch.recipe.with_folding(folds=happened.folds), batch.order, batch.press, units=batch.units
        )
    flakes = tuple(
        replace(flake, grams=happened.grams[flake.name] / batch.tiles) for flake in batch.recipe.flakes
    )
    return replace(batch, recipe=batch.recipe.with_flakes(flakes))


def _record(
    batch: Batch, prediction: Prediction, happened: Happened, day: date, take: bool, photo: Any
) -> None:
    grams = happened.grams
    made = _really(batch, happened)
    if made.recipe != batch.recipe:
        batch, prediction = made, predict(made.recipe)
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
    in_all = number_fields.units().mass.text(sum(grams.values()), 1)
    taken = f", and {in_all} taken out of your flakes" if take else ""
    seen = None if photo is None else photo.getvalue()
    with refusals.kept(session.PRESSED_REFUSED):
        kept = sheet_log.record(
            home(), sheet, picture=prediction.png(), take=grams if take else None, photo=seen
        )
        press_clock_view.put_away()
        session.PRESSED.put((kept.uid, f"Logged{taken}. Notes and measures go in on the Log page."))


def _undo(uid: str) -> None:
    with refusals.kept(session.PRESSED_KEPT):
        session.PRESSED_UNDONE.put(sheet_log.undo(home(), uid).text)
        session.PRESSED.forget()
