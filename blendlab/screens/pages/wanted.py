"""Page: a wanted colour, and the recipes of flakes on hand that come nearest."""

from dataclasses import dataclass

import streamlit as st

from blendlab.colour.describe_difference import describe, difference_words
from blendlab.colour.difference import delta_e00
from blendlab.colour.means import area_mean, full_blend
from blendlab.colour.spaces import Colour
from blendlab.colour.target import IN_REACH, MAX_FLAKES, Answer, nearest, wanted_colour
from blendlab.colour.uncertainty import of_area_mean, of_full_blend
from blendlab.recipe.flake import Flake
from blendlab.recipe.flake_list import Stocked, charge
from blendlab.runtime.progress import ProgressCallback
from blendlab.screens.pages import file_of
from blendlab.screens.parts import draft, help_texts, number_fields, refusals, session, stock_table
from blendlab.screens.parts.long_task import worked
from blendlab.screens.parts.makeable import amount, makeable
from blendlab.screens.parts.session import KEEP
from blendlab.screens.parts.style import capital, swatch

MEANS_OF = {"full": (full_blend, of_full_blend), "area": (area_mean, of_area_mean)}
USUAL_G, USUAL_MOST = 200.0, 3
MEANS = {"fully mixed": "full", "average before mixing": "area"}


def _usual_g(flakes: tuple[Stocked, ...]) -> float:
    """Return a mass that so many flakes as usual make up, in whole grams."""
    fullest = sum(sorted(flake.grams for flake in flakes)[-USUAL_MOST:])
    return min(USUAL_G, max(fullest // 1, 1.0))


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


@dataclass(frozen=True)
class Proposal:
    """A mix that can be weighed, and how near it comes."""

    flakes: tuple[Flake, ...]
    colour: Colour
    delta_e00: float
    band90_delta_e_ab: float


def _proposals(answer: Answer, flakes: tuple[Stocked, ...], mass_g: float, mean: str) -> list[Proposal]:
    """Round the mixes found to what can be weighed, the best of the same flakes, each with its colour."""
    colour_of, uncertainty_of = MEANS_OF[mean]
    found: dict[frozenset[str], Proposal] = {}
    for match in answer.matches:
        charged = charge(flakes, makeable(match.shares, flakes, mass_g))
        recipe = session.RECIPE.get().with_flakes(charged)
        colour = colour_of(recipe)
        off = float(delta_e00(colour.lab, answer.wanted.lab))
        proposal = Proposal(charged, colour, off, uncertainty_of(recipe).band90_delta_e_ab)
        of = frozenset(flake.name for flake in charged)
        found[of] = min(proposal, found.get(of, proposal), key=lambda one: one.delta_e00)
    return sorted(found.values(), key=lambda proposal: proposal.delta_e00)


def _remark(answer: Answer, best: Proposal) -> str:
    """Say how near the best mix that can be weighed comes, and what else the search found."""
    said = describe(answer.wanted, best.colour, best.delta_e00, IN_REACH, session.NUMBERS.get())
    more = f" With enough of {', '.join(answer.lacking)} it would come much nearer." if answer.lacking else ""
    return said + more


def _take(flakes: tuple[Flake, ...], wanted: str) -> None:
    """Put a mix into the fields, keeping sheet and folding."""
    found = session.RECIPE.get().with_flakes(flakes).with_folding(seed=draft.fresh_seed())
    draft.land(found, f"The mix is now one for {wanted}; size and folds stay.")


def _show(proposal: Proposal, number: int, listed: dict[str, Stocked], mass_g: float, wanted: Colour) -> None:
    total, units = sum(flake.grams for flake in proposal.flakes), number_fields.units()
    with st.container(border=True):
        blend, mix, take = st.columns([5, 8, 2], vertical_alignment="center")
        with blend:
            known = f"known to {proposal.band90_delta_e_ab:.0f} ΔE*ab, nine times in ten"
            figure = f"{proposal.delta_e00:.1f} ΔE00 away as predicted, {known}"
            how = difference_words(wanted, proposal.colour, proposal.delta_e00, IN_REACH)
            swatch(capital(how), proposal.colour, figure=figure)
        with mix:
            bar = "".join(
                f'<div style="width:{flake.grams / total:.2%};background:{flake.srgb}"></div>'
                for flake in proposal.flakes
            )
            st.html(f'<div class="shares" aria-hidden="true">{bar}</div>')
            for flake in proposal.flakes:
                st.text(f"{flake.name}: {amount(listed[flake.name], flake.grams, mass_g, units)}")
        with take:
            if st.button(
                "Use this mix", key=f"take{number}", on_click=_take, args=(proposal.flakes, wanted.srgb)
            ):
                st.switch_page(file_of("make"))


st.title("From a colour")
st.write("Pick a colour: which of your flakes, and how much of each, come nearest to it.")
flakes, own = stock_table.on_hand()
if not own:
    st.caption("No flakes on your list yet: these are invented ones, to try things with.")
with st.container(horizontal=True, vertical_alignment="bottom"):
    picked = st.color_picker("Pick it", "#7a8f5a", key="wantedpick", **KEEP)
    written = st.text_input("or write #rrggbb, or L*, a*, b*", "", key="wantedtext", **KEEP, width=240)
    usual = _usual_g(flakes)
    mass_g = number_fields.number(  # less on hand resets it
        "Mass in all, g", f"wantedmass {usual:g}", usual, 1.0, 1e6, help=help_texts.NO_MORE_THAN_SHED
    )
    most = number_fields.number("Most flakes", "wantedmost", USUAL_MOST, 1, MAX_FLAKES, whole=True)
    mean = st.selectbox("Match its", list(MEANS), key="wantedmean", help=help_texts.MEANT, **KEEP, width=260)
with refusals.shown(stop=True):
    answer = _answer(written.strip() or picked, flakes, int(most), mass_g, MEANS[mean or next(iter(MEANS))])
if answer is None:
    st.stop()
swatch("Wanted", answer.wanted, large=True)
listed = {flake.name: flake for flake in flakes}
proposals = _proposals(answer, flakes, mass_g, MEANS[mean or next(iter(MEANS))])
st.text(_remark(answer, proposals[0]))
for number, proposal in enumerate(proposals):
    _show(proposal, number, listed, mass_g, answer.wanted)
