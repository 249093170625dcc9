"""A flake entered by hand: name, colour or a photo, grams, weight of a piece, kind."""

import streamlit as st

from ... import checks
from ...logbook import stock
from ...recipe.flake import KINDS, STOCKS
from ...recipe.flake_list import MAX_GRAMS, Stocked
from . import number_fields, opacity_words, photo_colour, refusals, session, stock_table
from .style import plain

_FIELDS = ("name", "srgb", "grams", "piece", "kind", "cut from")


def show(listed: tuple[Stocked, ...], own: bool) -> None:
    """Show the fields of a new flake, and what came of the last one.

    Parameters
    ----------
    own : bool
        Whether the list is the maker's own already, and not the invented one.
    """
    count = session.ENTERED.get()  # in the keys: once a flake is entered, the fields start again
    with st.expander("Enter a flake", expanded=not own):
        with st.container(horizontal=True):
            st.text_input("Name", max_chars=60, width=220, key=_key("name", count), placeholder="milk caps")
            st.color_picker("Colour", "#c8452e", key=_key("srgb", count))
            st.text_input("On hand, g", "0", width=110, key=_key("grams", count))
            st.text_input("One piece, g", width=110, key=_key("piece", count), help=_PIECE, placeholder="–")
        with st.container(horizontal=True):
            kind = st.segmented_control("How opaque it is", KINDS, default="opaque", key=_key("kind", count))
            st.segmented_control("Cut from", STOCKS, key=_key("cut from", count))
        if kind:
            st.caption(opacity_words.WORDS[kind])
        seen = photo_colour.ask("Take its colour from a photo", f"new flake {count}")
        names = {flake.name for flake in listed} if own else set()
        srgb = seen.srgb if seen else ""
        st.button("Put it on my list", type="primary", on_click=_enter, args=(count, srgb, names))
    refusals.show(session.ENTRY_REFUSED.pop(), "Nothing was entered.")
    if entered := session.ENTRY_DONE.pop():
        st.success(plain(entered))


_PIECE = "Weigh ten caps and divide by ten; leave it empty if pieces are not counted."


def _key(field: str, count: int) -> str:
    return f"new flake {field} {count}"


def _enter(count: int, seen: str, names: set[str]) -> None:
    name, srgb, grams, piece, kind, cut_from = (st.session_state.get(_key(field, count)) for field in _FIELDS)
    with refusals.kept(session.ENTRY_REFUSED):
        name = checks.label("the flake's name", name)
        if name in names:
            checks.refuse("a new flake needs a name of its own", name, "book its grams below, or rename one")
        flake = Stocked(
            name,
            seen or str(srgb),
            grams=number_fields.read("grams on hand", grams, 0.0, MAX_GRAMS, "g"),
            piece_g=number_fields.read("the weight of a piece", piece, 0.001, 1e4, "g") if piece else None,
            kind=kind,
            stock=cut_from,
            source="from a photo" if seen else "",
        )
        stock.put(stock_table.home(), [flake])
        session.ENTRY_DONE.put(f"{name}, {number_fields.shown(flake.grams)} g, is on your list.")
        session.ENTERED.put(count + 1)
