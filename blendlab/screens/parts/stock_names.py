"""Flakes of the mix that are not on the list under their name: only the maker knows which is which."""

from collections.abc import Sequence

import streamlit as st

from ...recipe.flake_list import Stocked
from ...recipe.recipe import Recipe
from ..pages import file_of
from . import draft, session
from .session import Value
from .style import label, plain


def unlisted(recipe: Recipe, listed: Sequence[Stocked]) -> list[str]:
    """Return the names in a mix that are not on the list."""
    names = {flake.name for flake in listed}
    return [flake.name for flake in recipe.flakes if flake.name not in names]


def ask(missing: Sequence[str], listed: Sequence[Stocked]) -> None:
    """Ask which flake of the list each one is; nothing is guessed and nothing counts as 0 g."""
    if not missing:
        return
    taken = draft.names()
    offered = [flake.name for flake in listed if flake.name not in taken]
    st.info(plain(f"Not on your list under this name: {', '.join(missing)}. So what is left is not known."))
    for name in missing:
        with st.container(horizontal=True, vertical_alignment="bottom"):
            st.selectbox(
                label(f"{name} is my"),
                offered,
                index=None,
                placeholder="choose one of yours",
                key=f"listed as {name}",
                on_change=_match,
                args=(name,),
                width=260,
                disabled=not offered,
            )
    st.page_link(file_of("shed"), label="Or enter it on My flakes")


def _match(name: str) -> None:
    """Give the row of the mix the name that its flake has on the list."""
    chosen: str | None = Value(f"listed as {name}", None).pop()
    row = next((row for row in session.ROWS.get() if session.ROW_NAME(row).get() == name), None)
    if chosen and row is not None:
        session.ROW_NAME(row).put(chosen)
        draft.renamed(row)
