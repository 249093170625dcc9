"""What the batch page says of the press: whether it closes, what the melt ages, how flat the sheet stays."""

from typing import Any

import altair as alt
import numpy as np
import streamlit as st

from ...workshop.batch_plan import Batch
from ...workshop.fused_block import block
from ...workshop.properties import hdpe
from ...workshop.wording import (
    ageing_lines,
    air_line,
    block_lines,
    bow_lines,
    closing_lines,
    island_lines,
)
from . import batch_fields, refusals
from .charts import FAINT, INK, draw
from .style import plain

_DASHES = {"one board": [1, 0], "open air": [5, 3], "two boards": [2, 2]}
STEP_C = 2.5  # between the points of a curve


def show(batch: Batch) -> None:
    """Show what the plan says of closing, ageing and a block, and the bow against when clamps come off."""
    words, curve = st.columns(2, gap="large")
    with words:
        st.subheader("Does it close, does it last")
        if batch.closing is None:
            st.caption("Say above what holds the press shut, and it says how long each press takes to close.")
        for line in (
            *closing_lines(batch),
            *ageing_lines(batch.ageing, batch.press, batch.units),
            air_line(batch),
        ):
            st.markdown(plain(line))
        for line in island_lines(batch):
            st.markdown(plain(line))
        with refusals.shown():
            _say_block(batch)
    with curve:
        st.subheader("Does it stay flat")
        said = bow_lines(batch)
        points, release_c, unit = _points(batch), batch.press.release_c, batch.units.length.symbol
        draw(lambda: _chart(points, release_c, unit), (points, release_c, unit), " ".join(said))
        st.caption(plain(" ".join(said)))


def _say_block(batch: Batch) -> None:
    """Show how long a block of such sheets takes to fuse, where one is asked for."""
    sheets = batch_fields.sheets_to_block()
    if sheets is not None:
        fused = block(sheets, batch.order.thickness_mm, batch.press)
        for line in block_lines(fused, batch.press, batch.units):
            st.markdown(plain(line))


def _chart(points: list[dict[str, Any]], release_c: float, unit: str) -> Any:
    """Bow of the cold sheet against its hottest point as it is let go, a line for each way it cools."""
    ways = list(_DASHES)
    colours = alt.Scale(domain=ways, range=[INK, FAINT, FAINT])
    dashes = alt.Scale(domain=ways, range=list(_DASHES.values()))
    release = alt.Chart(alt.Data(values=[{"c": release_c, "text": "out of the clamps"}]))
    lines = alt.Chart(alt.Data(values=points)).mark_line(strokeWidth=2)
    return alt.layer(
        lines.encode(
            x=alt.X(
                "c:Q",
                title="hottest point as it is let go, °C",
                scale=alt.Scale(reverse=True, zero=False),
                axis=alt.Axis(labelFlush=False),
            ),
            y=alt.Y("bow:Q", title=f"bow, {unit}"),
            color=alt.Color("way:N", scale=colours, legend=alt.Legend(title=None, orient="top", columns=2)),
            strokeDash=alt.StrokeDash("way:N", scale=dashes, legend=None),
        ),
        release.mark_rule(strokeDash=[2, 3], color=FAINT).encode(x="c:Q"),
        release.mark_text(align="right", dx=-4).encode(x="c:Q", y=alt.value(10), text="text:N"),
    ).properties(height=260)


def _points(batch: Batch) -> list[dict[str, Any]]:
    """Points of the curves, from solid right through down to the release."""
    top = hdpe()["setting_end_c"]["value"]
    marks = np.arange(batch.press.release_c, top + STEP_C / 2, STEP_C)
    return [
        {"c": float(mark), "bow": batch.units.length.of(each.let_go_at(float(mark))), "way": way}
        for way, each in batch.flatness.items()
        for mark in marks
    ]
