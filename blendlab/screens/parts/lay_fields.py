"""How the charge is laid: a row for each lay in the order of laying, and a view from above and the side.

The lays are kept in the recipe that the fields began with; each change goes through `recipe.lay_edits`, so
that all grams stay laid.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

import streamlit as st

from ... import checks
from ...io.pictures import png_bytes
from ...look.charge_view import PLAN_PX, charge_view
from ...recipe import lay_edits
from ...recipe.lay import COUNTS, MAX_LAYS, PLACES, Lay
from ...recipe.lay_words import angle_words, lay_words
from ...recipe.recipe import Recipe
from ...recipe.slab_size import SIDES_MM
from ...workshop.laying import spread_lines, unstrewn_lines
from . import refusals, session
from .cache import EXACTLY, unfolded
from .compiling import await_code
from .fold_strip import Tile
from .number_fields import read, said, shown, units
from .session import Value
from .style import capital, plain, surplus

ANGLES = {"stripes": (0.0, 45.0, 90.0, -45.0), "gradient": (0.0, 90.0, 180.0, -90.0, 45.0)}
WIDE = "Leave it empty for a lay that goes through the whole slab. With a width it lies on top, or below all."
WHERE = (
    "Middles of the heaps, from the middle of the hot slab along its length and width, such as 40 30; -60 0. "
    "Leave it empty to spread them evenly."
)
NUMBERS = ("count", "angle_deg", "before_press", "width_mm", "where_mm")


def show(recipe: Recipe) -> Any:
    """Show the lays of a recipe with their fields; return a place for what `draw` draws.

    Parameters
    ----------
    recipe : Recipe
        The last good one of the fields.
    """
    refused = session.LAYS_REFUSED.pop()
    if not recipe.lays:
        st.text("All flakes are stirred together.")
        st.button("Lay them by hand", key="lay by hand", on_click=put, args=(_by_hand(recipe),))
        refusals.show(refused)
        surplus("stirred", 2 + bool(refused))
        return st.empty()
    rows, view = st.columns([3, 1], gap="medium")
    surplus("stirred", 1)
    with rows:
        with st.container():
            for n, lay in enumerate(recipe.lays):
                _row(recipe, n, lay)
            surplus("lays", len(recipe.lays))
        refusals.show(refused, "The lays stay as they were.")
        _remarks(recipe)
        with st.container(horizontal=True):
            full = len(recipe.lays) >= MAX_LAYS
            more = lay_edits.with_one_more(recipe.lays, recipe.flakes) if not full else recipe.lays
            st.button("Add a lay", key="add lay", on_click=put, args=(more,), disabled=full)
            st.button("Stir everything", key="stir", on_click=put, args=((),), type="tertiary")
    return view.empty()


def draw(recipe: Recipe, place: Any, tile: Tile | None) -> None:
    """Draw the laid charge before its first press, beside its fields and in the strip; nothing if stirred."""
    if recipe.lays:
        await_code()
        words = "; ".join(lay_words(lay, units()) for lay in recipe.lays)
        caption, png = "As laid, from above and cut through", _picture(unfolded(recipe))
        place.image(png, caption=caption, output_format="PNG", alt=words)
        if tile:
            tile.picture.image(png, f"As laid, cold, from above and cut through: {words}")


def _by_hand(recipe: Recipe) -> tuple[Lay, ...]:
    """Return the first lays to change: two of them."""
    return lay_edits.with_one_more(recipe.as_laid, recipe.flakes)


@st.cache_data(max_entries=16, show_spinner=False, hash_funcs=EXACTLY)
def _picture(start: Recipe) -> bytes:
    pixels = charge_view(start)
    return png_bytes(pixels, PLAN_PX / max(start.sheet.size_mm[:2]))


def _row(recipe: Recipe, n: int, lay: Lay) -> None:
    """One lay: its place, its flakes, its numbers, up, out."""
    with st.container(key=f"lay{n}", horizontal=True, vertical_alignment="bottom", gap="xsmall"):
        _field(
            st.selectbox,
            recipe,
            n,
            "place",
            f"Lay {n + 1}",
            lay.place,
            _placed,
            options=list(PLACES),
            width=130,
        )
        _field(
            st.multiselect,
            recipe,
            n,
            "flakes",
            "Flakes",
            list(lay.flakes),
            _chosen,
            options=[flake.name for flake in recipe.flakes],
            width=240,
        )
        for number in NUMBERS:
            if number in PLACES[lay.place].options:
                _number(recipe, n, lay, number)
        with st.popover(capital(units().mass.name)):
            _grams(recipe, n, lay)
        up = lay_edits.earlier(recipe.lays, n, recipe.flakes) if n else ()
        st.button(
            f"Lay {n + 1} up",
            key=f"lay{n} up",
            type="tertiary",
            help="Lay it one earlier",
            on_click=put,
            args=(up,),
            disabled=n == 0,
        )
        out = lay_edits.without_lay(recipe.lays, n, recipe.flakes)
        st.button(f"Lay {n + 1} out", key=f"lay{n} out", type="tertiary", on_click=put, args=(out,))


def _number(recipe: Recipe, n: int, lay: Lay, number: str) -> None:
    """One number of a lay."""
    now: Any = getattr(lay, number)
    length = units().length
    if number == "width_mm":
        typed, label = "" if now is None else shown(now, length), f"Wide, {length.symbol}"
        _field(st.text_input, recipe, n, number, label, typed, _wide, width=90, help=WIDE)
        return
    if number == "where_mm":
        typed = "; ".join(" ".join(shown(mm, length) for mm in spot) for spot in now or ())
        label = f"Where, {length.symbol}"
        _field(st.text_input, recipe, n, number, label, typed, _where, width=130, help=WHERE)
        return
    choices: list[Any]
    words: Callable[[Any], str]
    if number == "count":
        low, high = COUNTS[lay.place]
        label = "Fields a side" if lay.place == "quarters" else "How many"
        choices, words = list(range(low, high + 1)), str
    elif number == "angle_deg":
        label, words = "Which way", partial(angle_words, lay.place)
        choices = sorted({*ANGLES[lay.place], now})
    else:
        label, words = "Strewn on", _strewn_on
        choices = list(range(max(recipe.folding.folds, now) + 1))
    _field(st.selectbox, recipe, n, number, label, now, _set, options=choices, format_func=words, width=130)


def _strewn_on(press: int) -> str:
    """Say on what chips are strewn before a press."""
    return f"fold {press}" if press else "the charge"


def _grams(recipe: Recipe, n: int, lay: Lay) -> None:
    """The grams of each flake of a lay; what is left of one goes to the other lays."""
    here = lay_edits.grams_of(recipe.lays, recipe.flakes)[n]
    for i, flake in enumerate(recipe.flakes):
        if flake.name in lay.flakes:
            mass = units().mass
            label = f"{flake.name}, of {said(flake.grams, mass)}"
            now = shown(float(here[i]), mass)
            _field(st.text_input, recipe, n, f"g{i}", plain(label), now, _weighed(i), width=160)


def _field(
    draw: Callable[..., Any],
    recipe: Recipe,
    n: int,
    name: str,
    label: str,
    now: Any,
    change: Callable[[Recipe, int, str, Any], tuple[Lay, ...]],
    **options: Any,
) -> None:
    """Draw a field that shows the lay as it is; `change` returns the lays with the value chosen or typed."""
    value: Value[Any] = Value(f"lay{n} {name}", now)
    value.put(now)

    def changed() -> None:
        with refusals.kept(session.LAYS_REFUSED):
            put(change(recipe, n, name, value.get()))

    draw(label, key=value.key, on_change=changed, **options)


def _placed(recipe: Recipe, n: int, _: str, place: str) -> tuple[Lay, ...]:
    """Put a lay in another place; numbers that both places take stay."""
    lay, takes = recipe.lays[n], PLACES[place].options
    kept: dict[str, Any] = {key: getattr(lay, key) for key in ("angle_deg", "width_mm") if key in takes}
    return _with(recipe, n, Lay(lay.flakes, place, lay.grams, seed=lay.seed, **kept))


def _chosen(recipe: Recipe, n: int, _: str, names: list[str]) -> tuple[Lay, ...]:
    return lay_edits.with_flakes(recipe.lays, n, names, recipe.flakes)


def _set(recipe: Recipe, n: int, number: str, chosen: float) -> tuple[Lay, ...]:
    changes: dict[str, Any] = {number: chosen}
    if number == "count":
        changes["where_mm"] = None  # which would say how many, too
    return _with(recipe, n, replace(recipe.lays[n], **changes))


def _wide(recipe: Recipe, n: int, _: str, typed: str) -> tuple[Lay, ...]:
    wide = read("the width of a lay", typed, 1, SIDES_MM[1], units().length) if typed.strip() else None
    return _with(recipe, n, replace(recipe.lays[n], width_mm=wide))


def _where(recipe: Recipe, n: int, _: str, typed: str) -> tuple[Lay, ...]:
    """Take middles of heaps: pairs apart by semicolons, their numbers apart by a space."""
    most, length = SIDES_MM[1] / 2, units().length
    spots = []
    for pair in filter(None, map(str.strip, typed.split(";"))):
        numbers = re.split(r",?\s+", pair)
        if len(numbers) != 2:
            checks.refuse("the middle of a heap must be two numbers", pair, "type them with a space between")
        x, y = (read("the middle of a heap", one, -most, most, length) for one in numbers)
        spots.append((x, y))
    lay = recipe.lays[n]
    return _with(recipe, n, replace(lay, where_mm=tuple(spots) or None, count=len(spots) or lay.count))


def _weighed(i: int) -> Callable[[Recipe, int, str, str], tuple[Lay, ...]]:
    """Return what takes typed grams of flake i into a lay."""

    def weighed(recipe: Recipe, n: int, _: str, typed: str) -> tuple[Lay, ...]:
        flake = recipe.flakes[i]
        mass = units().mass
        grams = read(f"{mass.name} of {flake.name} in a lay", typed, 0, flake.grams, mass)
        return lay_edits.with_part(recipe.lays, n, flake.name, grams, recipe.flakes)

    return weighed


def _with(recipe: Recipe, n: int, lay: Lay) -> tuple[Lay, ...]:
    return (*recipe.lays[:n], lay, *recipe.lays[n + 1 :])


def put(lays: tuple[Lay, ...]) -> None:
    """Take other lays into the recipe, or keep why they are refused."""
    with refusals.kept(session.LAYS_REFUSED):
        take(lays)


def take(lays: tuple[Lay, ...], **further: Any) -> None:
    """Take other lays, given for the slab of the last good recipe, and further fields into the recipe."""
    last, base = session.RECIPE.get(), session.BASE.get()
    resized = tuple(lay.resized(last.sheet.size_mm, base.sheet.size_mm) for lay in lays)
    session.BASE.put(replace(base, flakes=last.flakes, lays=resized, **further))


def _remarks(recipe: Recipe) -> None:
    """Say what does not fit its place, and what is never strewn."""
    total_g = sum(flake.grams for flake in recipe.flakes)
    spread = spread_lines(recipe, total_g, units())
    for line in (*spread, *unstrewn_lines(recipe, recipe.folding.folds)):
        st.text(line)
