"""The head of the Make page: the mix's name, where else to start from, undo, and notices."""

import streamlit as st

from ...io.text_files import text_from_bytes
from ...recipe.recipe import Recipe, from_toml, to_toml
from ..pages import file_of
from . import draft, refusals, session
from .session import KEEP
from .style import download, plain, surplus


def show(recipe: Recipe) -> None:
    """Show the head."""
    with st.container(key="head", horizontal=True, vertical_alignment="center", gap="small"):
        title = session.TITLE
        st.text_input(
            "Name of the sheet",
            key=title.key,
            max_chars=60,
            width=260,
            label_visibility="collapsed",
            **session.offered(title),
            **KEEP,
        )
        with st.popover("Start from …"):
            _starts(recipe)
        st.button("Undo", key="undo", type="tertiary", on_click=draft.undo, disabled=not session.BEFORE.get())
    with st.container():  # whether it says anything or not, so that nothing below shifts
        _landed()
        surplus("landed", bool(session.LANDED.get()))


def _starts(recipe: Recipe) -> None:
    st.page_link(file_of("wanted"), label="A colour")
    st.page_link(file_of("photo"), label="A photo of a sheet")
    st.page_link(file_of("like"), label="A picture of anything")
    for key, example in draft.examples().items():
        words = f"The mix is now the example {example.name}."
        st.button(example.name, key=f"example {key}", on_click=draft.land, args=(example, words))
    given = st.file_uploader("A mix kept as a file, TOML", "toml", key="mixfile")
    if given is not None:
        with refusals.shown("The present mix stays."):
            found = from_toml(text_from_bytes(given.getvalue(), given.name))
            words = f"The mix is now that of {given.name}."
            st.button("Open this file", on_click=draft.land, args=(found, words), type="primary")
    download("Save the present mix", lambda: to_toml(recipe), "mix.toml")


def _landed() -> None:
    """Say where the mix was just taken from, and offer to undo that."""
    if said := session.LANDED.get():
        with st.container(key="landed", horizontal=True, vertical_alignment="center", gap="small"):
            st.info(plain(said))
            st.button("Undo this", key="undo landing", on_click=draft.undo)
            st.button("Keep it", key="keep landing", type="tertiary", on_click=session.LANDED.forget)
