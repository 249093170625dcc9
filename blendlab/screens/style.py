"""The look that all pages share: swatches, pictures with their words, and a few lines of style."""

import re
from html import escape

import numpy as np
import streamlit as st

from ..colour.spaces import Colour
from ..files import png_bytes

_CSS = """
<style>
.block-container {padding-top: 4.5rem; max-width: 76rem;}
.swatch {display: flex; gap: .75rem; align-items: center; margin: .15rem 0 .5rem;}
.swatch .chip {flex: none; width: 3.25rem; height: 3.25rem; border-radius: .5rem;
  border: 1px solid rgba(128,120,105,.7);}
.swatch .large {width: 6rem; height: 6rem;}
.swatch .words {line-height: 1.35; overflow-wrap: anywhere;}
.swatch .words small {opacity: .85;}
.shares {display: flex; height: 1.5rem; border-radius: .4rem; overflow: hidden;
  border: 1px solid rgba(128,120,105,.7);}
</style>
"""


def mark() -> bytes:
    """The app's own small mark: three streaks folded once, as a PNG."""
    y, x = np.mgrid[0:64, 0:64] / 64
    band = (y + 0.18 * np.sin(2 * np.pi * x) * (1 - x)) * 6 % 3
    inks = np.array([[138, 75, 22], [240, 233, 218], [46, 90, 110]], np.uint8)
    return png_bytes(inks[band.astype(int) % 3], 4.0)


def apply() -> None:
    """Put the shared style on the page."""
    st.html(_CSS)


def plain(text: str) -> str:
    """Return Markdown that shows a text as it is: a name full of markup must fetch no picture.

    Parameters
    ----------
    text : str
        What a maker wrote, or a sentence that repeats it.

    Returns
    -------
    str
        The text with a backslash before each sign Markdown might act on.
    """
    return re.sub(r"([!-/:-@\[-`{-~])", r"\\\1", text)


def swatch(label: str, colour: Colour, note: str = "", large: bool = False) -> None:
    """Show a colour with its name, hex and CIELAB.

    Parameters
    ----------
    label : str
        Name; shown as plain text whatever it holds.
    colour : Colour
        What is shown.
    note : str
        A further line.
    large : bool
        Whether the chip is the page's main one.
    """
    lightness, a, b = colour.lab
    size = "chip large" if large else "chip"
    lines = [
        f"<b>{escape(label)}</b>",
        f"<code>{colour.srgb}</code>",
        f"<small>L* {lightness:.1f} &nbsp; a* {a:.1f} &nbsp; b* {b:.1f}</small>",
    ]
    if note:
        lines.append(f"<small>{escape(note)}</small>")
    chip = (
        f'<div class="{size}" role="img" aria-label="{colour.srgb}" style="background:{colour.srgb}"></div>'
    )
    st.html(f'<div class="swatch">{chip}<div class="words">{"<br>".join(lines)}</div></div>')
