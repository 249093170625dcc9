"""The maker's own flakes, a tap adds one to the mix; and a flake that is on no list yet."""

import zlib

import streamlit as st

from ...io.photo_files import photo_from_bytes
from ...photo.flake_colour import flake_colour
from ...recipe.flake import KINDS
from ...recipe.flake_list import Stocked, charge
from ...recipe.recipe import MAX_FLAKES, Flake
from . import draft, refusals, session, size_section, stock_table
from .style import plain

USUAL_G = 20.0
FRESH = ("#c8452e", "#3d7a4c", "#2b3a4a", "#e3d9c6", "#7b4a86", "#58a6a8")
FROM_PHOTO = "Flakes on white paper, one of them in the middle: its colour is taken from there."


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
                on_click=_take,
                args=(flake, flakes),
                disabled=full or flake.name in taken,
            )
    with st.container(horizontal=True, vertical_alignment="center"):
        _new_flake(full)
        st.caption("Tap a flake to add it.", width="content")


def _key(flake: Stocked) -> str:
    """Return the key of a flake's button, which is its own wherever the button stands."""
    return f"take_flake_{zlib.crc32(flake.name.encode())}"


def _take(flake: Stocked, flakes: tuple[Stocked, ...]) -> None:
    """Add a flake: what the size still needs of grams, else a few."""
    rest = (size_section.needed_g() or 0.0) - (size_section.total_g() or 0.0)
    (charged,) = charge(flakes, {flake.name: round(rest) if rest >= 1 else USUAL_G})
    draft.add_row(charged)


def _new_flake(full: bool) -> None:
    taken = draft.names()
    usual = next(f"flake {n}" for n in range(1, MAX_FLAKES + 2) if f"flake {n}" not in taken)
    with st.popover("A new flake", disabled=full):
        st.caption("Only HDPE, code 2. How to tell is on My flakes, before you cut.")
        name = st.text_input("Its name", usual, max_chars=60, key=f"new name {len(taken)} {usual}")
        start = FRESH[len(taken) % len(FRESH)]
        srgb = st.color_picker("Its colour", start, key=f"new colour {usual}")
        photo = st.file_uploader(
            "or a photo of it", ["jpg", "jpeg", "png", "webp"], key=f"new photo {usual}", help=FROM_PHOTO
        )
        if photo is not None:
            with refusals.shown("The colour above counts."):
                seen = photo_from_bytes(photo.getvalue(), photo.name)
                srgb = flake_colour(seen, (seen.shape[1] / 2, seen.shape[0] / 2)).colour.srgb
                st.color_picker("As the photo shows it", srgb, disabled=True)
        kind = st.segmented_control("How opaque it is", KINDS, default="opaque", key=f"new kind {usual}")
        st.button(
            "Add it to the mix", key="add new flake", type="primary", on_click=_add, args=(name, srgb, kind)
        )
        refusals.show(session.NEW_REFUSED.pop())


def _add(name: str, srgb: str, kind: str | None) -> None:
    with refusals.kept(session.NEW_REFUSED):
        draft.add_row(Flake(name, srgb, USUAL_G, kind=kind))
