"""Charts in the page's own colours, light and dark."""

from collections.abc import Callable
from typing import Any

import streamlit as st

# Charts are SVG on the page, so they take the colours that style.py gives it, and follow when these turn.
# What is in a popover lies outside it, and takes the colour of the words there.
INK = "var(--ink, currentColor)"  # what is drawn
FAINT = "var(--frame, currentColor)"  # what is behind it, or a second line
WORDS = "var(--words, currentColor)"


def draw(make: Callable[[], Any], of: Any, words: str, place: Any = st) -> None:
    """Show a chart with its words in the page's own colours.

    Parameters
    ----------
    make : callable
        Returns an altair chart, drawn in `INK` and `FAINT`.
    of : Any
        All that the chart depends on: one whose `repr` was seen before is not made again.
    words : str
        What it shows, for a screen reader.
    """
    place.vega_lite_chart(_spec(make, f"{make.__module__}.{make.__qualname__} {of!r}"), alt=words)


@st.cache_data(max_entries=64, show_spinner=False)
def _spec(_make: Callable[[], Any], of: str) -> dict[str, Any]:
    named = {"labelColor": WORDS, "titleColor": WORDS}
    quiet = {"domainColor": FAINT, "tickColor": FAINT, "gridColor": FAINT, "gridOpacity": 0.3}
    inked = _make().configure(
        axis={**named, **quiet, "titleFontWeight": "normal"},
        legend=named,
        header=named,
        text={"color": WORDS},
    )
    spec: dict[str, Any] = inked.to_dict()
    return spec
