"""Charts in the page's own colours: their inks, and the one way to show one."""

from typing import Any

import streamlit as st


def theme() -> str:
    """Return which of the two themes the page is seen in, light where the browser has not said."""
    return "dark" if st.context.theme.type == "dark" else "light"


def ink(name: str = "linkColor") -> str:
    """Return a colour of the present theme.

    Parameters
    ----------
    name : str
        As in the settings: `linkColor` for what is drawn, `primaryColor` for a second line beside it,
        `textColor` for words, `borderColor` for what stands behind.

    Returns
    -------
    str
        Its hex, ``#rrggbb``.
    """
    return str(st.get_option(f"theme.{theme()}.{name}"))


def draw(chart: Any, words: str, place: Any = st) -> None:
    """Show a chart with its words in the page's own colours.

    Parameters
    ----------
    chart : altair chart
        Drawn with `ink`.
    words : str
        What it shows, for who does not see it.
    place : streamlit container
        Where.
    """
    text, line = ink("textColor"), ink("borderColor")
    named = {"labelColor": text, "titleColor": text}
    quiet = {"domainColor": line, "tickColor": line, "gridColor": line, "gridOpacity": 0.3}
    inked = chart.configure(
        axis={**named, **quiet, "titleFontWeight": "normal"}, legend=named, header=named, text={"color": text}
    )
    place.altair_chart(inked, alt=words)
