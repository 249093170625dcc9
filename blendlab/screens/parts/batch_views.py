"""What the batch page draws: figures, what to weigh in, the two temperature charts, the steps."""

from typing import Any

import altair as alt
import numpy as np
import streamlit as st

from ...tables.ranges import Range
from ...workshop.batch_plan import Batch
from ...workshop.heat import Timetable
from ...workshop.properties import hdpe, practice
from ...workshop.wording import duration, hot_plan, pieces_text, programme, range_text
from .charts import FAINT, INK, draw
from .help_texts import SPACERS
from .style import figures, rows

MAX_POINTS = 240  # of a curve
TOP_C = 200.0


def settings(batch: Batch) -> None:
    """The numbers to set and to wait for, each with its published range."""
    units = batch.units
    loads = f"{batch.loads} × {units.grams(batch.load_g)}"
    each = "for the sheet" if batch.tiles == 1 else f"for each of {batch.tiles} tiles"
    hot_work, clamped = batch.heat_minutes, batch.cool_minutes
    safe = f"{hdpe()['safe_core_c']['value']:g} °C inside"
    figures(
        ("Loads", loads, each),
        (
            "Hot thickness",
            units.length.text(batch.spacer_mm.usual, 1),
            f"spacers, {range_text(batch.spacer_mm, 1, units.length)}",
        ),
        (
            "Hot size",
            hot_plan(batch),
            f"± {units.length.text(_half(batch.hot_length_mm))}; shrinks as it cools",
        ),
        ("Hot work", duration(60 * hot_work.usual), f"{range_text(hot_work)} min"),
        ("In the clamps", duration(60 * clamped.usual), f"{range_text(clamped)} min"),
        ("Safe to handle", duration(batch.times["usual"].safe_s), safe),
    )
    st.caption(f"{SPACERS} The Sources page says where each range comes from.")


def weigh_in(batch: Batch) -> None:
    """What goes in, a row a flake."""
    several, mass = batch.loads * batch.tiles > 1, batch.units.mass
    lines = []
    for part in batch.portions:
        amounts = [mass.text(part.load_g, 1), *([mass.text(part.total_g)] if several else [])]
        lines.append([part.flake.srgb, part.flake.name, *amounts, pieces_text(part.pieces)])
    amounts = [batch.units.grams(batch.load_g), batch.units.grams(batch.total_g.usual)]
    lines.append(["", "total", *(amounts if several else amounts[1:]), ""])
    grams = ["each load", "total"] if several else [mass.name]
    rows(lines, ["", "flake", *grams, "pieces needed"], numbers=range(2, 3 + several))
    st.caption(
        f"{range_text(batch.total_g, 0, mass)} by published densities: weigh the middle value. Where a piece "
        "was not weighed, drinks caps are counted (common practice)."
    )


def charts(batch: Batch) -> None:
    """Core and face against time, the hot work and the cooling each on their own clock."""
    table, usual = batch.times["usual"], practice()
    melt, fold = (usual[f"{part}_minutes"]["value"] for part in ("melt_a_side", "fold"))
    folds = batch.recipe.folding.folds
    by_hand = 2 * melt + folds * fold
    hot, cold = st.columns(2, gap="large")
    with hot:
        st.subheader("Hot work")
        _draw(table, hot=True, practice=(by_hand, by_hand))
    with cold:
        st.subheader("Under boards")
        low, high = (usual["cool_minutes"][end] for end in ("low", "high"))
        _draw(table, hot=False, practice=(low, high), release_c=batch.press.release_c)
    loads = "The first clock shows one load and the joining of all. " if batch.loads > 1 else ""
    st.caption(
        f"Worked out from heat conduction with melting; the ranges come from published properties. {loads}"
        "Common practice, marked below the curves, says about "
        f"{melt:g} minutes a side for the first melt, "
        f"{fold:g} for each fold, and {low / 60:g} to {high / 60:g} hours in the clamps."
    )


def steps(batch: Batch) -> None:
    """The programme, each step with its time on the clock."""
    if batch.loads > 1:
        st.caption(f"Up to the joining, for one of the {batch.loads} loads; each load starts its own clock.")
    rows((line.split("  ", 1) for line in programme(batch)), numbers=(0,))


def _in_words(table: Timetable, *, hot: bool) -> str:
    """Say what the chart shows."""
    if hot:
        ends = f"{np.interp(table.hot_s, table.seconds, table.core_c):.0f} °C after {duration(table.hot_s)}"
        return (
            f"Core and face in the press: melted through after {duration(table.melted_s)}, the core at {ends}"
        )
    solid, release = duration(table.solid_s), duration(table.release_s)
    return f"Core and face under boards: solid right through after {solid}, out of the clamps after {release}"


def _draw(
    table: Timetable, *, hot: bool, practice: tuple[float, float], release_c: float | None = None
) -> None:
    curves = _curves(table, hot)
    draw(
        lambda: _chart(curves, practice, release_c), (curves, practice, release_c), _in_words(table, hot=hot)
    )


def _chart(
    curves: list[dict[str, Any]], practice: tuple[float, float], release_c: float | None
) -> alt.LayerChart | alt.FacetChart:
    """Temperature of core and face against minutes, with the melting range and what is common practice."""
    low, high = hdpe()["melting_start_c"]["value"], hdpe()["melting_end_c"]["value"]
    x = alt.X("min:Q", title="minutes", scale=alt.Scale(nice=False))
    y = alt.Y("c:Q", title="°C", scale=alt.Scale(domain=[0, TOP_C]))
    melting = alt.Chart(_data([{"c": low, "c2": high, "text": "melting range"}]))
    band = melting.mark_rect(color=FAINT, opacity=0.25).encode(y=y, y2="c2:Q")
    colours = alt.Color(
        "what:N",
        scale=alt.Scale(domain=["core", "face"], range=[INK, FAINT]),
        legend=alt.Legend(title=None, orient="top"),
    )
    dashes = alt.StrokeDash(
        "what:N", scale=alt.Scale(domain=["core", "face"], range=[[1, 0], [5, 3]]), legend=None
    )
    lines = alt.Chart(_data(curves)).mark_line(strokeWidth=2)
    drawn = lines.encode(x=x, y=y, color=colours, strokeDash=dashes)
    levels = () if release_c is None else _level(release_c, "out of the clamps", -7)
    start, end = practice
    use = {"from": start, "to": end, "c": 8.0, "text": "common practice"}
    bar = alt.Chart(_data([use]))
    shown = (
        bar.mark_rule(strokeWidth=5, color=FAINT).encode(x="from:Q", x2="to:Q", y="c:Q")
        if end > start
        else bar.mark_point(shape="triangle-up", filled=True, size=90, color=FAINT, opacity=1).encode(
            x="from:Q", y="c:Q"
        )
    )
    name = bar.mark_text(dy=-11, align="right" if end == start else "left").encode(
        x="from:Q", y="c:Q", text="text:N"
    )
    named = melting.mark_text(align="right", dx=-4).encode(
        x=alt.value("width"), y=alt.YDatum((low + high) / 2), text="text:N"
    )
    return alt.layer(band, drawn, *levels, shown, name, named).properties(height=260)


def _level(celsius: float, text: str, dy: float) -> tuple[alt.Chart, alt.Chart]:
    """A level and its name."""
    at = alt.Chart(_data([{"c": celsius, "text": text}]))
    line = at.mark_rule(strokeDash=[2, 3], color=FAINT).encode(y="c:Q")
    return line, at.mark_text(align="right", dx=-4, dy=dy).encode(
        x=alt.value("width"), y="c:Q", text="text:N"
    )


def _curves(table: Timetable, hot: bool) -> list[dict[str, Any]]:
    """Points of core and face within the hot work or after it, as many as can be seen."""
    seconds = np.asarray(table.seconds)
    within = np.flatnonzero(seconds <= table.hot_s if hot else seconds >= table.hot_s)
    thinned = within[:: max(1, len(within) // MAX_POINTS)]
    face = np.minimum(table.bottom_c, table.top_c)
    start = 0.0 if hot else table.hot_s
    return [
        {"min": float((seconds[n] - start) / 60), "c": float(curve[n]), "what": what}
        for what, curve in (("core", table.core_c), ("face", face))
        for n in thinned
    ]


def _data(values: list[dict[str, Any]]) -> alt.Data:
    return alt.Data(values=values)


def _half(values: Range) -> float:
    return max(values.high - values.usual, values.usual - values.low)
