"""How the charge is laid, as cards with a small picture each: a tap lays the flakes of the mix that way."""

from dataclasses import replace
from functools import lru_cache

import streamlit as st

from ...io.pictures import png_bytes
from ...look.charge_view import sketches
from ...recipe.lay import Lay
from ...recipe.lay_ways import WAYS, laid_so
from ...recipe.recipe import Recipe
from . import lay_fields
from .cache import EXACTLY, MAX_MIXES, unfolded
from .compiling import await_code
from .sheet_view import Spot

PX = 64  # longer side of a card's plan
FRAME = "outline: 3px solid var(--ink); outline-offset: 1px;"


def show(recipe: Recipe) -> dict[str, Spot]:
    """Show the cards, the present way framed; return their places by the ways.

    Parameters
    ----------
    recipe : Recipe
        The last good one of the fields.
    """
    st.subheader("How it is laid")
    spots = {}
    with st.container(key="ways", horizontal=True, gap="xxsmall"):
        for n, way in enumerate(WAYS):
            lays = _laid(recipe, way)
            present = lays == recipe.lays
            with st.container(key=f"fold_way{n}", gap=None):
                words = f"Lay all {way}" + (", as now" if present else "")
                st.button(words, key=f"rung_way{n}", on_click=lay_fields.put, args=(lays,))
                spots[way] = Spot(st.container(gap=None))
                framed = f"<style>.st-key-fold_way{n} {{{FRAME}}}</style>" if present else ""
                st.html(f'{framed}<div class="fold">{way}</div>')
    return spots


def draw(recipe: Recipe, spots: dict[str, Spot]) -> None:
    """Draw how each way lays the flakes, cold, from above and cut through."""
    await_code()
    start = unfolded(recipe)
    pictures = _pictures(tuple(replace(start, lays=_laid(recipe, way)) for way in spots))
    for (way, spot), png in zip(spots.items(), pictures, strict=True):
        spot.image(png, f"Laid {way}, from above and cut through")


@lru_cache(maxsize=128)  # both as a card is shown and as it is drawn
def _laid(recipe: Recipe, way: str) -> tuple[Lay, ...]:
    return laid_so(way, recipe.lays, recipe.flakes, recipe.sheet.thickness_mm)


@st.cache_data(max_entries=MAX_MIXES, show_spinner=False, hash_funcs=EXACTLY)
def _pictures(laid: tuple[Recipe, ...]) -> list[bytes]:
    per_mm = PX / max(laid[0].sheet.size_mm[:2])
    return [png_bytes(pixels, per_mm) for pixels in sketches(laid, PX)]
