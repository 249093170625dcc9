"""The steps at the press in their order, a row each with the slab after it: folds, turns, flips, chips.

A fold's row also says how thin its press goes. Changes go into the recipe that the fields began with.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import streamlit as st

from ...recipe import lay_edits
from ...recipe.folding_moves import MAX_FOLDS, MAX_MOVES, Folding
from ...recipe.lay import MAX_LAYS, SCATTER, Lay
from ...recipe.moves import HANDLING, MOVES
from ...recipe.recipe import Recipe
from . import cache, lay_fields, refusals, session
from .number_fields import said, units
from .session import Value
from .sheet_view import Spot
from .style import surplus

STEP_MM = 0.5  # by which a press goes thinner or thicker
PICTURE_PX = 72  # wide on the page
ALL_STEPS = (*MOVES, *HANDLING)
LAST = "The last press gives the sheet its thickness; set that with the size."
AS_IT_LIES = "Each picture is the slab after that step, as it then lies in front of you."


class Row(NamedTuple):
    """One step; the height of the spacers at its press, mm, and the lay it strews, where it has them."""

    step: str
    height_mm: float | None = None
    lay: int | None = None


class Look(NamedTuple):
    """What lies there after a step: the last press, with its chips or not; whether turned over or about."""

    press: int
    strewn: bool = False
    over: bool = False
    about: bool = False


def rows_of(recipe: Recipe) -> list[Row]:
    """Return the steps of a recipe with a list of moves; chips follow the fold that they are strewn on."""
    folding, press, rows = recipe.folding, 0, []
    cycles = folding.cycles(recipe.sheet.size_mm, folding.most_folds)
    for step in folding.moves or ():
        if step in HANDLING:
            rows.append(Row(step))
            continue
        rows.append(Row(step, cycles[press].after_mm[2]))
        press += 1
        strewn = (n for n, lay in enumerate(recipe.lays) if lay.before_press == press)
        rows += [Row(SCATTER, lay=n) for n in strewn]
    return rows


def looks_after(rows: Sequence[Row]) -> Iterator[Look]:
    """Yield what is seen after each step."""
    look = Look(0)
    for row in rows:
        if row.height_mm is not None:
            look = Look(look.press + 1, about=look.about)
        elif row.lay is not None:
            look = look._replace(strewn=True)
        else:
            turned = {"over": not look.over} if row.step == "flip" else {"about": not look.about}
            look = look._replace(strewn=True, **turned)  # chips come before turns and flips
        yield look


def show(recipe: Recipe) -> list[Spot]:
    """Show the steps of a recipe with a list of moves; return places for what `draw` draws.

    Parameters
    ----------
    recipe : Recipe
        The last good one of the fields.
    """
    st.caption(AS_IT_LIES)
    rows = rows_of(recipe)
    spots = [_start(recipe)]
    with st.container():
        for n, look in enumerate(looks_after(rows)):
            with st.container(key=f"worked{n}", horizontal=True, wrap=False, gap="small"):
                spots.append(_place(f"slab{n}", look))
                with st.container(gap="xxsmall"):
                    _row(recipe, rows, n, look.press)
        refused = session.STEPS_REFUSED.pop()
        refusals.show(refused, "The steps stay as they were.")
        surplus("steps", len(rows) + bool(refused))
    _more(recipe, rows)
    return spots


def draw(recipe: Recipe, spots: Sequence[Spot]) -> None:
    """Draw the slab after each step, as far as it fits the plates."""
    rows = rows_of(recipe)
    looks = [Look(0), *looks_after(rows)]
    words = ["the first press", *(f"step {n}, {row.step}" for n, row in enumerate(rows, start=1))]
    for spot, look, after in zip(spots, looks, words, strict=True):
        png = cache.step_png(recipe, look.press, look.strewn, look.over)
        if png is not None:
            spot.image(png, f"The slab after {after}")


def _start(recipe: Recipe) -> Spot:
    """The slab that the steps begin with."""
    with st.container(key="worked", horizontal=True, wrap=False, gap="small", vertical_alignment="center"):
        spot = _place("slab", Look(0))
        st.text(f"First press, {said(recipe.sheet.thickness_mm, units().length)}")
    return spot


def _place(key: str, look: Look) -> Spot:
    return Spot(st.container(key=f"{key} about" if look.about else key, width=PICTURE_PX, gap=None))


def _row(recipe: Recipe, rows: list[Row], n: int, press: int) -> None:
    """One step: which, up, out; and how thin its press goes."""
    row = rows[n]
    with st.container(horizontal=True, wrap=False, gap="xxsmall", vertical_alignment="center"):
        if row.lay is None:
            _choose(recipe, rows, n)
        else:
            st.text(_chips(recipe, row.lay), width="stretch")
        _up(recipe, rows, n)
        _out(recipe, rows, n)
    if row.height_mm is not None:
        _press(recipe, rows, n, press)
    else:
        st.empty()  # in place of the press of a fold that stood here


def _chips(recipe: Recipe, lay: int) -> str:
    """Say what is strewn."""
    grams = lay_edits.grams_of(recipe.lays, recipe.flakes)[lay].tolist()
    mass, weighed = units().mass, zip(grams, recipe.flakes, strict=True)
    parts = (f"{mass.of(g):.3g} {mass.symbol} {flake.name}" for g, flake in weighed if g > 0)
    return f"chips: {', '.join(parts)}"


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
    label = f"Step {n + 1}"
    st.selectbox(label, steps, key=chosen.key, on_change=changed, label_visibility="collapsed")


def _up(recipe: Recipe, rows: list[Row], n: int) -> None:
    """Offer to do a step one earlier; turns and flips go past chips, which belong to the fold before."""
    above = n - 1
    while above > 0 and rows[n].step in HANDLING and rows[above].lay is not None:
        above -= 1
    up = [*rows[:above], rows[n], *rows[above:n], *rows[n + 1 :]]
    first = n == 0 or (rows[n].lay is not None and recipe.lays[rows[n].lay or 0].before_press == 1)
    st.button(
        f"Step {n + 1} up",
        key=f"step_up{n}",
        type="tertiary",
        on_click=_put,
        args=(recipe, up),
        disabled=first,
        help="Do it one earlier",
    )


def _out(recipe: Recipe, rows: list[Row], n: int) -> None:
    """Offer to take a step out; what was strewn goes to the other lays."""
    lay, alone = rows[n].lay, rows[n].height_mm is not None and recipe.folding.most_folds == 1
    rest = [*rows[:n], *rows[n + 1 :]]
    without = () if lay is None else lay_edits.without_lay(recipe.lays, lay, recipe.flakes)
    words = f"Take step {n + 1} out"
    st.button(
        words,
        key=f"remove_step{n}",
        type="tertiary",
        help=words,
        on_click=_put if lay is None else lay_fields.put,
        args=(recipe, rest) if lay is None else (without,),
        disabled=alone,
    )


def _press(recipe: Recipe, rows: list[Row], n: int, press: int) -> None:
    """How thin a fold's press goes."""
    row, last = rows[n], press == recipe.folding.most_folds
    with st.container(horizontal=True, wrap=False, gap="small", vertical_alignment="center"):
        st.text(f"press {press}, {said(row.height_mm or 0.0, units().length)}", width="stretch")
        for name, change in (("thinner", -STEP_MM), ("thicker", STEP_MM)):
            pressed = row._replace(height_mm=(row.height_mm or 0.0) + change)
            st.button(
                f"Press {press} {name}",
                key=f"{name}_press{n}",
                type="tertiary",
                on_click=_put,
                args=(recipe, [*rows[:n], pressed, *rows[n + 1 :]]),
                disabled=last,
                help=LAST if last else None,
            )


def _more(recipe: Recipe, rows: list[Row]) -> None:
    """Offer further steps at the end."""
    folding = recipe.folding
    with st.popover("Add a step", disabled=len(folding.moves or ()) >= MAX_MOVES):
        for step in ALL_STEPS:
            height = None if step in HANDLING else _last_height(rows)
            full = height is not None and folding.most_folds >= MAX_FOLDS
            words = MOVES[step].words if step in MOVES else None
            more = [*rows, Row(step, height)]
            st.button(step, key=f"more {step}", on_click=_put, args=(recipe, more), help=words, disabled=full)
        chips = lay_edits.with_chips(recipe.as_laid, folding.most_folds, recipe.flakes)
        full = len(recipe.lays) >= MAX_LAYS
        words = f"strewn on fold {folding.most_folds} before its press"
        st.button(
            "chips", key="more chips", on_click=lay_fields.put, args=(chips,), help=words, disabled=full
        )


def _last_height(rows: Sequence[Row]) -> float:
    """Return the height of the last press."""
    return next(row.height_mm for row in reversed(rows) if row.height_mm is not None)


def _put(recipe: Recipe, rows: Sequence[Row]) -> None:
    """Take other steps into the recipe, whose slab may be of another size than the fields began with."""
    with refusals.kept(session.STEPS_REFUSED):
        base = session.BASE.get()
        scale = base.sheet.thickness_mm / recipe.sheet.thickness_mm
        heights = [row.height_mm for row in rows if row.height_mm is not None]
        at_end = session.FOLDS.get() == recipe.folding.most_folds  # and stays there
        even = all(height == recipe.sheet.thickness_mm for height in heights)
        worked = replace(
            base.folding,
            move=None,
            moves=tuple(row.step for row in rows if row.lay is None),
            folds=len(heights) if at_end else min(session.FOLDS.get(), len(heights)),
            spacers_mm=None if even else tuple(height * scale for height in heights),
        )
        lay_fields.take(_strewn(recipe, rows), folding=worked)
        _show_in_fields(worked)


def _strewn(recipe: Recipe, rows: Sequence[Row]) -> tuple[Lay, ...]:
    """Return the lays, with chips strewn on the folds that they now follow."""
    lays, press = list(recipe.lays), 0
    for row in rows:
        press += row.height_mm is not None
        if row.lay is not None:
            lays[row.lay] = replace(lays[row.lay], before_press=press)
    return tuple(lays)


def start_list() -> None:
    """Begin the list of steps with those that the last good recipe repeats."""
    last, base = session.RECIPE.get(), session.BASE.get()
    strewn = (lay.before_press or 0 for lay in last.lays)
    listed = last.folding.step_by_step(max(1, last.folding.folds, *strewn))
    scale = base.sheet.thickness_mm / last.sheet.thickness_mm
    spacers = listed.spacers_mm and tuple(height * scale for height in listed.spacers_mm)
    session.BASE.put(replace(base, folding=replace(listed, spacers_mm=spacers)))
    _show_in_fields(listed)


def _show_in_fields(worked: Folding) -> None:
    session.MOVES.put(", ".join(worked.moves or ()))
    session.FOLDS.put(worked.folds)
