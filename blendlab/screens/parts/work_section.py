"""How the charge lies and how the slab is worked, as cards that are tapped together."""

import streamlit as st

from ...recipe.folding_moves import MAX_MOVES
from ...recipe.moves import HANDLING, MOVES
from ...recipe.recipe import FINISHES
from . import draft, help_texts, session
from .session import KEEP


def show() -> None:
    """Show the cards of the work, and what the press does to the melt."""
    st.subheader("How it is worked", anchor=False)
    _way()
    if session.MOVE.get() == draft.OWN_LIST:
        _steps()
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


def _way() -> None:
    """One move again and again, or a list of them."""
    further = {session.MOVE.get()} - {*MOVES, draft.OWN_LIST}  # a twist by its own angle
    ways = [*MOVES, *further, draft.OWN_LIST]
    start = session.offered(session.MOVE)
    st.pills(
        "The fold that is repeated",
        ways,
        key=session.MOVE.key,
        help=help_texts.MOVE,
        required=True,
        label_visibility="collapsed",
        **({"default": start["value"]} if start else {}),
        **KEEP,
    )


def _steps() -> None:
    """The steps in their order, a tap takes one out; and the cards that add one."""
    steps = draft.listed(session.MOVES.get())
    with st.container(key="steps", horizontal=True, gap="xsmall"):
        for number, step in enumerate(steps):
            st.button(
                f"{number + 1} · {step}",
                key=f"step{number}",
                on_click=_without,
                args=(number,),
                disabled=len(steps) == 1,
                help="Tap to take it out",
            )
        with st.popover("+ step", disabled=len(steps) >= MAX_MOVES):
            for move in (*MOVES, *HANDLING):
                words = MOVES[move].words if move in MOVES else None
                st.button(move, key=f"add {move}", on_click=_with, args=(move,), help=words, width="stretch")


def _without(number: int) -> None:
    steps = list(draft.listed(session.MOVES.get()))
    del steps[number]
    session.MOVES.put(", ".join(steps))


def _with(step: str) -> None:
    session.MOVES.put(f"{session.MOVES.get()}, {step}")
