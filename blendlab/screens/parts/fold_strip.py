"""The strip of fold counts, a tap chooses one; and how often to fold for a wanted look."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import streamlit as st

from ...colour.means import full_blend
from ...io.pictures import png_bytes
from ...look.ladder import Levels, Rung, tile_px_per_mm
from ...look.looks import LOOKS, USUAL_LOOK
from ...look.pick import advise
from ...recipe.recipe import Recipe
from ...workshop.wording import stiffness_line
from . import cache, help_texts, scroll, session
from .session import KEEP
from .sheet_view import Spot
from .style import plain, some, surplus

REPLICATES = (1, 2, 3, 4)
TILE_PX = 76  # wide on the page
SURE_PX = 60  # kept free for the bar of the further sheets, so that nothing below moves


@dataclass
class Tile:
    """One tile: its picture, and its words, in which later ones replace earlier ones."""

    picture: Spot
    words: Any

    def say(self, words: str, mean: str) -> None:
        """Show words below a bar of the mean colour."""
        self.words = self.words.html(f'<div class="fold"><i style="background:{mean}"></i>{words}</div>')


def places(recipe: Recipe) -> tuple[Tile | None, list[Tile]]:
    """Show the buttons of all fold counts, and return places for what comes into them.

    Returns
    -------
    tuple of Tile or None and list of Tile
        The first is for the charge as it is laid, cold, where it is laid at all.
    """
    with st.container(key="strip", horizontal=True, wrap=False, gap="small"):
        cold = _cold(bool(recipe.lays))
        tiles = [_place(folds, folds == recipe.folding.folds) for folds in cache.counts(recipe)]
        _end(recipe)
        surplus("tiles", len(tiles))
    st.caption(plain(stiffness_line(recipe)))
    return cold, tiles


def _cold(laid: bool) -> Tile | None:
    """Keep the first place for the laid charge, so that the others stay where they are."""
    with st.container(key="laid_cold" if laid else "laid_not", width=TILE_PX, gap=None):
        tile = (
            Tile(Spot(st.container(gap=None)), st.html('<div class="fold">as laid</div>')) if laid else None
        )
        surplus("cold tile", 2 * laid)
    return tile


def _place(folds: int, chosen: bool) -> Tile:
    with st.container(key=f"fold{folds}", width=TILE_PX, gap=None):
        # The button comes first and keeps its key, so a tap leaves the focus on it.
        words = some(folds, "fold") + (", shown large" if chosen else "")
        st.button(words, key=f"rung{folds}", on_click=session.FOLDS.put, args=(folds,))
        picture = Spot(st.container(gap=None))
        return Tile(picture, st.container(gap=None))


def _end(recipe: Recipe) -> None:
    """Show what every strip tends to, as a last tile."""
    end = full_blend(recipe).srgb
    with st.container(width=TILE_PX, gap=None):
        st.html(
            f'<div class="end" role="img" aria-label="Fully mixed, {end}" style="background:{end}"></div>'
        )
        st.html('<div class="fold">fully mixed</div>')
        scroll.along(recipe.folding.folds)


def sketch(recipe: Recipe, tiles: list[Tile]) -> None:
    """Show a sketch in every tile whose picture is not ready."""
    for folds, png in cache.sketches(recipe):
        tiles[folds].picture.image(png, f"{some(folds, 'fold')}, a sketch")
        tiles[folds].say(f"{folds}", "transparent")


def draw(recipe: Recipe, tiles: list[Tile]) -> list[Rung]:
    """Draw all tiles, and return their rungs."""
    steps = []
    for rung in cache.ladder(recipe):
        steps.append(rung)
        words = f"{some(rung.folds, 'fold')}, {rung.look}, mean {rung.mean.srgb}"
        tiles[rung.folds].picture.image(png_bytes(rung.srgb8, tile_px_per_mm(recipe)), words)
        tiles[rung.folds].say(f"{rung.folds} · {rung.look}", rung.mean.srgb)
    return steps


def wanted_look() -> tuple[str, Any]:
    """Show the choice of a look; return it, and a place for the advice."""
    look = st.selectbox(
        "How mixed it should look",
        LOOKS,
        index=LOOKS.index(USUAL_LOOK),
        key="look",
        help=help_texts.LIVELY,
        on_change=session.WANTED_LOOK.put,
        args=(True,),
        **KEEP,
    )
    return look or USUAL_LOOK, st.container(key="advice").empty()


def take_wanted(wanted: str, steps: Sequence[Rung]) -> None:
    """Go to the fold count of a look that was just chosen."""
    if session.WANTED_LOOK.pop():
        counts = advise(wanted, steps, []).counts
        if counts and counts[0] != session.FOLDS.get():
            session.FOLDS.put(counts[0])
            st.rerun()


def give_advice(place: Any, wanted: str, steps: Sequence[Rung], others: Sequence[Levels]) -> None:
    """Say how often to fold for the look wanted, with a button for each count named.

    Without further sheets it says so of this sheet only, and offers to ask more of them.
    """
    found = advise(wanted, steps, others)
    (count, *_), alone = found.counts or (0,), found.counts and not others
    with place.container(gap="xsmall"):
        st.text(f"This sheet looks most {wanted} after {some(count, 'fold')}." if alone else found.text)
        with st.container(horizontal=True, gap="xsmall"):
            for folds in dict.fromkeys(found.counts):
                st.button(
                    f"Take {some(folds, 'fold')}",
                    key=f"take {folds}",
                    on_click=session.FOLDS.put,
                    args=(folds,),
                    disabled=folds == session.FOLDS.get(),
                )
            if alone:
                st.button("Ask four more sheets", key="ask", on_click=_ask, help=ASK)


ASK = "Two sheets of one mix differ: the more of them agree, the surer the number of folds."


def _ask() -> None:
    session.ASKED.put(cache.unfolded(session.RECIPE.get()))


def further(recipe: Recipe) -> list[Levels]:
    """Return how lively further sheets are, where they were asked for, as many as the maker waits for."""
    found: list[Levels] = []
    if session.ASKED.get() != cache.unfolded(recipe):
        return found
    for number in REPLICATES:
        levels = cache.replicate(recipe, number, f"Trying another sheet, {number} of {len(REPLICATES)} …")
        if levels is None:
            break
        found.append(levels)
    return found
