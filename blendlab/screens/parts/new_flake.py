"""A flake entered by hand: its name, a colour or a photo, how opaque it is and what it was cut from."""

from typing import Any

import streamlit as st

from ... import checks
from ...logbook import stock
from ...recipe.flake import KINDS, STOCKS
from ...recipe.flake_list import MAX_GRAMS, Stocked
from . import number_fields, opacity_words, photo_colour, refusals, session, stock_table
from .number_fields import Quantity
from .session import Value
from .style import plain

PIECE = "Weigh ten caps and divide by ten; leave it empty if pieces are not counted."


def ask(key: str, name: str = "", srgb: str = "#c8452e") -> None:
    """Show the fields of a flake.

    Parameters
    ----------
    key : str
        Of these fields; others start again.
    name, srgb : str
        What they start with.
    """
    with st.container(horizontal=True):
        st.text_input("Its name", name, max_chars=60, width=220, key=f"{key} name", placeholder="milk caps")
        st.color_picker("Its colour", srgb, key=f"{key} srgb")
    seen = photo_colour.ask("or take it from a photo", key)
    Value(f"{key} seen", "").put(seen.srgb if seen else "")
    kind = st.segmented_control("How opaque it is", KINDS, default="opaque", key=f"{key} kind")
    if kind:
        st.caption(opacity_words.WORDS[kind])
    st.segmented_control("Cut from", STOCKS, key=f"{key} cut from")


def entered(key: str) -> dict[str, Any]:
    """Return what the fields of a flake hold, by the names of its values; read in a button's callback."""
    name, srgb, kind, cut_from = (
        Value(f"{key} {field}", None).get() for field in ("name", "srgb", "kind", "cut from")
    )
    seen = Value(f"{key} seen", "").get()
    return {
        "name": checks.label("the flake's name", name),
        "srgb": seen or str(srgb),
        "kind": kind,
        "stock": cut_from,
        "source": "from a photo" if seen else None,
    }


def show(listed: tuple[Stocked, ...], own: bool) -> None:
    """Show the form for a flake of the maker's own list, and what came of the last one.

    Parameters
    ----------
    own : bool
        Whether the list is the maker's own already, and not the invented one.
    """
    key = f"new flake {session.ENTERED.get()}"  # once a flake is entered, the fields start again
    with st.expander("Enter a flake", expanded=not own):
        ask(key)
        grams, piece = _grams(key), _piece(key)
        with st.container(horizontal=True):
            st.text_input(number_fields.named("On hand, g")[0], "0", width=110, key=grams.text.key)
            label = number_fields.named("One piece, g")[0]
            st.text_input(label, width=110, key=piece.text.key, help=PIECE, placeholder="–")
        names = {flake.name for flake in listed} if own else set()
        st.button("Put it on my list", type="primary", on_click=_enter, args=(key, names))
    refusals.show(session.ENTRY_REFUSED.pop(), "Nothing was entered.")
    if done := session.ENTRY_DONE.pop():
        st.success(plain(done))


def _grams(key: str) -> Quantity:
    return Quantity(Value(f"{key} grams", ""), "g")


def _piece(key: str) -> Quantity:
    return Quantity(Value(f"{key} piece", ""), "g")


def _enter(key: str, names: set[str]) -> None:
    with refusals.kept(session.ENTRY_REFUSED):
        known, piece = entered(key), _piece(key)
        if known["name"] in names:
            remedy = "book its grams below, or rename one"
            checks.refuse("a new flake needs a name of its own", known["name"], remedy)
        grams = _grams(key).read(f"{piece.unit.name} on hand", 0.0, MAX_GRAMS)
        piece_g = piece.read("the weight of a piece", 0.001, 1e4) if piece.text.get() else None
        stock.put(stock_table.home(), [Stocked(**known, grams=grams, piece_g=piece_g)])
        amount = number_fields.said(grams, piece.unit)
        session.ENTRY_DONE.put(f"{known['name']}, {amount}, is on your list.")
        session.ENTERED.put(session.ENTERED.get() + 1)
