"""Page: from the finished size to what is weighed, set and waited for, and its card."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import streamlit as st

from blendlab import checks
from blendlab.io.pictures import png_bytes
from blendlab.recipe.flake_list import Stocked
from blendlab.recipe.recipe import Recipe
from blendlab.screens.parts import (
    batch_fields,
    batch_views,
    cache,
    compiling,
    draft,
    log_pressed,
    press_clock_view,
    press_views,
    refusals,
    session,
    stock_table,
)
from blendlab.screens.parts.session import KEEP
from blendlab.screens.parts.style import download, plain
from blendlab.workshop.batch_plan import Batch, plan
from blendlab.workshop.card.batch_card import card_pdf, card_picture
from blendlab.workshop.card.pdf_page import PAPERS
from blendlab.workshop.cautions import cautions
from blendlab.workshop.closing import Closing
from blendlab.workshop.melt_flow import Stock
from blendlab.workshop.order import Order
from blendlab.workshop.predicted_sheet import Prediction, predict
from blendlab.workshop.press_setup import PressSetup
from blendlab.workshop.wording import shortage

PREVIEW_PX_PER_MM = 5.0
CARD_PX_PER_MM = 12.0


@st.cache_data(max_entries=24, show_spinner=False, hash_funcs=cache.EXACTLY)
def _planned(
    recipe: Recipe,
    order: Order,
    press: PressSetup,
    piece_g: dict[str, float],
    on_hand_g: dict[str, float] | None,
    closing: Closing | None,
    stock: Stock | None,
) -> Batch:
    return plan(recipe, order, press, piece_g=piece_g, on_hand_g=on_hand_g, closing=closing, stock=stock)


@st.cache_data(max_entries=12, show_spinner="Drawing the sheet …", hash_funcs=cache.EXACTLY)
def _predicted(recipe: Recipe) -> Prediction:
    return predict(recipe)


def _printed(batch: Batch) -> str:
    """Everything that a card depends on besides its date and paper."""
    return repr((batch.recipe, batch.order, batch.press, batch.portions, batch.closing))


@st.cache_data(max_entries=12, show_spinner=False, hash_funcs={Batch: _printed})
def _card(batch: Batch, _prediction: Prediction, made_on: date, paper: str) -> bytes:
    return card_pdf(batch, picture=_prediction.png(), made_on=made_on, paper=paper)


@st.cache_data(max_entries=12, show_spinner=False)
def _card_png(pdf: bytes, px_per_mm: float) -> bytes:
    return png_bytes(card_picture(pdf, px_per_mm), px_per_mm)


def _fields(recipe: Recipe, wrong: str, own: bool, flakes: tuple[Stocked, ...]) -> tuple[Batch | None, str]:
    """Show the fields; plan what they ask for, or keep what was planned last and say what is wrong."""
    try:
        order, press = batch_fields.show()
        on_hand = {flake.name: flake.grams for flake in flakes} if own else None
        pieces = {flake.name: flake.piece_g for flake in flakes if flake.piece_g}
        closing, stock = batch_fields.closing(), batch_fields.stock()
        session.BATCH.put(_planned(recipe, order, press, pieces, on_hand, closing, stock))
    except checks.InputError as error:
        if str(error) != wrong:  # already shown
            refusals.show(str(error))
        batch_fields.offer_tiles()
        return session.BATCH.get(), str(error)
    return session.BATCH.get(), ""


def _allowed(recipe: Recipe, grams: Mapping[str, float]) -> None:
    """Put the mix that the stock allows into the fields."""
    kept = tuple(replace(flake, grams=grams[flake.name]) for flake in recipe.flakes if grams[flake.name] > 0)
    draft.put(recipe.with_flakes(kept))


def _short(batch: Batch, recipe: Recipe) -> None:
    if not batch.short_of:
        return
    st.warning(plain(" ".join(shortage(batch))))
    if batch.nearest_g is not None:
        st.button("Use the mix the shed allows", on_click=_allowed, args=(recipe, batch.nearest_g))


def _print(batch: Batch, prediction: Prediction) -> None:
    st.subheader("Card for the press")
    paper = st.radio("Paper", list(PAPERS), key="paper", horizontal=True, **KEEP)
    pdf = _card(batch, prediction, date.today(), paper)
    with st.container(horizontal=True):
        download("PDF", pdf, "batch-card.pdf", "print")
        download("PNG", lambda: _card_png(pdf, CARD_PX_PER_MM), "batch-card.png", "image")
    words = f"Batch card of {batch.recipe.name}, as it prints on {paper}"
    st.image(_card_png(pdf, PREVIEW_PX_PER_MM), width="stretch", output_format="PNG", alt=words)


def _cautions() -> None:
    st.subheader("Before you switch the press on")
    half = (len(cautions()) + 1) // 2
    for column, part in zip(st.columns(2, gap="large"), (cautions()[:half], cautions()[half:]), strict=True):
        for caution in part:
            column.markdown(f"**{plain(caution.title)}.** {plain(caution.text)}")


st.title("Batch")
st.write("What to weigh, set and wait for. Mix and finished size are those of the Flakes page.")
recipe, wrong = draft.recipe()
refusals.show(wrong, "The last mix that could be pressed is planned.")
flakes: tuple[Stocked, ...] = ()
own = False
with refusals.shown():
    flakes, own = stock_table.on_hand()
fields, result = st.columns(2, gap="large")
with fields:
    batch, refused = _fields(recipe, wrong, own, flakes)
if batch is None:
    st.stop()
with result:
    if refused:
        st.caption("The last batch that could be pressed is shown.")
    st.subheader(plain(batch.recipe.name))
    batch_views.weigh_in(batch)
    _short(batch, recipe)
batch_views.settings(batch)
batch_views.charts(batch)
press_views.show(batch)
work, card = st.columns(2, gap="large")
with work:
    batch_views.steps(batch)
    press_clock_view.show(batch)
with card:
    compiling.await_code()
    prediction = _predicted(batch.recipe)
    _print(batch, prediction)
_cautions()
log_pressed.show(batch, prediction, own)
