"""The card of exactly the sheet shown: what to weigh, set and wait for, its clock, and logging it."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import streamlit as st

from ... import checks
from ...io.pictures import png_bytes
from ...recipe.flake_list import Stocked
from ...recipe.recipe import Recipe
from ...units import Units
from ...workshop.batch_plan import Batch, plan
from ...workshop.card.batch_card import card_pdf, card_picture
from ...workshop.card.pdf_page import PAPERS
from ...workshop.cautions import cautions
from ...workshop.closing import Closing
from ...workshop.melt_flow import Stock
from ...workshop.order import Order
from ...workshop.predicted_sheet import Prediction, predict
from ...workshop.press_setup import PressSetup
from ...workshop.wording import shortage
from . import (
    batch_fields,
    batch_views,
    cache,
    compiling,
    draft,
    log_pressed,
    number_fields,
    press_clock_view,
    press_views,
    refusals,
    scroll,
    session,
    sheet_view,
    stock_names,
    stock_table,
)
from .session import KEEP
from .style import download, plain

PREVIEW_PX_PER_MM = 5.0
CARD_PX_PER_MM = 12.0
CARD, PRESSED = "card", "pressed"  # what may stand open


@st.cache_data(max_entries=24, show_spinner=False, hash_funcs=cache.EXACTLY)
def _planned(
    recipe: Recipe,
    order: Order,
    press: PressSetup,
    piece_g: dict[str, float],
    on_hand_g: dict[str, float] | None,
    closing: Closing | None,
    stock: Stock | None,
    units: Units,
) -> Batch:
    return plan(
        recipe,
        order,
        press,
        piece_g=piece_g,
        on_hand_g=on_hand_g,
        closing=closing,
        stock=stock,
        units=units,
    )


@st.cache_data(max_entries=12, show_spinner="Drawing the sheet …", hash_funcs=cache.EXACTLY)
def _predicted(recipe: Recipe) -> Prediction:
    return predict(recipe)


def _printed(batch: Batch) -> str:
    """Everything that a card depends on besides its date and paper."""
    return repr((batch.recipe, batch.order, batch.press, batch.portions, batch.closing, batch.units))


@st.cache_data(max_entries=12, show_spinner=False, hash_funcs={Batch: _printed})
def _card(batch: Batch, _prediction: Prediction, made_on: date, paper: str) -> bytes:
    return card_pdf(batch, picture=_prediction.png(), made_on=made_on, paper=paper)


@st.cache_data(max_entries=12, show_spinner=False)
def _card_png(pdf: bytes, px_per_mm: float) -> bytes:
    return png_bytes(card_picture(pdf, px_per_mm), px_per_mm)


def offer(wrong: str) -> None:
    """Show the two buttons that open the section, unless something is wrong with the mix of the fields."""
    for what, words, kind in ((CARD, "Card for this sheet", "primary"), (PRESSED, "Pressed it", "secondary")):
        off = bool(wrong) and session.OPENED.get() != what
        st.button(words, key=f"open {what}", type=kind, on_click=_open, args=(what,), disabled=off)  # type: ignore[arg-type]


def _open(what: str) -> None:
    """Open a part, or close it where it stands open."""
    session.OPENED.put("" if session.OPENED.get() == what else what)
    session.OPENINGS.put(session.OPENINGS.get() + 1)


def show(recipe: Recipe, wrong: str) -> None:
    """Show what stands open, for the recipe or the last one that could be pressed.

    Parameters
    ----------
    wrong : str
        What is wrong with the recipe of the fields, where that was said already.
    """
    if not session.OPENED.is_set() and press_clock_view.started():
        session.OPENED.put(CARD)  # a page that is opened again goes on at the press
    opened = session.OPENED.get()
    if not opened:
        return
    flakes: tuple[Stocked, ...] = ()
    own = False
    with refusals.shown():
        flakes, own = stock_table.on_hand()
    scroll.here(f"{opened} {session.OPENINGS.get()}")
    if opened == CARD:
        st.subheader("Card for the press")
    above, fields = st.container(), st.container()
    with fields:
        batch, refused = _fields(recipe, wrong, own, flakes)
    if batch is None:
        return
    if refused:
        st.caption("The last sheet that could be pressed is shown.")
    compiling.await_code()
    prediction = _predicted(batch.recipe)
    if opened == CARD:
        with above:
            _print_and_weigh(batch, prediction, recipe)
        _work(batch)
    unlisted = stock_names.unlisted(batch.recipe, flakes) if own else []
    stock_names.ask(unlisted, flakes)
    log_pressed.show(batch, prediction, own and not unlisted)


def _print_and_weigh(batch: Batch, prediction: Prediction, recipe: Recipe) -> None:
    card, work = st.columns(2, gap="large")
    with card:
        _print(batch, prediction)
        sheet_view.offer_print(batch.recipe, cache.TOP, CARD)
    with work:
        batch_views.weigh_in(batch)
        _short(batch, recipe)
        batch_views.settings(batch)
        press_clock_view.show(batch)


def _work(batch: Batch) -> None:
    with st.expander("Step by step"):
        batch_views.steps(batch)
    with st.expander("How hot, how long"):
        batch_views.charts(batch)
    with st.expander("Does it close, last and stay flat"):
        press_views.show(batch)
    _cautions()


def _fields(recipe: Recipe, wrong: str, own: bool, flakes: tuple[Stocked, ...]) -> tuple[Batch | None, str]:
    """Show the card's fields; plan what they ask for, or keep what was planned last and say what is wrong."""
    try:
        order, press = (
            batch_fields.show()
            if session.OPENED.get() == CARD
            else (batch_fields.order(), batch_fields.press())
        )
        matched = own and not stock_names.unlisted(recipe, flakes)
        on_hand = {flake.name: flake.grams for flake in flakes} if matched else None
        pieces = {flake.name: flake.piece_g for flake in flakes if flake.piece_g}
        closing, stock = batch_fields.closing(), batch_fields.stock()
        known = (closing, stock, number_fields.units())
        planned = _planned(recipe, order, press, pieces, on_hand, *known)
        if not wrong:
            session.BATCH.put(planned)
    except checks.InputError as error:
        if str(error) != wrong:  # already shown
            refusals.show(str(error))
        batch_fields.offer_tiles()
        return session.BATCH.get(), str(error)
    return session.BATCH.get(), wrong


def _allowed(recipe: Recipe, grams: Mapping[str, float]) -> None:
    """Put the mix that the stock allows into the fields."""
    kept = tuple(replace(flake, grams=grams[flake.name]) for flake in recipe.flakes if grams[flake.name] > 0)
    draft.put(recipe.with_flakes(kept))


def _short(batch: Batch, recipe: Recipe) -> None:
    if not batch.short_of:
        return
    st.warning(plain(" ".join(shortage(batch))))
    if batch.nearest_g is not None:
        st.button("Use the mix my flakes allow", on_click=_allowed, args=(recipe, batch.nearest_g))


def _print(batch: Batch, prediction: Prediction) -> None:
    with st.container(horizontal=True, vertical_alignment="bottom"):
        paper = st.radio("Paper", list(PAPERS), key="paper", horizontal=True, **KEEP)
        pdf = _card(batch, prediction, date.today(), paper)
        download("PDF", pdf, "batch-card.pdf")
        download("PNG", lambda: _card_png(pdf, CARD_PX_PER_MM), "batch-card.png")
    words = f"Batch card of {batch.recipe.name}, as it prints on {paper}"
    st.image(_card_png(pdf, PREVIEW_PX_PER_MM), width="stretch", output_format="PNG", alt=words)


def _cautions() -> None:
    st.subheader("Before you switch the press on")
    half = (len(cautions()) + 1) // 2
    for column, part in zip(st.columns(2, gap="large"), (cautions()[:half], cautions()[half:]), strict=True):
        for caution in part:
            column.markdown(f"**{plain(caution.title)}.** {plain(caution.text)}")
