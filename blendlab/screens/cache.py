"""What the pages have worked out already, bounded, keyed on the recipe's own text."""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
import streamlit as st

from ..compiled import is_warm
from ..files import png_bytes
from ..look.ladder import Rung, another_hand, rungs
from ..look.making import Making, make_ready
from ..look.render import render, srgb8
from ..look.surfaces import top_face
from ..recipe import MOST_FOLDS, Recipe, from_toml, to_toml
from . import draft

MOST_RUNGS = 10


def counts(recipe: Recipe) -> range:
    """Fold counts of a recipe's ladder, 0 to 10 or to the end of its list of moves."""
    return range(min(MOST_RUNGS, recipe.folding.most_folds) + 1)


def key_of(recipe: Recipe) -> str:
    """Text that stands for a recipe whatever its fold count."""
    return to_toml(recipe.with_folding(folds=0))


@st.cache_resource(max_entries=6, show_spinner=False)
def _making(key: str) -> Making:
    return make_ready(from_toml(key), MOST_FOLDS)


@st.cache_resource(max_entries=12, show_spinner=False)
def _found(key: str) -> dict[int, Rung]:
    return {}


def ladder(recipe: Recipe) -> Iterator[Rung]:
    """Yield the rungs of a recipe, those known first, the rest as they are ready.

    Parameters
    ----------
    recipe : Recipe
        What is made.

    Yields
    ------
    Rung
        From 0 folds on.
    """
    key = key_of(recipe)
    found = _found(key)
    for folds in counts(recipe):
        if folds not in found:
            unfolded = found[0].contrast if folds else None
            found[folds] = next(rungs(_making(key), [folds], unfolded))
        yield found[folds]


@st.cache_data(max_entries=64, show_spinner=False)
def _hand(key: str, hand: int) -> npt.NDArray[np.float64]:
    recipe = from_toml(key)
    return another_hand(recipe, counts(recipe), hand)


def hand(recipe: Recipe, number: int) -> npt.NDArray[np.float64]:
    """Contrasts of a further sheet of the recipe at all fold counts of its ladder."""
    return _hand(key_of(recipe), number)


@st.cache_data(max_entries=64, show_spinner=False)
def _face(key: str, folds: int, px_per_mm: float, samples: int) -> bytes:
    making = _making(key)
    picture = render(top_face(making.recipe.sheet, px_per_mm), making, folds, samples)
    return png_bytes(srgb8(picture.xyz1), px_per_mm)


def face_png(recipe: Recipe, px: int, samples: int) -> bytes:
    """PNG of the top face after the recipe's folds.

    Parameters
    ----------
    recipe : Recipe
        What is made.
    px : int
        Pixels along the longer side.
    samples : int
        Points followed back per pixel.

    Returns
    -------
    bytes
        The picture, true to size.
    """
    scale = px / max(recipe.sheet.length_mm, recipe.sheet.width_mm)
    return _face(key_of(recipe), recipe.folding.folds, scale, samples)


def warm_up() -> None:
    """Compile what the pictures need where that was never done, and show how far it is."""
    if "warm" in st.session_state or is_warm():
        return
    box = st.empty()
    bar = box.progress(0.0, "Compiling the folding code, once for this version: laying flakes …")
    making = make_ready(draft.demo())
    bar.progress(0.4, "Compiling the folding code: following light back through the folds …")
    render(top_face(making.recipe.sheet, 0.02), making, 1, 4)
    bar.progress(0.8, "Compiling the folding code: measuring …")
    list(rungs(making, [0]))
    box.empty()
    st.session_state["warm"] = True
