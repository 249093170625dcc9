"""Page: up to four ways of folding, or mixes, side by side, with the same chances."""

from dataclasses import replace

import streamlit as st

from blendlab.recipe.folding_moves import Folding
from blendlab.recipe.moves import MOVES
from blendlab.recipe.recipe import Recipe
from blendlab.screens.parts import cache, draft, help_texts, refusals
from blendlab.screens.parts.session import KEEP
from blendlab.screens.parts.style import rows, swatch, within
from blendlab.workshop.batch_plan import timed
from blendlab.workshop.press_setup import PressSetup

PRESENT = "the present mix"
MIX = "Yours from the Make page, or an invented example, pressed to the same size."
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
    within(f"compare folds {slot}", 0, most)
    folds = st.slider("Folds", 0, most, min(OPENS_ON[slot][1], most), key=f"compare folds {slot}", **KEEP)
    return replace(bare, folds=folds)


def _show(recipe: Recipe) -> None:
    """Picture, mean and figures of one column."""
    rung = cache.rung(recipe)
    shown = cache.view(recipe, 400)
    words = f"{rung.folds} folds, {rung.look}, mean {rung.mean.srgb}"
    st.image(shown.png, width="stretch", output_format="PNG", alt=words)
    swatch(rung.look, rung.mean)
    rows(
        [
            ["Contrast from half a metre", f"{rung.contrast:.1f} ΔE*ab"],
            ["Features across the streaks", f"{rung.feature_mm:.1f} mm"],
            ["Layers inside", f"{rung.layer_mm:.2g} mm"],
            ["Pressings after the first melt", f"{rung.folds}"],
            ["At the press, per load", f"about {_minutes(recipe):.0f} min"],
        ],
        numbers=(1,),
    )


def _column(slot: int, present: Recipe, mixes: list[str]) -> None:
    st.session_state.setdefault(f"compare move {slot}", OPENS_ON[slot][0])
    name = st.selectbox("Mix", mixes, key=f"compare mix {slot}", help=MIX, **KEEP)
    with refusals.shown():
        mix = _mix(name, present)
        _show(replace(mix, folding=_worked(slot, present.folding)))


st.title("Compare")
st.write("Every column starts from the same charge and the same chances; only what you choose differs.")
recipe = draft.last_good()
count = st.segmented_control("Columns", [2, 3, 4], default=2, key="compare count", required=True, **KEEP)
names = [PRESENT, *draft.examples()]
for slot, column in enumerate(st.columns(count)):
    with column:
        _column(slot, recipe, names)
