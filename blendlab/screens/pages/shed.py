"""Page: the flakes on hand, and kept mixes."""

import streamlit as st

from blendlab.colour.spaces import Colour
from blendlab.io.text_files import text_from_bytes
from blendlab.logbook import stock as kept
from blendlab.recipe.flake_list import Stocked, from_csv, to_csv
from blendlab.recipe.recipe import MAX_FLAKES
from blendlab.screens.parts import (
    draft,
    flakes_at_hand,
    hdpe_guide,
    kept_mixes,
    new_flake,
    number_fields,
    refusals,
    session,
    stock_table,
)
from blendlab.screens.parts.style import capital, download, plain, some, swatch


def _on_hand(flake: Stocked) -> str:
    """Say what is on hand, in pieces too where the weight of one is known."""
    if not flake.grams:
        return "none: weigh it and book it in"
    count = int(flake.grams / flake.piece_g) if flake.piece_g else 0
    return number_fields.units().grams(flake.grams) + (f", about {some(count, 'piece')}" if count > 1 else "")


def _list(flakes: tuple[Stocked, ...]) -> None:
    names = draft.names()
    full = len(names) >= MAX_FLAKES
    with st.container(key="stock", horizontal=True, gap="small"):
        for flake in flakes:
            with st.container(
                width=330, horizontal=True, vertical_alignment="center", gap="small", wrap=False
            ):
                swatch(flake.name, Colour.from_hex(flake.srgb), _on_hand(flake))
                st.button(
                    "Add to the mix",
                    key=f"use {flake.name}",
                    type="tertiary",
                    on_click=flakes_at_hand.take,
                    args=(flake, flakes),
                    disabled=full or flake.name in names,
                )


def _put(flakes: tuple[Stocked, ...]) -> None:
    with refusals.kept(session.SHED_REFUSED):
        kept.put(stock_table.home(), flakes)


def _unsettled() -> None:
    """Name flakes that cannot be read, and those of which more was pressed than weighed in."""
    for part in kept.unreadable(stock_table.home()):
        st.warning(plain(f"{capital(part.what)} cannot be read ({part.reason}). It is kept as it is."))
    for name, grams in kept.overdrawn(stock_table.home()).items():
        more = number_fields.units().mass.text(grams, 1)
        words = f"{more} more of {name} were pressed than weighed in"
        st.warning(plain(f"{words}: weigh what is there, and book in what is missing."))


def _bring(own: bool) -> None:
    given = st.file_uploader(
        "Flake list, CSV: name, srgb, hide_mm, grams, piece_g, source", "csv", key="list"
    )
    if given is None:
        return
    with refusals.shown("Nothing was taken over."):
        flakes = from_csv(text_from_bytes(given.getvalue(), given.name))
        st.text(f"{some(len(flakes), 'flake')} read" + ("; those listed are corrected." if own else "."))
        st.button("Put them on my list", on_click=_put, args=(flakes,), type="primary")


def _weigh(flakes: tuple[Stocked, ...]) -> None:
    with st.container(horizontal=True, vertical_alignment="bottom"):
        name = st.selectbox("Flake", [flake.name for flake in flakes], width=260) or ""
        grams = number_fields.number("In (below 0: out), g", "shed grams", 0.0, -1e6, 1e6, width=200)
        changed = st.button("Book it", disabled=not grams)
        removed = st.button("Remove from the list", type="tertiary")
    with refusals.shown():
        if changed:
            kept.add(stock_table.home(), name, grams)
        if removed:
            kept.remove(stock_table.home(), name)
        if changed or removed:
            st.rerun()


st.title("My flakes")
with refusals.shown(stop=True):
    flakes, own = stock_table.on_hand()
    _unsettled()
refusals.show(session.SHED_REFUSED.pop(), "Nothing was changed.")
if own:
    st.write("What you have. Add a flake to the mix, or book some in and out.")
else:
    st.write(
        "No flakes on your list yet, so these are invented, to try things with. They go once you enter "
        "one of your own."
    )
new_flake.show(flakes, own)
hdpe_guide.show()
_list(flakes)
if flakes and own:
    _weigh(flakes)
with st.expander("Many at once, from a spreadsheet"):
    download("Save the list as CSV", to_csv(flakes), "flakes.csv")
    _bring(own)
st.subheader("Kept mixes")
kept_mixes.show()
