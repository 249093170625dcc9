"""The look that all pages share: swatches, pictures with their words, and a few lines of style."""

import re
from collections.abc import Collection, Iterable, Sequence
from html import escape
from typing import Any

import numpy as np
import streamlit as st

from ...colour.spaces import Colour
from ...io.pictures import png_bytes
from ...units import some as some
from . import icons, session

# Colours of the present theme, by the names that styles and charts know them by.
_INKS = {"words": "textColor", "ground": "backgroundColor", "ink": "linkColor", "frame": "borderColor"}
_TYPES = {
    "csv": "text/csv",
    "pdf": "application/pdf",
    "png": "image/png",
    "toml": "application/toml",
    "zip": "application/zip",
}
_CSS = """
<style>
.block-container {padding-top: 4.5rem; max-width: 76rem;}
[data-testid=stCaptionContainer], [data-testid=stImageCaption] {opacity: 1; color: inherit;}
[data-testid=stCaptionContainer] > *, .swatch small, .figures small, .rows th {opacity: .82;}
/* Frame and ground show what is chosen; the colour of frames is too dim for words in the dark theme. */
[data-testid=stSliderThumbValue], button[role=radio] p {color: var(--words);}
[data-testid=stCheckbox] label:has(:disabled) p {color: var(--words); opacity: .7;}
.swatch {display: flex; gap: .75rem; align-items: center; margin: .15rem 0 .5rem;}
.swatch .chip {flex: none; width: 3.25rem; height: 3.25rem; border-radius: .5rem;
  border: 1px solid rgba(128,120,105,.7);}
.swatch .large {width: 6rem; height: 6rem;}
.swatch .words {line-height: 1.35; overflow-wrap: anywhere;}
.shares {display: flex; height: 1.5rem; border-radius: .4rem; overflow: hidden;
  border: 1px solid rgba(128,120,105,.7);}
.figures {display: flex; flex-wrap: wrap; gap: .9rem 2.2rem; margin: .2rem 0 1rem;}
.figures div {display: flex; flex-direction: column; line-height: 1.3;}
.figures b {font-size: 1.4rem; font-weight: 600; line-height: 1.25;}
.rows {border-collapse: collapse; width: 100%; line-height: 1.35;}
.rows td, .rows th {padding: .4rem .6rem .4rem 0; text-align: left; vertical-align: middle; font-weight: 400;
  border-bottom: 1px solid rgba(128,120,105,.35); overflow-wrap: anywhere;}
.rows th {font-size: .85rem;}
.rows .number {text-align: right; white-space: nowrap; font-variant-numeric: tabular-nums;}
.rows .dot {display: inline-block; width: 1.5rem; height: 1.5rem; border-radius: .3rem;
  border: 1px solid rgba(128,120,105,.7); vertical-align: middle; margin-right: .5rem;}
/* Small marks of our own; the words of these buttons are for screen readers and tooltips. */
[class*=st-key-remove] button p, [class*=st-key-close] button p {position: absolute; width: 1px; height: 1px;
  overflow: hidden; clip-path: inset(50%); white-space: nowrap;}
[class*=st-key-remove] button::before, [class*=st-key-close] button::before {content: "×" / "";
  font-size: 1.5rem; line-height: 1;}
[class*=st-key-remove] button, [class*=st-key-close] button {min-width: 2.75rem; min-height: 2.75rem;}
.printed {display: flex; gap: .75rem; max-width: 26rem;}
.printed .case {flex: 1; text-align: center; font-size: .875rem;}
.printed .card {position: relative; height: 4.5rem; border-radius: .4rem; background: #f6f3ec;
  border: 1px solid rgba(128,120,105,.7);}
.printed .card i {position: absolute; inset: 46% 6%; height: .4rem; background: #1d1a17;}
.printed .card b {position: absolute; inset: 16% 22%; border-radius: .5rem;}
/* A button that is offered no longer goes at once, though it was just pressed. */
[data-retained=true]:has(> .stButton) {display: none;}
.rows code {font-size: .85rem;}
.rows td:has(.dot) {white-space: nowrap;}
.end {border-radius: .5rem;}
.under {text-align: center; font-size: .875rem; line-height: 2.4rem;}
/* A picture keeps its place while it is drawn. */
[class*=st-key-awaiting] {position: relative;}
[class*=st-key-awaiting]:not(:has(img)) {aspect-ratio: var(--plan); border-radius: .5rem;
  background: var(--mean);}
[class*=st-key-awaiting]:not(:has(img))::after {content: "Drawing …"; position: absolute; inset: 1rem 0 auto;
  width: max-content; margin: 0 auto; padding: .1rem .6rem; border-radius: .3rem; background: var(--ground);
  color: var(--words);}
[class*=st-key-way_] a {padding-inline: 0; width: fit-content;}
[class*=st-key-way_] a p {color: var(--ink); font-weight: 600; text-decoration: underline;
  text-underline-offset: .2em;}
.st-key-compiling {position: fixed; inset: auto 1rem 1rem auto; width: min(26rem, 100vw - 2rem); z-index: 99;
  padding: 0 .75rem; border-radius: .5rem; background: var(--ground);}
.layout {position: relative;}
.layout img {display: block; width: 100%; border-radius: .5rem;}
.layout .outline {position: absolute; box-sizing: border-box; display: grid; place-items: center;
  border: 2px solid #fff; outline: 1px solid #000; outline-offset: -3px;}
.layout .outline b {background: #171310; color: #fff; border-radius: .3rem; padding: 0 .4rem;
  font-size: .875rem; font-weight: 600;}
[data-testid=stMain]:focus-visible {outline: 2px solid var(--ink); outline-offset: -2px;}
/* A phone gets the names of the pages as a strip in place of the menu that would cover the page. */
.st-key-pages, .st-key-note {display: none !important;}
:has(> .st-key-pages) {position: absolute;}
:has(> * > .st-key-note:only-child), [data-testid=stLayoutWrapper]:has(> [data-testid=stVerticalBlock]:empty)
  {display: none;}
@media (max-width: 899px) {
  /* What a thumb must hit is 44 px high, and wide where it is small. */
  [data-testid=stMain] :is(button, summary, [data-testid=stTextInputRootElement], [role=combobox],
    [data-testid=stCheckbox] label, [data-testid=stSelectbox] [data-baseweb=select],
    [data-testid=stColorPickerBlock], [data-testid=stPageLink] a) {min-height: 2.75rem; min-width: 2.75rem;}
  :is([data-testid=stPageLink] a, [data-testid=stCheckbox] label) {align-items: center;}
}
@media (max-width: 768px) {
  [data-testid=stMainBlockContainer] {padding-top: 4rem;}
  [data-testid=stExpandSidebarButton], [data-testid=stSidebar] {display: none !important;}
  .st-key-pages {display: flex !important; position: fixed; inset: 0 0 auto 0; z-index: 999991;
    width: 100%; height: 3.5rem; padding: 0 .75rem; align-items: center; overflow-x: auto;
    background: var(--ground); border-bottom: 1px solid var(--frame);}
  .st-key-pages a {min-height: 2.75rem; align-items: center;}
  .st-key-present {border-bottom: 3px solid var(--ink);}
  .st-key-present p {font-weight: 600;}
}
@media (max-width: 640px) {
  .st-key-stock {gap: .1rem;}
  .st-key-stock .swatch {margin: 0;}
  .st-key-stock .chip {width: 2.5rem; height: 2.5rem;}
  .rows tr:has(> :nth-child(5)) .number {white-space: normal;}
  h1 {font-size: 1.9rem !important;}
}
</style>
"""
_REACHED_FROM_MORE = """[data-testid=stTopNavLink][href$="/more"] {font-weight: 600; color: var(--words);
background: color-mix(in srgb, var(--frame) 25%, transparent);}"""


def mark() -> bytes:
    """The app's own small mark: three streaks folded once, as a PNG."""
    y, x = np.mgrid[0:64, 0:64] / 64
    band = (y + 0.18 * np.sin(2 * np.pi * x) * (1 - x)) * 6 % 3
    inks = np.array([[138, 75, 22], [240, 233, 218], [46, 90, 110]], np.uint8)
    return png_bytes(inks[band.astype(int) % 3], 4.0)


def apply() -> None:
    """Put the shared style on the page, with the inks of both themes."""
    inks = (
        f"--{name}: light-dark({st.get_option(f'theme.light.{of}')}, {st.get_option(f'theme.dark.{of}')});"
        for name, of in _INKS.items()
    )
    st.html(_CSS.replace("<style>", f"<style>\n{icons.css()}\n.stApp {{{' '.join(inks)}}}"))


def strip(pages: Sequence[Any], present: Any) -> None:
    """Show the names of the pages in a row, the present one marked, seen on a phone only.

    At a desk a page that is not in the navigation marks there the one that it is reached from.
    """
    with st.container(key="pages", horizontal=True, wrap=False, gap="xsmall"):
        for page in pages:
            with st.container(key="present" if page == present else None, width="content"):
                st.page_link(page, label=page.title, width="content")
        if present.visibility == "hidden":
            st.html(f"<style>{_REACHED_FROM_MORE}</style>")


def awaiting(key: str, sides: Sequence[float], colour: str) -> Any:
    """Return a place for a picture; until it comes, its sides and a colour are shown there with a word."""
    plan = f"--plan: {sides[0]:g} / {sides[1]:g}; --mean: {colour}"
    place = st.container(key=f"awaiting_{key}", gap=None)
    place.html(f"<style>.st-key-awaiting_{key} {{{plan}}}</style><i></i>")  # empty, it would not be shown
    return place


def surplus(key: str, shown: int) -> None:
    """Empty the places after the `shown` ones of a container in which this session ever showed more.

    Otherwise what is no longer there stays until the run of the page ends, seconds where pictures are drawn.
    """
    most = session.Value(f"most {key}", 0)
    most.put(max(most.get(), shown))
    for _ in range(most.get() - shown):
        st.empty()


def within(key: str, start: float, low: float, high: float) -> dict[str, Any]:
    """Pull a field's kept value back inside limits that have moved since; Streamlit would stop there.

    Returns
    -------
    dict
        The option by which the field starts, where it has no value yet.
    """
    value = session.Value(key, start)
    if not value.is_set():
        return {"value": start}
    value.put(min(max(value.get(), low), high))
    return {}


def download(label: str, data: Any, name: str, **options: Any) -> None:
    """Offer a file of one of the `_TYPES`; the page does not run again."""
    kind = _TYPES[name.rpartition(".")[2]]
    st.download_button(label, data, name, kind, on_click="ignore", **options)


def plain(text: str) -> str:
    """Return Markdown that shows a text literally: markup in a name must not fetch a picture.

    Returns
    -------
    str
        The text with a backslash before each character Markdown might act on.
    """
    return re.sub(r"([!-/:-@\[-`{-~])", r"\\\1", text)


def label(text: str) -> str:
    """Return text for the label of a field, as `plain` but for what is harmless within a line.

    A screen reader reads such a label with its backslashes.
    """
    return re.sub(r"([!#$&*:<>\[\\\]_`{|}~])", r"\\\1", text)


def capital(words: str) -> str:
    """Return words as a sentence begins: ``the sheet`` becomes ``The sheet``."""
    return words[:1].upper() + words[1:]


def swatch(label: str, colour: Colour, note: str = "", figure: str = "", large: bool = False) -> None:
    """Show a colour with its name; its hex and CIELAB where figures are asked for.

    Parameters
    ----------
    label : str
        Name; always shown as plain text.
    figure : str
        A note that is shown with the figures only.
    """
    lightness, a, b = colour.lab
    size = "chip large" if large else "chip"
    lines = [f"<b>{escape(label)}</b>"]
    if note:
        lines.append(f"<small>{escape(note)}</small>")
    if session.NUMBERS.get():
        lines += [
            f"<code>{colour.srgb}</code>",
            f"<small>L* {lightness:.1f} &nbsp; a* {a:.1f} &nbsp; b* {b:.1f}</small>",
        ]
        lines += [f"<small>{escape(figure)}</small>"] * bool(figure)
    chip = (
        f'<div class="{size}" role="img" aria-label="{colour.srgb}" style="background:{colour.srgb}"></div>'
    )
    st.html(f'<div class="swatch">{chip}<div class="words">{"<br>".join(lines)}</div></div>')


def figures(*shown: tuple[str, str, str]) -> None:
    """Show a row of figures, each a label, its value large, and a note; all as plain text."""
    cells = (
        f"<div><small>{escape(label)}</small><b>{escape(value)}</b><small>{escape(note)}</small></div>"
        for label, value, note in shown
    )
    st.html(f'<div class="figures">{"".join(cells)}</div>')


def rows(lines: Iterable[Sequence[str]], head: Sequence[str] = (), numbers: Collection[int] = ()) -> None:
    """Show a calm table of plain text; a cell that is a colour, ``#rrggbb``, gets a dot of it.

    Parameters
    ----------
    numbers : collection of int
        Columns set to the right.
    """

    def cell(text: str, column: int, kind: str) -> str:
        inside = escape(text)
        if kind == "td" and re.fullmatch("#[0-9a-f]{6}", text):
            inside = f'<span class="dot" role="img" aria-label="{text}" style="background:{text}"></span>'
            inside += f"<code>{text}</code>" if session.NUMBERS.get() else ""
        return f"<{kind}{' class=number' if column in numbers else ''}>{inside}</{kind}>"

    def row(cells: Sequence[str], kind: str) -> str:
        return f"<tr>{''.join(cell(text, n, kind) for n, text in enumerate(cells))}</tr>"

    body = "".join(row(line, "td") for line in lines)
    st.html(f'<table class="rows">{row(head, "th") if head else ""}{body}</table>')
