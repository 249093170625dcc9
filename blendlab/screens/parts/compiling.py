"""Compile what pictures need, behind the page: once for a version, with how far it is for all who wait."""

from collections.abc import Callable
from threading import Event, Thread

import streamlit as st

from ...look.ladder import Rung, rungs
from ...look.light_paths import is_warm
from ...look.prepared_sheet import PreparedSheet, prepare
from ...look.render import render
from ...look.surfaces import top_face
from ...recipe.recipe import Recipe
from . import draft

POLL_S = 0.2
WORDS = "Compiling the folding code, once for this version: {} …"


class Compiling:
    """The work, done in a thread of its own from the first time that anybody waits for it."""

    def __init__(self, recipe: Recipe) -> None:
        """Begin; the recipe is drawn small."""
        self.part, self.words = 0.0, "laying flakes"
        self.ended = Event()
        Thread(target=self._run, args=(recipe,), daemon=True).start()

    def _run(self, recipe: Recipe) -> None:
        try:
            prepared = prepare(recipe)
            for part, words, draw in STEPS:
                self.part, self.words = part, words
                draw(prepared)
        finally:  # what is left after an error is compiled, or fails, where it is needed
            self.ended.set()


def _face(prepared: PreparedSheet) -> None:
    render(top_face(prepared.recipe.sheet, 0.02), prepared, 1)


def _rung(prepared: PreparedSheet) -> Rung:
    return next(rungs(prepared, [0]))


STEPS: tuple[tuple[float, str, Callable[[PreparedSheet], object]], ...] = (
    (0.15, "following light back through the folds", _face),
    (0.85, "looking", _rung),
    (0.9, "measuring", lambda prepared: _rung(prepared).layer_mm),
)


@st.cache_resource(show_spinner=False)
def _needed() -> bool:
    """Whether this process began without compiled code."""
    return not is_warm()


@st.cache_resource(show_spinner=False)
def _begun() -> Compiling:
    return Compiling(draft.demo())


def await_code() -> None:
    """Wait until pictures can be drawn, and show how far that is."""
    if not _needed() or _begun().ended.is_set():
        return
    work, bar = _begun(), st.container(key="compiling").empty()
    while not work.ended.wait(POLL_S):
        bar.progress(work.part, WORDS.format(work.words))
    bar.empty()
