"""The one large sheet: a sketch first and then fine, its faces and cuts, and others of the same recipe."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import streamlit as st

from ...look.faces import FACES
from ...look.view import SurfaceSpec
from ...recipe.recipe import Recipe
from . import cache, draft, refusals, session
from .shipped_pictures import Shown
from .surface_fields import chosen_surface

PX, OTHER_PX = 720, 170


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
    words = f"{FACES[asked.face].words} after {recipe.folding.folds} folds"
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
    size = f", true size ({sheet.length_mm:g} × {sheet.width_mm:g} mm)" if asked.face == "top" else ""
    st.download_button(
        "Download the picture" + size,
        data=lambda: cache.view(recipe, round(4 * max(sheet.size_mm)), asked).png,
        file_name=f"{asked.face}-{folds}-folds.png",
        mime="image/png",
        on_click="ignore",
    )
