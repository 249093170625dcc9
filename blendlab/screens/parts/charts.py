"""Charts in the page's own colours, light and dark."""

from typing import Any

import streamlit as st

# Charts are SVG on the page, so they take the colours that style.py gives it, and follow when these turn.
INK = "var(--ink)"  # what is drawn
FAINT = "var(--frame)"  # what is behind it, or a second line
WORDS = "var(--words)"


def draw(chart: Any, words: str, place: Any = st) -> None:
    """Show a chart with its words in the page's own colours.

    Parameters
    ----------
    chart : altair chart
        Drawn in `INK` and `FAINT`.
    words : str
        What it shows, for a screen reader.
    """
    named = {"labelColor": WORDS, "titleColor": WORDS}
    quiet = {"domainColor": FAINT, "tickColor": FAINT, "gridColor": FAINT, "gridOpacity": 0.3}
    inked = chart.configure(
        axis={**named, **quiet, "titleFontWeight": "normal"},
        legend=named,
        header=named,
        text={"color": WORDS},
    )
    place.altair_chart(inked, alt=words)
