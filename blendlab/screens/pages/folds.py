"""Page: the ladder of fold counts, how mixed each looks, and the one chosen."""

import altair as alt
import numpy as np
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from blendlab.colour.means import full_blend
from blendlab.io.pictures import png_bytes
from blendlab.look.contrast import JUST_SEEN
from blendlab.look.faces import FACES
from blendlab.look.ladder import Levels, Rung, tile_px_per_mm
from blendlab.look.looks import LOOKS, USUAL_LOOK
from blendlab.look.pick import advise
from blendlab.recipe.moves import MOVES
from blendlab.recipe.recipe import Recipe
from blendlab.screens.parts import cache, draft, help_texts, lay_fields, refusals, session
from blendlab.screens.parts.charts import FAINT, INK, draw
from blendlab.screens.parts.session import KEEP
from blendlab.screens.parts.style import figures, some, swatch
from blendlab.screens.parts.surface_fields import chosen_surface

REPLICATES = (1, 2, 3, 4)
SURE_PX = 56  # kept free for the bar of the further sheets, so that nothing below moves


def _controls() -> None:
    with st.expander("How the slab is folded"):
        way, listed = st.columns([1, 2])
        further = {session.MOVE.get()} - {*MOVES, draft.OWN_LIST}  # a twist by its own angle
        listed_moves = [*MOVES, *further, draft.OWN_LIST]
        way.selectbox(
            "Move",
            listed_moves,
            key=session.MOVE.key,
            help=help_texts.MOVE,
            **session.offered(session.MOVE, listed_moves),
            **KEEP,
        )
        if session.MOVE.get() == draft.OWN_LIST:
            listed.text_input(
                "Moves in order, with turn and flip between them",
                key=session.MOVES.key,
                **session.offered(session.MOVES),
                **KEEP,
                help=help_texts.OWN_LIST,
            )
        grip, hand = st.columns(2)
        grip.slider(
            "Sticking to the liners",
            0.0,
            1.0,
            step=0.05,
            key=session.DRAG.key,
            **session.offered(session.DRAG),
            **KEEP,
            help=help_texts.DRAG,
        )
        hand.slider(
            "Uneven folding",
            0.0,
            1.0,
            step=0.05,
            key=session.UNEVENNESS.key,
            **session.offered(session.UNEVENNESS),
            **KEEP,
            help=help_texts.UNEVENNESS,
        )


def _place() -> tuple[DeltaGenerator, DeltaGenerator]:
    """Return places for a tile's picture and its button."""
    with st.container(width=160, gap="xxsmall"):
        return st.empty(), st.empty()


def _tile(place: tuple[DeltaGenerator, DeltaGenerator], rung: Rung, recipe: Recipe) -> None:
    picture, button = place
    png = png_bytes(rung.srgb8, tile_px_per_mm(recipe))
    words = f"{rung.folds} folds, {rung.look}, mean {rung.mean.srgb}"
    picture.image(png, width="stretch", output_format="PNG", alt=words)
    button.button(
        f"{rung.folds} · {rung.look}",
        key=f"rung{rung.folds}",
        type="primary" if rung.folds == recipe.folding.folds else "secondary",
        on_click=session.FOLDS.put,
        args=(rung.folds,),
        width="stretch",
    )


def _chart(steps: list[Rung], others: list[Levels]) -> alt.LayerChart:
    """Contrast against folds with the band of further sheets, and the mean colour of each count."""
    spread = np.array([*(other.contrast for other in others), [step.contrast for step in steps]])
    rows = [
        {
            "folds": step.folds,
            "contrast": step.contrast,
            "least": low,
            "most": high,
            "mean": step.mean.srgb,
            "look": step.look,
        }
        for step, low, high in zip(steps, spread.min(axis=0), spread.max(axis=0), strict=True)
    ]
    base = alt.Chart(alt.Data(values=rows)).encode(
        x=alt.X("folds:O", title="folds", axis=alt.Axis(labelAngle=0))
    )
    band = base.mark_area(opacity=0.35, color=FAINT).encode(
        y=alt.Y("least:Q", title="contrast, ΔE*ab at 0.5 m"), y2="most:Q"
    )
    line = base.mark_line(color=INK).encode(y="contrast:Q")
    dots = base.mark_circle(size=260, opacity=1, stroke=INK, strokeWidth=1.5).encode(
        y="contrast:Q",
        color=alt.Color("mean:N", scale=None),
        tooltip=["folds:O", "look:N", alt.Tooltip("contrast:Q", format=".1f"), "mean:N"],
    )
    seen = alt.Chart(alt.Data(values=[{"y": JUST_SEEN, "text": "just seen"}]))
    rule = seen.mark_rule(strokeDash=[5, 4], color=INK).encode(y="y:Q")
    name = seen.mark_text(align="left", dy=-7, x=4).encode(y="y:Q", text="text:N")
    return (band + line + dots + rule + name).properties(height=260)


def _in_words(steps: list[Rung]) -> str:
    """Say what the chart shows."""
    contrasts = ", ".join(f"{step.contrast:.0f} after {step.folds}" for step in steps)
    return f"Contrast of the sheet against the number of folds: {contrasts}"


def _further(recipe: Recipe) -> list[Levels]:
    """Return how lively further sheets are, as many as the maker waits for."""
    others: list[Levels] = []
    for number in REPLICATES:
        found = cache.replicate(recipe, number, f"Trying another sheet, {number} of {len(REPLICATES)} …")
        if found is None:
            break
        others.append(found)
    return others


def _large(recipe: Recipe, rung: Rung | None) -> None:
    folds = recipe.folding.folds
    asked = chosen_surface(recipe)
    left, right = st.columns([11, 9], gap="large")
    picture = left.empty()
    shown = None
    with refusals.shown(place=picture):
        for shown in cache.sharpening(recipe, 720, asked):
            words = f"{FACES[asked.face].words} after {folds} folds"
            picture.image(shown.png, width="stretch", output_format="PNG", alt=words)
    if shown is None:
        return
    with right:
        st.subheader(f"After {folds} folds")
        if asked.face == "planed":
            st.text(cache.planing_says(recipe))
        swatch("Mean of the face", shown.mean, large=True)
        if rung and asked.face == "top":  # the face that they were measured on
            figures(
                ("Look", rung.look, f"{folds} folds"),
                ("Contrast", f"{rung.contrast:.1f} ΔE*ab", "from half a metre"),
                ("Features", f"{rung.feature_mm:.1f} mm", "across the streaks"),
                ("Layers inside", f"{rung.layer_mm:.2g} mm", "thick"),
                ("Colour shift", f"{rung.drift:.1f} ΔE00", "from the average before mixing"),
            )
        longest = max(recipe.sheet.size_mm)
        size = f"{recipe.sheet.length_mm:g} × {recipe.sheet.width_mm:g} mm"
        st.download_button(
            "Download the picture" + (f", true size ({size})" if asked.face == "top" else ""),
            data=lambda: cache.view(recipe, round(4 * longest), asked).png,
            file_name=f"{asked.face}-{folds}-folds.png",
            mime="image/png",
            icon=":material/download:",
            on_click="ignore",
        )


def _advise(place: DeltaGenerator, wanted: str, steps: list[Rung], others: list[Levels]) -> None:
    """Say how often to fold for the look wanted, with a button for each count named."""
    found = advise(wanted, steps, others)
    with place.container(horizontal=True, vertical_alignment="center"):
        st.text(found.text, width="stretch")
        for folds in dict.fromkeys(found.counts):
            st.button(
                f"Take {some(folds, 'fold')}",
                key=f"take {folds} of {len(others)}",
                on_click=session.FOLDS.put,
                args=(folds,),
                type="primary",
            )


def _end(recipe: Recipe) -> None:
    """Show what every ladder tends to, as a last tile."""
    end, sheet = full_blend(recipe).srgb, recipe.sheet
    style = f"background:{end};aspect-ratio:{sheet.length_mm:g}/{sheet.width_mm:g}"
    with st.container(width=160, gap="xxsmall"):
        st.html(f'<div class="end" role="img" aria-label="Fully mixed, {end}" style="{style}"></div>')
        st.html(f'<div class="under">fully mixed <code>{end}</code></div>')


st.title("Folds")
st.write(
    "Each picture is the same charge after one more fold and press. Say how mixed it should look, or choose."
)
_controls()
recipe = draft.last_good()
with st.expander("How the flakes are laid", expanded=bool(recipe.lays)):
    lay_fields.show(recipe)
wanted = st.select_slider(
    "How mixed",
    LOOKS,
    value=USUAL_LOOK,
    key="look",
    help=help_texts.LIVELY,
    **KEEP,
    bind="query-params",
)
advice = st.empty()
surely = st.container(height=SURE_PX, border=False)
steps: list[Rung] = []
with st.container(horizontal=True, gap="small"):
    places = [_place() for _ in cache.counts(recipe)]
    _end(recipe)
for folds, png in cache.sketches(recipe):
    places[folds][0].image(png, width="stretch", output_format="PNG", alt=f"{folds} folds, a sketch")
for rung in cache.ladder(recipe):
    steps.append(rung)
    _tile(places[rung.folds], rung, recipe)
draft.offer_other_sheets()
large = st.container()
chart = st.empty()
with large:
    _large(recipe, next((step for step in steps if step.folds == recipe.folding.folds), None))
draw(_chart(steps, []), _in_words(steps), chart)
_advise(advice, wanted, steps, [])
with surely:
    others = _further(recipe)
if len(others) == len(REPLICATES):
    _advise(advice, wanted, steps, others)
if others:
    draw(_chart(steps, others), _in_words(steps), chart)
