"""Page: from the size over flakes, folds and work to the card, on one page."""

import streamlit as st

from blendlab.colour.means import area_mean
from blendlab.screens.parts import (
    cache,
    card_section,
    draft,
    figures_section,
    flake_rows,
    flakes_at_hand,
    fold_strip,
    lay_cards,
    lay_fields,
    make_style,
    mix_head,
    refusals,
    session,
    settings,
    sheet_view,
    size_section,
    step_rows,
    style,
    work_section,
)

recipe, wrong = draft.recipe()
st.title("Make")
make_style.apply(recipe, area_mean(recipe).srgb, recipe.folding.folds)
mix_head.show(recipe)
with st.container(key="make", horizontal=True, gap="large"):
    fields, result = st.container(key="fields"), st.container(key="result")
below = st.container(key="below")
with result:
    sheet, faces = sheet_view.places()
    side, ladder = st.container(key="side"), st.container(key="ladder")
    figures = st.container(key="figures")
with side:
    st.subheader(f"After {style.some(recipe.folding.folds, 'fold')}")
    figures_section.means(recipe)
    wanted, advice = fold_strip.wanted_look()
    sheet_view.offer_others()
    card_section.offer(wrong)
    settings.numbers()
with fields:  # sections stand apart, so that a further row in one leaves the others as they are
    size, flakes, hand, lays, work = (st.container() for _ in range(5))
with size:
    size_section.show()
with flakes:
    st.subheader("Flakes")
    said = flake_rows.show(recipe)
    with st.container(gap=None):
        unsaid = "" if wrong in said else wrong
        refusals.show(unsaid)
        style.surplus("refused", bool(unsaid))
with hand:
    flakes_at_hand.show()
with lays:
    ways = lay_cards.show(recipe)
with work:
    slabs = work_section.show(recipe)
with below:
    with st.expander("How it lies, by hand", expanded=bool(recipe.lays or session.LAYS_REFUSED.get())):
        laid = lay_fields.show(recipe)
    card = st.container()
sheet_view.say_last(faces, wrong)
asked = sheet_view.choose(recipe, faces)
with ladder:
    cold, tiles = fold_strip.places(recipe)
    sheet_view.others(recipe)
    surely = st.container(key="surely", gap="xsmall")
drawn = sheet_view.draw(recipe, asked, sheet)
shown = next(drawn, None)
fold_strip.sketch(recipe, tiles)
if slabs:
    step_rows.draw(recipe, slabs)
shown = next(drawn, shown)
if shown and asked.face == "planed":
    faces.caption(cache.planing_says(recipe))
steps = fold_strip.draw(recipe, tiles)
fold_strip.take_wanted(wanted, steps)
lay_cards.draw(recipe, ways)
lay_fields.draw(recipe, laid, cold)
with card:
    card_section.show(recipe, wrong)
with surely:
    others = fold_strip.further(recipe)
fold_strip.give_advice(advice, wanted, steps, others)
if session.NUMBERS.get():
    with figures:
        rung = next(step for step in steps if step.folds == recipe.folding.folds)
        figures_section.of_sheet(recipe, rung, shown, asked)
        figures_section.chart(steps, others)
        figures_section.sureness(recipe)
        figures_section.thin(recipe)
        sheet_view.offer_picture(recipe, asked)
