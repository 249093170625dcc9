"""Page: up to four ways of folding, kept mixes or logged sheets side by side."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import streamlit as st

from blendlab.colour.means import area_mean
from blendlab.logbook import sheet_log
from blendlab.logbook.sheet_log import LoggedSheet
from blendlab.recipe.folding_moves import Folding
from blendlab.recipe.moves import MOVES
from blendlab.recipe.recipe import Recipe
from blendlab.screens.parts import cache, draft, help_texts, kept_mixes, log_entry, refusals, session
from blendlab.screens.parts.autosave import home
from blendlab.screens.parts.number_fields import units
from blendlab.screens.parts.session import KEEP, Value
from blendlab.screens.parts.style import awaiting, rows, some, swatch, within
from blendlab.workshop.batch_plan import timed
from blendlab.workshop.press_setup import PressSetup

PRESENT = "the present mix"
KEPT, LOGGED = "kept: ", "logged: "
MIX = (
    "The present mix or an invented example, folded as you choose and pressed to the present size; a mix you "
    "kept, as it was kept; or a sheet from your log, as it came out."
)
OPENS_ON = (("half", 3), ("half", 5), ("edges-in", 4), ("roll", 3))


@st.cache_data(max_entries=64, show_spinner=False, hash_funcs=cache.EXACTLY)
def _minutes(recipe: Recipe) -> float:
    """Minutes at the hot press for one load of the recipe."""
    return timed(recipe, PressSetup(), "usual", 1).work_s() / 60


def _mix(name: str, present: Recipe) -> Recipe:
    """Return the mix of that name, on the present sheet and with the present chances."""
    if name == PRESENT:
        return present
    other = draft.examples()[name]
    lays = other.on(present.sheet).lays
    return replace(present, name=other.name, flakes=other.flakes, lays=lays)


def _worked(slot: int, present: Folding) -> Folding:
    """Folding of a column's fields."""
    offered = [*MOVES, draft.OWN_LIST]
    move = st.selectbox("Move", offered, key=f"compare move {slot}", help=help_texts.MOVE, **KEEP)
    moves = None
    if move == draft.OWN_LIST:
        typed = st.text_input(
            "Moves in order",
            "edges-in, turn, half",
            key=f"compare moves {slot}",
            help=help_texts.OWN_LIST,
            **KEEP,
        )
        moves = draft.listed(typed)
    bare = replace(present, move=None if moves else move, moves=moves, folds=0, spacers_mm=None)
    most = bare.most_folds
    first = within(f"compare folds {slot}", min(OPENS_ON[slot][1], most), 0, most)
    folds = st.slider("Folds", 0, most, key=f"compare folds {slot}", **first, **KEEP)
    return replace(bare, folds=folds)


def _place(slot: int, recipe: Recipe) -> Any:
    """Return where the picture of a column comes."""
    return awaiting(f"compare{slot}", cache.slab(recipe).size_mm, area_mean(recipe).srgb)


def _show(recipe: Recipe, place: Any) -> None:
    """Picture, mean and figures of one column."""
    with place:
        rung = cache.rung(recipe)
        shown = cache.view(recipe, 400)
        words = f"{some(rung.folds, 'fold')}, {rung.look}, mean {rung.mean.srgb}"
        st.image(shown.png, width="stretch", output_format="PNG", alt=words)
    swatch(rung.look, rung.mean)
    contrast = ["Contrast from half a metre", f"{rung.contrast:.1f} ΔE*ab"]
    rows(
        [
            *([contrast] if session.NUMBERS.get() else []),
            ["Features across the streaks", units().length.text(rung.feature_mm, 1)],
            ["Layers inside", units().length.fine(rung.layer_mm)],
            ["Pressings after the first melt", f"{rung.folds}"],
            ["At the press, per load", f"about {_minutes(recipe):.0f} min"],
        ],
        numbers=(1,),
    )


def _logged(sheet: LoggedSheet) -> None:
    """Photo and figures of a sheet from the log."""
    log_entry.picture(sheet, 400)
    folding = sheet.recipe.folding
    rows(
        [
            ["Pressed on", sheet.pressed_on.isoformat()],
            ["Stars", f"{sheet.rating} of 5" if sheet.rating else "not rated"],
            ["Folded", f"{some(folding.folds, 'fold')}, {folding.move or 'own list'}"],
            *([flake.name, units().mass.text(flake.grams)] for flake in sheet.recipe.flakes),
        ]
    )
    if sheet.notes:
        st.text(sheet.notes)


def _saved() -> dict[str, Recipe | LoggedSheet]:
    """Return kept mixes and logged sheets, by what they are called in the fields."""
    found: dict[str, Recipe | LoggedSheet] = {}
    with refusals.shown():
        found |= {f"{KEPT}{mix.name}": mix for mix in kept_mixes.every()}
        for sheet in sheet_log.search(home()):
            called = f"{LOGGED}{sheet.recipe.name}, {sheet.pressed_on.isoformat()}"
            same = sum(name == called or name.startswith(f"{called} (") for name in found)
            found[f"{called} ({same + 1})" if same else called] = sheet
    return found


def _column(
    slot: int, present: Recipe, mixes: list[str], saved: Mapping[str, Recipe | LoggedSheet]
) -> Recipe | None:
    """Show the fields of a column; return the recipe to draw, None for a sheet from the log."""
    move, called = Value(f"compare move {slot}", OPENS_ON[slot][0]), Value(f"compare mix {slot}", PRESENT)
    if not move.is_set():
        move.put(move.start)
    if called.get() not in mixes:  # removed or renamed since
        called.forget()
    name = st.selectbox("Mix", mixes, key=called.key, help=MIX, **KEEP)
    chosen = saved.get(name)
    if isinstance(chosen, LoggedSheet):
        _logged(chosen)
        return None
    if chosen is not None:
        return chosen
    mix = _mix(name, present)
    return replace(mix, folding=_worked(slot, present.folding))


st.title("Compare")
st.write(
    "Each column starts from the same flakes, laid alike, so only what you choose differs. Mixes you kept "
    "and sheets from your log can stand beside them."
)
recipe = draft.last_good()
count = st.segmented_control("Columns", [2, 3, 4], default=2, key="compare count", required=True, **KEEP)
saved = _saved()
names = [PRESENT, *saved, *draft.examples()]
drawn = []  # once all columns have their fields and places
for slot, column in enumerate(st.columns(count)):
    with column, refusals.shown():
        mix = _column(slot, recipe, names, saved)
        if mix is not None:
            drawn.append((mix, _place(slot, mix), column))
for mix, place, column in drawn:
    with column, refusals.shown():
        _show(mix, place)
