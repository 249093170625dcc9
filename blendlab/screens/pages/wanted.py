"""Page: a wanted colour, and the recipes of flakes on hand that come nearest."""

from dataclasses import replace

import streamlit as st

from blendlab.colour.target import MAX_FLAKES, Answer, Match, nearest, wanted_colour
from blendlab.recipe.flake_list import Stocked, charge
from blendlab.runtime.progress import ProgressCallback
from blendlab.screens.parts import draft, help_texts, number_fields, refusals, session, stock_table
from blendlab.screens.parts.long_task import worked
from blendlab.screens.parts.session import KEEP
from blendlab.screens.parts.style import swatch

MEANS = {"fully mixed": "full", "average before mixing": "area"}


def _answer(
    text: str, flakes: tuple[Stocked, ...], most: int, mass_g: float | None, mean: str
) -> Answer | None:
    """Return the nearest mixes, None where the search was stopped."""

    def work(on_progress: ProgressCallback) -> Answer:
        return nearest(
            wanted_colour(text), flakes, most, mass_g, mean, finish=finish, on_progress=on_progress
        )

    finish = session.RECIPE.get().sheet.finish
    return worked("search", (text, flakes, most, mass_g, mean, finish), "Searching …", work)


def _take(match: Match, flakes: tuple[Stocked, ...], mass_g: float) -> None:
    """Put a match into the mix, keeping sheet and folding."""
    grams = {name: round(share * mass_g, 1) for name, share in match.shares.items()}
    mix = replace(session.RECIPE.get(), flakes=charge(flakes, grams))
    draft.put(mix.with_folding(seed=draft.fresh_seed()))


def _show(match: Match, number: int, flakes: tuple[Stocked, ...], mass_g: float) -> None:
    by_name = {flake.name: flake for flake in flakes}
    with st.container(border=True):
        blend, mix, take = st.columns([4, 9, 2], vertical_alignment="center")
        with blend:
            swatch(f"{match.delta_e00:.1f} ΔE00 away", match.blend)
        with mix:
            bar = "".join(
                f'<div style="width:{share:.2%};background:{by_name[name].srgb}"></div>'
                for name, share in match.shares.items()
            )
            st.html(f'<div class="shares" aria-hidden="true">{bar}</div>')
            st.text(
                " · ".join(
                    f"{name} {share * mass_g:.1f} g ({share:.0%})" for name, share in match.shares.items()
                )
            )
        with take:
            st.button("Use this mix", key=f"take{number}", on_click=_take, args=(match, flakes, mass_g))


st.title("Wanted colour")
st.write("Name a colour to find which flakes, and how many grams of each, come nearest to it.")
flakes, own = stock_table.on_hand()
if not own:
    st.caption("Your shed is empty, so the invented flakes are used.")
with st.container(horizontal=True, vertical_alignment="bottom"):
    picked = st.color_picker("Pick it", "#7a8f5a", key="wantedpick", **KEEP)
    written = st.text_input("or write #rrggbb, or L*, a*, b*", "", key="wantedtext", **KEEP, width=240)
    mass_g = number_fields.number(
        "Total grams", "wantedmass", 200.0, 1.0, 1e6, help=help_texts.NO_MORE_THAN_SHED
    )
    most = number_fields.number("Most flakes", "wantedmost", 3, 1, MAX_FLAKES, whole=True)
    mean = st.selectbox("Match its", list(MEANS), key="wantedmean", help=help_texts.MEANT, **KEEP, width=260)
with refusals.shown(stop=True):
    answer = _answer(written.strip() or picked, flakes, int(most), mass_g, MEANS[mean or next(iter(MEANS))])
if answer is None:
    st.stop()
swatch("Wanted", answer.wanted, large=True)
st.text(answer.remark)
for number, match in enumerate(answer.matches):
    _show(match, number, flakes, mass_g)
