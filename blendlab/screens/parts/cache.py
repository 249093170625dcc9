"""What the pages have worked out already, bounded, keyed on the recipe as it was before its folds."""

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from typing import Any

import streamlit as st

from ...checks import InputError
from ...io.image_codec import picture_of
from ...io.pictures import picture_bytes, png_bytes
from ...look.ladder import Levels, Rung, falling_looks, levels_of_replicate, rungs
from ...look.looks import MAX_RUNGS
from ...look.nesting import Piece, blank_face
from ...look.planing import planing
from ...look.prepared_sheet import PreparedSheet, prepare
from ...look.render import render
from ...look.strips import Strips
from ...look.view import SurfaceSpec, look_at
from ...recipe.recipe import Recipe, Sheet
from ...runtime.core_scheduler import in_the_background
from ...runtime.progress import ProgressCallback
from ...units import MM_PER_INCH, Unit
from ...workshop.order import hot_per_cold
from ...workshop.sheet_size import last_slab_mm
from . import number_fields, shipped_pictures
from .compiling import await_code
from .long_task import worked
from .shipped_pictures import Shown

MAX_MIXES = 8  # in use at once
TOP = SurfaceSpec()
PLAN = ("top", "bottom", "planed")  # faces that shrink alike both ways
BLANK_PX = 150
SKETCH_PX = 64
COARSER = 3  # times fewer pixels along each side of a first picture
EXACTLY: dict[str | type[Any], Any] = {Recipe: repr}  # to the last bit, and quicker than field by field


@lru_cache(maxsize=128)  # asked several times in every run of a page
def _most_folds(recipe: Recipe) -> int:
    """How far a recipe can be followed: past its own folds a press may no longer fit the plates."""
    folding = recipe.folding
    for folds in range(folding.folds + 1, folding.most_folds + 1):
        try:
            folding.cycles(recipe.sheet.size_mm, folds)
        except InputError:
            return folds - 1
    return folding.most_folds


def counts(recipe: Recipe) -> range:
    """Fold counts of a recipe's ladder: 0 to 10, or on to its own, as far as its moves reach and it fits."""
    return range(min(max(MAX_RUNGS, recipe.folding.folds), _most_folds(recipe)) + 1)


def unfolded(recipe: Recipe) -> Recipe:
    """Return the recipe before its first fold: all its fold counts share one charge and one programme."""
    return recipe.with_folding(folds=0)


@st.cache_resource(max_entries=MAX_MIXES, show_spinner=False, hash_funcs=EXACTLY)
def _prepared_to(start: Recipe, folds: int) -> PreparedSheet:
    return prepare(start, min(folds, _most_folds(start)))


def _prepared(start: Recipe, folds: int) -> PreparedSheet:
    """Ready for those folds, and for a usual ladder at least, so that one serves them all."""
    return _prepared_to(start, max(MAX_RUNGS, folds))


@st.cache_resource(max_entries=MAX_MIXES, show_spinner=False, hash_funcs=EXACTLY)
def _rungs(start: Recipe) -> dict[int, Rung]:
    return shipped_pictures.rungs(start)


def ladder(recipe: Recipe) -> Iterator[Rung]:
    """Yield the rungs of a recipe, those known first, the rest as they are ready.

    Yields
    ------
    Rung
        From 0 folds on.
    """
    start = unfolded(recipe)
    steps: list[Rung] = []
    for folds in counts(recipe):
        steps.append(_rung(start, folds))
        look = falling_looks(steps)[-1]
        yield steps[-1] if look == steps[-1].look else replace(steps[-1], look=look)


def sketches(recipe: Recipe) -> Iterator[tuple[int, bytes]]:
    """Yield the fold counts whose rung is not ready, each with a coarse picture, a PNG, until it is."""
    known = _rungs(unfolded(recipe))
    for folds in counts(recipe):
        if folds not in known:
            yield folds, view(recipe.with_folding(folds=folds), SKETCH_PX).png


def rung(recipe: Recipe) -> Rung:
    """Return the rung of a recipe at its own fold count."""
    return _rung(unfolded(recipe), recipe.folding.folds)


def _rung(start: Recipe, folds: int) -> Rung:
    known = _rungs(start)
    if folds not in known:
        # A look is named beside the unfolded pieces of the same flakes, stirred.
        pieces = _rung(replace(start, lays=()), 0) if folds or start.lays else None
        await_code()
        with in_the_background():
            known[folds] = next(rungs(_prepared(start, folds), [folds], pieces))
    return known[folds]


def replicate(recipe: Recipe, number: int, words: str) -> Levels | None:
    """How lively a further sheet of the recipe is at all fold counts of its ladder, None where stopped."""
    await_code()

    def work(on_progress: ProgressCallback) -> Levels:
        with in_the_background():
            return levels_of_replicate(recipe, counts(recipe), number, on_progress)

    return worked("further sheets", (unfolded(recipe), counts(recipe), number), words, work)


@st.cache_data(max_entries=32, show_spinner=False, hash_funcs=EXACTLY)
def _view(start: Recipe, folds: int, asked: SurfaceSpec, px_per_mm: float) -> Shown:
    prepared = _prepared(start, folds)
    view = look_at(asked.surface(prepared.sheet_after(folds), px_per_mm), prepared, folds)
    percent = dict(zip(prepared.palette.names, view.percent.tolist(), strict=True))
    return Shown(png_bytes(view.srgb8, px_per_mm * _shrinks(asked)), view.mean, percent)


def _shrinks(asked: SurfaceSpec) -> float:
    """How many times smaller a face prints than while hot: its plan prints as the cold sheet."""
    return hot_per_cold() if asked.face in PLAN else 1.0


def view(recipe: Recipe, px: int, asked: SurfaceSpec = TOP) -> Shown:
    """Look at a face after the recipe's folds.

    Parameters
    ----------
    px : int
        Pixels along the slab's longest side.

    Raises
    ------
    InputError
        Where what is asked cannot be cut from the slab.
    """
    start, folds = unfolded(recipe), recipe.folding.folds
    shipped = shipped_pictures.view(start, folds, px, asked)
    if shipped:
        return shipped
    await_code()
    return _view(start, folds, asked, px / max(slab(recipe).size_mm))


@st.cache_data(max_entries=256, show_spinner=False, hash_funcs=EXACTLY)
def _step(start: Recipe, folds: int, strewn: bool, over: bool) -> bytes:
    prepared = _prepared(start, folds)
    prepared = replace(prepared, programme=prepared.programme.pressed(folds, strewn))
    sheet = prepared.sheet_after(folds)
    px_per_mm = SKETCH_PX / max(sheet.size_mm)
    face = SurfaceSpec("bottom" if over else "top").surface(sheet, px_per_mm)
    return png_bytes(look_at(face, prepared, folds).srgb8, px_per_mm)


def step_png(recipe: Recipe, folds: int, strewn: bool, over: bool) -> bytes | None:
    """Sketch the upper face between two steps, a PNG; None where the slab no longer fits the plates.

    Parameters
    ----------
    folds : int
        Number of the last press.
    strewn : bool
        Whether the chips strewn before it are on the slab.
    over : bool
        Whether the slab was turned over since.
    """
    return _step(unfolded(recipe), folds, strewn, over) if folds <= _most_folds(recipe) else None


PRINT_DPI = 300
PRINT_PX_PER_MM = PRINT_DPI / MM_PER_INCH


def print_size(recipe: Recipe, asked: SurfaceSpec) -> tuple[int, int]:
    """Return rows and columns of a face drawn for print; raises as `view`."""
    return asked.surface(slab(recipe), PRINT_PX_PER_MM / _shrinks(asked)).shape


def print_png(recipe: Recipe, asked: SurfaceSpec) -> bytes:
    """Draw a face at true size and 300 dpi, strip by strip, so that memory hardly grows with its size."""
    prepared, folds = _prepared(unfolded(recipe), recipe.folding.folds), recipe.folding.folds
    surface = asked.surface(prepared.sheet_after(folds), PRINT_PX_PER_MM / _shrinks(asked))
    with in_the_background():
        drawn = picture_of(surface.shape, Strips(surface, lambda part: render(part, prepared, folds)))
    return picture_bytes(drawn, PRINT_PX_PER_MM)


def sharpening(recipe: Recipe, px: int, asked: SurfaceSpec = TOP) -> Iterator[Shown]:
    """Yield a face in few pixels, and then fine; else as `view`. What was shipped is there at once."""
    if shipped := shipped_pictures.view(unfolded(recipe), recipe.folding.folds, px, asked):
        yield shipped
        return
    yield view(recipe, px // COARSER, asked)
    with in_the_background():
        fine = view(recipe, px, asked)
    yield fine


def slab(recipe: Recipe) -> Sheet:
    """Return the slab as it is after the recipe's folds."""
    return Sheet(*last_slab_mm(recipe))


def cold_plan_mm(recipe: Recipe) -> tuple[float, float]:
    """Return length and width of the sheet once it is cold, before it is trimmed."""
    length, width, _ = last_slab_mm(recipe)
    return length / hot_per_cold(), width / hot_per_cold()


@st.cache_data(max_entries=32, show_spinner=False, hash_funcs=EXACTLY)
def _planing(start: Recipe, folds: int, length: Unit) -> str:
    found = planing(_prepared(start, folds), folds)
    if found.half_mm is None:
        deepest = length.fine(found.depths_mm[-1])
        return f"Down to {deepest} more than half of the pattern stays where it is."
    return (
        f"The pattern is another one from about {length.fine(found.half_mm)} down; its colours and look stay."
    )


def planing_says(recipe: Recipe) -> str:
    """Say how deep planing changes the look of the top face."""
    return _planing(unfolded(recipe), recipe.folding.folds, number_fields.units().length)


@st.cache_data(max_entries=128, show_spinner=False, hash_funcs=EXACTLY)
def _blank(start: Recipe, folds: int, piece: Piece) -> bytes:
    prepared = _prepared(start, folds)
    scale = BLANK_PX / max(piece.length_mm, piece.width_mm)
    hot = piece.enlarged(hot_per_cold())
    surface = blank_face(hot, prepared.sheet_after(folds), scale / hot_per_cold())
    return png_bytes(look_at(surface, prepared, folds).srgb8, scale)


def blank_png(recipe: Recipe, piece: Piece) -> bytes:
    """PNG of what a blank laid out on the cold sheet gets of the upper face after the recipe's folds."""
    return _blank(unfolded(recipe), recipe.folding.folds, piece)
