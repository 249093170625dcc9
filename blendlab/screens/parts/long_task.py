"""Long tasks on a page: progress, a button that stops them, and results kept for all sessions.

Once a widget is used, Streamlit ends a running page at the next thing that it draws. Drawn at each report of
progress, the bar therefore also lets in the click on its own button.
"""

import time
from collections.abc import Callable
from typing import Any, TypeVar

import streamlit as st

from ... import checks
from ...runtime.progress import ProgressCallback
from . import session

Found = TypeVar("Found")

QUICK_S = 0.5  # work done by then shows no bar
MAX_KEPT = 128


def worked(
    what: str, key: tuple[Any, ...], words: str, work: Callable[[ProgressCallback], Found]
) -> Found | None:
    """Return what a task finds, at once where it was done before.

    Parameters
    ----------
    what : str
        Kind of work; one of a kind is done at a time.
    key : tuple
        All that the result depends on.
    words : str
        What the bar says, in no other words on the same page.
    work : callable
        Takes the callback for its progress, and does it.

    Returns
    -------
    Any or None
        None where the maker stopped it; the page then says so and offers to continue.

    Raises
    ------
    InputError
        As the work does.
    """
    kept = _kept(what, *key)
    if kept:
        return kept[0]
    if session.stopped(what).get() == key:
        with st.container(horizontal=True, vertical_alignment="center"):
            st.text("Stopped before it finished.")
            st.button("Go on", key=f"again {what}", on_click=again, args=(what,))
        return None
    bar = _Bar(what, key, words)
    try:
        kept.append(work(bar.on_progress))
    except checks.InputError:
        bar.place.empty()
        raise
    bar.place.empty()
    return kept[0]


def again(what: str) -> None:
    """Forget that work of a kind was stopped."""
    session.stopped(what).forget()


def _stop(what: str, key: tuple[Any, ...]) -> None:
    session.stopped(what).put(key)


@st.cache_resource(max_entries=MAX_KEPT, show_spinner=False)
def _kept(what: str, *key: Any) -> list[Any]:
    """Room for one result, empty at first."""
    return []


class _Bar:
    """A bar with its button, drawn once the work has taken a while."""

    def __init__(self, what: str, key: tuple[Any, ...], words: str) -> None:
        self.place, self.words = st.empty(), words
        self.what, self.key = what, key
        self.began_s = time.monotonic()
        self.drawn: Any = None

    def on_progress(self, part: float) -> None:
        """Show how far the work is; ends the page's run here where its button was pressed."""
        if self.drawn is None:
            if time.monotonic() - self.began_s < QUICK_S:
                return
            with self.place.container(horizontal=True, vertical_alignment="bottom"):
                self.drawn = st.progress(part, self.words)
                st.button("Stop", key=f"stop {self.words}", on_click=_stop, args=(self.what, self.key))
        self.drawn.progress(part, self.words)
