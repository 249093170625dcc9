"""All figures of the mix and the sheet, behind one switch."""

from collections.abc import Sequence
from typing import Any

import altair as alt
import numpy as np
import streamlit as st

from ...colour import advice
from ...colour.backing import BACKINGS, look_on
from ...colour.difference import delta_e00
from ...colour.means import area_mean, cielab_mean, full_blend
from ...colour.pigment import palette_of
from ...colour.uncertainty import of_area_mean, of_full_blend
from ...look.contrast import JUST_SEEN
from ...look.ladder import Levels, Rung
from ...look.view import SurfaceSpec
from ...recipe.recipe import Recipe
from .charts import FAINT, INK, draw
from .number_fields import units
from .shipped_pictures import Shown
from .style import figures, some, swatch

BEHIND = {
    "white": "On white",
    "black": "On black",
    "own": "On more of it",
    "window": "Held to a window",
}
PLUS_MINUS = (
    "The true colour should be that near nine times in ten, if flake colours are known to 2 ΔE and masses to "
    "1 g. How far off strengths and the theory usually are was set on measured mixtures of oil paints: no "
    "open measurements of pressed HDPE were found."
)


def means(recipe: Recipe) -> None:
    """Show the two colours between which folding moves the sheet."""
    for label, colour, uncertainty, note in (
        ("Average before mixing", area_mean(recipe), of_area_mean(recipe), "while the pieces are whole"),
        ("Fully mixed", full_blend(recipe), of_full_blend(recipe), "after many folds"),
    ):
        band = f"within {uncertainty.band90_delta_e_ab:.0f} ΔE*ab, nine times in ten"
        swatch(label, colour, note, band)


def of_sheet(recipe: Recipe, rung: Rung, shown: Shown | None, asked: SurfaceSpec) -> None:
    """Show the figures of the chosen sheet and of the colours of the mix."""
    if shown:
        swatch("Mean of what is shown", shown.mean)
    length = units().length
    if asked.face == "top":  # the face that they were measured on
        figures(
            ("Look", rung.look, some(rung.folds, "fold")),
            ("Contrast", f"{rung.contrast:.1f} ΔE*ab", "from half a metre"),
            ("Features", length.text(rung.feature_mm, 1), "across the streaks"),
            ("Layers inside", length.fine(rung.layer_mm), "thick"),
            ("Colour shift", f"{rung.drift:.1f} ΔE00", "from the average before mixing"),
        )
    step = float(delta_e00(area_mean(recipe).lab, full_blend(recipe).lab))
    st.caption(
        f"Folding moves the mean colour from the first to the second, a step of {step:.1f} ΔE00. A "
        f"plain CIELAB average, with no physics in it, would be {cielab_mean(recipe).srgb}.",
        help=PLUS_MINUS,
    )


def sureness(recipe: Recipe) -> None:
    """Say what would make the colours surer."""
    for sentence in advice.for_recipe(recipe):
        st.text(sentence)


def thin(recipe: Recipe) -> None:
    """The blend as a sheet of the recipe's thickness, where light comes through it."""
    flakes, thick = palette_of(recipe), recipe.sheet.thickness_mm
    with st.expander("What shows through it"):
        st.caption(f"The fully mixed colour, {units().sides([thick])} thick, on four grounds.")
        with st.container(horizontal=True):
            for backing in BACKINGS:
                with st.container(width=210):
                    swatch(BEHIND[backing], look_on(flakes, recipe.shares, thick, backing))


def chart(steps: Sequence[Rung], others: Sequence[Levels]) -> None:
    """Draw contrast against folds with the band of further sheets, and the mean colour of each count."""
    contrasts = ", ".join(f"{step.contrast:.0f} after {step.folds}" for step in steps)
    rows = _rows(steps, others)
    draw(lambda: _chart(rows), rows, f"Contrast of the sheet against the number of folds: {contrasts}")


def _rows(steps: Sequence[Rung], others: Sequence[Levels]) -> list[dict[str, Any]]:
    spread = np.array([*(other.contrast for other in others), [step.contrast for step in steps]])
    return [
        {
            "folds": step.folds,
            "contrast": step.contrast,
            "least": float(low),
            "most": float(high),
            "mean": step.mean.srgb,
            "look": step.look,
        }
        for step, low, high in zip(steps, spread.min(axis=0), spread.max(axis=0), strict=True)
    ]


def _chart(rows: list[dict[str, Any]]) -> alt.LayerChart:
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
