"""The maker's own flakes, a tap adds one to the mix; and a flake that is on no list yet."""

import zlib

import streamlit as st

from ...recipe.flake_list import Stocked, charge
from ...recipe.recipe import MAX_FLAKES, Flake
from . import draft, new_flake, refusals, session, size_section, stock_table
from .style import plain

USUAL_G = 20.0
FRESH = ("#c8452e", "#3d7a4c", "#2b3a4a", "#e3d9c6", "#7b4a86", "#58a6a8")


def show() -> None:
    """Show a button for every flake at hand, and one for a new flake.

    Those in the mix keep their places, so that no tap meets another flake that has just moved there.
    """
    flakes: tuple[Stocked, ...] = ()
    with refusals.shown():
        flakes, _ = stock_table.on_hand()
    taken = draft.names()
    full = len(taken) >= MAX_FLAKES
    inks = "".join(f".st-key-{_key(flake)} {{--flake: {flake.srgb}}}\n" for flake in flakes)
    with st.container(key="flakes_at_hand", horizontal=True, gap="xxsmall"):
        st.html(f"<style>{inks}</style>")
        for flake in flakes:
            st.button(
                plain(flake.name),
                key=_key(flake),
                on_click=take,
                args=(flake, flakes),
                disabled=full or flake.name in taken,
            )
    with st.container(horizontal=True, vertical_alignment="center"):
        _new_flake(full)
        st.caption("Tap a flake to add it.", width="content")


def _key(flake: Stocked) -> str:
    """Return the key of a flake's button, which is its own wherever the button stands."""
    return f"take_flake_{zlib.crc32(flake.name.encode())}"


def take(flake: Stocked, flakes: tuple[Stocked, ...]) -> None:
    """Add a flake to the mix: what the size still needs of grams, else a few."""
    rest = (size_section.needed_g() or 0.0) - (size_section.total_g() or 0.0)
    (charged,) = charge(flakes, {flake.name: round(rest) if rest >= 1 else USUAL_G})
    draft.add_row(charged)


def _new_flake(full: bool) -> None:
    taken = draft.names()
    usual = next(f"flake {n}" for n in range(1, MAX_FLAKES + 2) if f"flake {n}" not in taken)
    key = f"new in mix {len(taken)} {usual}"
    with st.popover("A new flake", disabled=full):
        st.caption("Only HDPE, code 2. How to tell is on My flakes, before you cut.")
        new_flake.ask(key, usual, FRESH[len(taken) % len(FRESH)])
        st.button("Add it to the mix", key="add new flake", type="primary", on_click=_add, args=(key,))
        refusals.show(session.NEW_REFUSED.pop())


def _add(key: str) -> None:
    with refusals.kept(session.NEW_REFUSED):
        draft.add_row(Flake(**new_flake.entered(key), grams=USUAL_G))
