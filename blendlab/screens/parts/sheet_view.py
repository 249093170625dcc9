"""The one large sheet: a sketch first and then fine, its faces and cuts, and others of the same recipe."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import streamlit as st

from ...checks import InputError
from ...look.faces import FACES
from ...look.strips import MAX_PX, memory_bytes
from ...look.view import SurfaceSpec
from ...recipe.recipe import Recipe
from ...runtime.memory import free_bytes
from . import cache, draft, refusals, session
from .number_fields import units
from .shipped_pictures import Shown
from .style import download, some, surplus
from .surface_fields import chosen_surface

PX, OTHER_PX = 720, 170
SECONDS_A_MILLION = 3.0  # pixels, on two cores: the demo, 200 × 200 mm at 4 folds, took 33 s of one core


@dataclass
class Spot:
    """A place for one picture, in which a finer one replaces a coarse one without a gap between."""

    place: Any
    shown: Any = None

    def image(self, png: bytes, words: str) -> None:
        """Show a picture."""
        where = self.shown or self.place
        self.shown = where.image(png, width="stretch", output_format="PNG", alt=words)


def places() -> tuple[Any, Any]:
    """Return places for the large sheet and for the fields that say what is seen of it."""
    return st.container(key="sheet"), st.container(key="faces", gap="xsmall")


def say_last(place: Any, wrong: str) -> None:
    """Say, where something is wrong with the fields, that the sheet is not theirs."""
    with place, st.container(gap=None):
        if wrong:
            st.text(draft.LAST_SHOWN)
        surplus("last sheet", bool(wrong))


def choose(recipe: Recipe, place: Any) -> SurfaceSpec:
    """Show the fields of what is looked at."""
    with place:
        return chosen_surface(recipe)


def draw(recipe: Recipe, asked: SurfaceSpec, place: Any) -> Iterator[Shown]:
    """Draw the sheet in two steps, between which the rest of the page can be drawn.

    Yields
    ------
    Shown
        The sketch, then the fine picture; nothing where what is asked cannot be cut from the sheet.
    """
    words = f"{FACES[asked.face].words} after {some(recipe.folding.folds, 'fold')}"
    spot, pictures = Spot(place), cache.sharpening(recipe, PX, asked)
    with refusals.shown(place=place):
        while True:
            with place:
                shown = next(pictures, None)
            if shown is None:
                return
            spot.image(shown.png, words)
            yield shown


def offer_others() -> None:
    """Offer three more sheets of the recipe."""
    words = "Three others again" if session.OTHERS.get() else "Show three others"
    st.button(words, key="other_sheets", on_click=draft.other_sheets, help=ALIKE)


def others(recipe: Recipe) -> None:
    """Show the sheets asked for, each a button that goes on with it."""
    with st.container(key="others", horizontal=True, gap="small"):
        for number, seed in enumerate(session.OTHERS.get(), start=1):
            with st.container(key=f"fold_other{number}", width=OTHER_PX, gap=None):
                words = f"Take other sheet {number}"
                st.button(words, key=f"rung_other{number}", on_click=draft.take_sheet, args=(seed,))
                shown = cache.view(recipe.with_folding(seed=seed), OTHER_PX)
                words = f"Another possible sheet, {number}"
                st.image(shown.png, width="stretch", output_format="PNG", alt=words)


ALIKE = "Two sheets of one mix are never alike: each press mixes by chance."


def offer_picture(recipe: Recipe, asked: SurfaceSpec) -> None:
    """Offer the picture as a file."""
    folds, sheet = recipe.folding.folds, recipe.sheet
    cold = units().sides(cache.cold_plan_mm(recipe))
    size = f", true size when cold ({cold})" if asked.face in cache.PLAN else ""
    download(
        f"Download the picture{size}",
        lambda: cache.view(recipe, round(4 * max(sheet.size_mm)), asked).png,
        f"{asked.face}-{folds}-folds.png",
    )
    offer_print(recipe, asked, "figures")


def offer_print(recipe: Recipe, asked: SurfaceSpec, section: str) -> None:
    """Offer the picture fine enough for print, with its size and how long it takes."""
    try:
        rows, columns = cache.print_size(recipe, asked)
    except InputError:  # said where the sheet is drawn
        return
    pixels, needed, free = rows * columns, memory_bytes(rows, columns), free_bytes()
    size = f"{columns:,} × {rows:,} pixels"
    if pixels > MAX_PX or needed > free:
        st.caption(
            f"For print at {cache.PRINT_DPI} dpi this would be {size}: more than there is memory for now."
        )
        return
    download(
        f"Download for print, {cache.PRINT_DPI} dpi",
        lambda: cache.print_png(recipe, asked),
        f"{asked.face}-{recipe.folding.folds}-folds-{cache.PRINT_DPI}-dpi.png",
        key=f"print {section}",
    )
    seconds = max(1, round(SECONDS_A_MILLION * pixels / 1e6))
    how_large = "true size when cold" if asked.face in cache.PLAN else "as large as while hot"
    st.caption(f"{size}, {how_large}, on paper; drawn when you ask, in some {seconds} s on two cores.")
