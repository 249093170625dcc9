"""The steps at the press in their order, a row each: folds with their presses, turns, flips, chips strewn.

A row is a step and, where a press follows, its height. Changes go into the recipe that the fields began with.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import streamlit as st

from ...recipe import lay_edits
from ...recipe.folding_moves import MAX_FOLDS, MAX_MOVES
from ...recipe.lay import MAX_LAYS
from ...recipe.moves import HANDLING, MOVES
from ...recipe.recipe import Recipe
from . import lay_fields, refusals, session
from .number_fields import shown
from .session import Value

STEP_MM = 0.5  # by which a press goes thinner or thicker
ALL_STEPS = (*MOVES, *HANDLING)
LAST = "The last press gives the sheet its thickness; set that with the size."


class Row(NamedTuple):
    """One step, and the height of the spacers at its press, mm; None where no press follows."""

    step: str
    height_mm: float | None


def rows_of(recipe: Recipe) -> list[Row]:
    """Return the steps of a recipe with a list of moves."""
    folding = recipe.folding
    heights = iter([cycle.after_mm[2] for cycle in folding.cycles(recipe.sheet.size_mm, folding.most_folds)])
    return [Row(step, None if step in HANDLING else next(heights)) for step in folding.moves or ()]


def show(recipe: Recipe) -> None:
    """Show the steps of a recipe with a list of moves.

    Parameters
    ----------
    recipe : Recipe
        The last good one of the fields.
    """
    rows, press = rows_of(recipe), 0
    for n, row in enumerate(rows):
        press += row.height_mm is not None
        _row(recipe, rows, n, press)
    refusals.show(session.STEPS_REFUSED.pop(), "The steps stay as they were.")
    with st.popover("Add a step", disabled=len(rows) >= MAX_MOVES):
        for step in ALL_STEPS:
            height = None if step in HANDLING else _last_height(rows)
            full = height is not None and press >= MAX_FOLDS
            more = [*rows, Row(step, height)]
            words = MOVES[step].words if step in MOVES else None
            st.button(step, key=f"more {step}", on_click=_put, args=(recipe, more), help=words, disabled=full)


def _row(recipe: Recipe, rows: list[Row], n: int, press: int) -> None:
    """One step: which, how thin its press goes, chips on it, up, out."""
    row = rows[n]
    with st.container(key=f"worked{n}", horizontal=True, vertical_alignment="bottom", gap="xsmall"):
        _choose(recipe, rows, n)
        if row.height_mm is not None:
            last = press == recipe.folding.most_folds
            words = f"{shown(row.height_mm)} mm"
            st.text(words, width=64)
            for name, change in (("thinner", -STEP_MM), ("thicker", STEP_MM)):
                pressed = [*rows[:n], Row(row.step, row.height_mm + change), *rows[n + 1 :]]
                st.button(
                    f"Press {press} {name}",
                    key=f"worked{n} {name}",
                    type="tertiary",
                    on_click=_put,
                    args=(recipe, pressed),
                    disabled=last,
                    help=LAST if last else None,
                )
            st.button(
                f"Chips on fold {press}",
                key=f"worked{n} chips",
                type="tertiary",
                on_click=lay_fields.put,
                args=(lay_edits.with_chips(recipe.as_laid, press, recipe.flakes),),
                disabled=len(recipe.lays) >= MAX_LAYS,
            )
        up = [*rows[: n - 1], row, rows[n - 1], *rows[n + 1 :]] if n else rows
        out = [*rows[:n], *rows[n + 1 :]]
        for name, changed, possible in (("up", up, n > 0), ("out", out, len(rows) > 1)):
            st.button(
                f"Step {n + 1} {name}",
                key=f"worked{n} {name}",
                type="tertiary",
                on_click=_put,
                args=(recipe, changed),
                disabled=not possible,
            )


def _choose(recipe: Recipe, rows: list[Row], n: int) -> None:
    """Show which step it is."""
    step = rows[n].step
    chosen: Value[str] = Value(f"worked{n} move", step)
    chosen.put(step)

    def changed() -> None:
        new = chosen.get()
        height = None if new in HANDLING else rows[n].height_mm or _last_height(rows)
        _put(recipe, [*rows[:n], Row(new, height), *rows[n + 1 :]])

    steps = list(dict.fromkeys((*ALL_STEPS, step)))  # a twist by its own angle too
    st.selectbox(f"Step {n + 1}", steps, key=chosen.key, on_change=changed, width=150)


def _last_height(rows: Sequence[Row]) -> float:
    """Return the height of the last press."""
    return next(row.height_mm for row in reversed(rows) if row.height_mm is not None)


def _put(recipe: Recipe, rows: Sequence[Row]) -> None:
    """Take other steps into the recipe, whose slab may be of another size than the fields began with."""
    with refusals.kept(session.STEPS_REFUSED):
        base = session.BASE.get()
        scale = base.sheet.thickness_mm / recipe.sheet.thickness_mm
        heights = [row.height_mm for row in rows if row.height_mm is not None]
        even = all(height == recipe.sheet.thickness_mm for height in heights)
        steps = tuple(row.step for row in rows)
        worked = replace(
            base.folding,
            move=None,
            moves=steps,
            folds=min(session.FOLDS.get(), len(heights)),
            spacers_mm=None if even else tuple(height * scale for height in heights),
        )
        session.BASE.put(replace(base, folding=worked))
        session.MOVES.put(", ".join(steps))
        session.FOLDS.put(worked.folds)
