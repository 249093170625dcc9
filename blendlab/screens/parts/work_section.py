"""How the slab is worked: one move again and again, or step by step; and what the press does to the melt."""

import streamlit as st

from ...recipe.moves import MOVES
from ...recipe.recipe import FINISHES, Recipe
from . import draft, help_texts, session, step_rows
from .session import KEEP
from .sheet_view import Spot
from .style import surplus


def show(recipe: Recipe) -> list[Spot]:
    """Show the moves, and the fields of the press; return places for the pictures of the steps.

    Parameters
    ----------
    recipe : Recipe
        The last good one of the fields.
    """
    st.subheader("How it is worked")
    _way()
    spots = []
    with st.container():
        if recipe.folding.moves:
            spots = step_rows.show(recipe)
        surplus("parts of a list of steps", 4 * bool(spots))
    with st.expander("Liners and press"):
        st.selectbox(
            "Finish of the liners",
            FINISHES,
            key=session.FINISH.key,
            help=help_texts.FINISH,
            **session.offered(session.FINISH, FINISHES),
            **KEEP,
        )
        for label, value, words in (
            ("Sticking to the liners", session.DRAG, help_texts.DRAG),
            ("Uneven folding", session.UNEVENNESS, help_texts.UNEVENNESS),
        ):
            st.slider(label, 0.0, 1.0, step=0.05, key=value.key, help=words, **session.offered(value), **KEEP)
    return spots


def _way() -> None:
    """One move again and again, or a list of them, which begins with the move that was repeated."""
    further = {session.MOVE.get()} - {*MOVES, draft.OWN_LIST}  # a twist by its own angle
    ways = [*MOVES, *further, draft.OWN_LIST]
    start = session.offered(session.MOVE)

    def chosen() -> None:
        if session.MOVE.get() == draft.OWN_LIST:
            step_rows.start_list()

    st.pills(
        "The fold that is repeated",
        ways,
        key=session.MOVE.key,
        on_change=chosen,
        help=help_texts.MOVE,
        required=True,
        label_visibility="collapsed",
        **({"default": start["value"]} if start else {}),
        **KEEP,
    )
