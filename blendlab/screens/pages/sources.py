"""Page: every published number the program uses, by what a maker asks, and where it comes from."""

import re
from collections.abc import Sequence
from html import escape

import altair as alt
import streamlit as st

from blendlab import tables
from blendlab.screens.parts.charts import INK, draw
from blendlab.screens.parts.style import download, rows
from blendlab.tables.entries import DOUBTS, PUBLISHED, Entry, Figure, entries, unit_and_label
from blendlab.workshop.cautions import cautions

TOPICS = {
    "plastic": ("Is it HDPE", "What can be found out before cutting, and how far each test reaches."),
    "weight": ("How much to weigh", "Density, and what one collected piece weighs."),
    "size": ("How large it comes out", "From the hot press to the cold sheet, and under the saw."),
    "heat": ("How hot, and how long", "What the times on the card are worked out from."),
    "flow": (
        "How the melt flows",
        "What a press takes to close, from what holds it shut and what the flakes were.",
    ),
    "safety": ("What is dangerous", "Limits, and the cautions that the card prints."),
    "hiding": ("How thick it must be to hide", "For the printed-line test, and where nothing was tested."),
    "colour": ("How colours mix", "What turns a hex colour into a spectrum, and a spectrum into a colour."),
    "eye": ("What an eye sees", "By which contrast is judged, from half a metre."),
    "photo": ("How a photo is read", "What takes the colour of the lamp out of it."),
}
MEASURED = "How the theory did on those mixtures"  # in the table's card
MEASURED_TITLE = "How the theory did on measured mixtures"
MARKS = (PUBLISHED, *reversed(DOUBTS))
DASHES = ([1, 0], [6, 3], [2, 2])
_CSS = """
<style>
.facts {border-collapse: collapse; width: 100%; line-height: 1.4; table-layout: fixed;}
.facts td, .facts th {padding: .55rem 1.2rem .55rem 0; text-align: left; vertical-align: top;
  font-weight: 400; border-bottom: 1px solid rgba(128,120,105,.35); overflow-wrap: anywhere;}
.facts th {width: 32%;}
.facts .value {width: 30%; font-variant-numeric: tabular-nums;}
.facts small, .facts .source {font-size: .875rem; opacity: .85;}
.facts em {font-style: normal; border-bottom: 1.5px dotted currentcolor;}
@media (max-width: 40rem) {
  .facts tr {display: block; padding: .55rem 0; border-bottom: 1px solid rgba(128,120,105,.35);}
  .facts td, .facts th, .facts .value {display: block; width: auto; padding: .1rem 0; border: 0;}
}
</style>
"""


def _number(value: float) -> str:
    return f"{value:.10g}".replace("-", "−")


def _said(figure: Figure) -> str:
    """Name a property of an entry, with its numbers and unit."""
    unit, label = unit_and_label(figure.key)
    return f"{label} {', '.join(map(_number, figure.numbers))} {unit}".strip()


def _value(entry: Entry) -> str:
    """HTML of an entry: a value over its range, or its properties, or its text."""
    if entry.text:
        filled = (caution.text for caution in cautions() if caution.title == entry.name)
        return escape(next(filled, entry.text))
    if entry.columns:
        return "drawn below, from " + escape(", ".join(entry.columns))
    own = {figure.key: _number(figure.numbers[0]) for figure in entry.figures}
    unit = unit_and_label(entry.key)[0]
    taken = own.get("usual") or own.get("value")
    between = f"{own['low']} to {own['high']}" if "low" in own else ""
    if taken:
        beneath = f"<br><small>{between}</small>" if between else ""
        return f"<b>{taken} {unit}</b>{beneath}"
    return f"<b>{between} {unit}</b>" if between else "<br>".join(map(escape, map(_said, entry.figures)))


def _row(entry: Entry) -> str:
    marked = re.sub("|".join(DOUBTS), r"<em>\g<0></em>", escape(entry.source))
    name = escape(entry.name[0].upper() + entry.name[1:])
    return (
        f'<tr><th scope="row">{name}</th><td class="value">{_value(entry)}</td>'
        f'<td class="source">{marked}</td></tr>'
    )


def _fits(entry: Entry, words: str, marks: Sequence[str]) -> bool:
    labels = (unit_and_label(figure.key)[1] for figure in entry.figures)
    within = " ".join((*TOPICS[entry.topic], entry.name, entry.text, entry.source, *labels)).casefold()
    return (not marks or entry.known_by in marks) and all(word in within for word in words.casefold().split())


def _asked(known: Sequence[Entry]) -> tuple[str, list[str]]:
    """Return the words searched for, and how entries must be known."""
    counts = {mark: sum(entry.known_by == mark for entry in known) for mark in MARKS}
    with st.container(horizontal=True, vertical_alignment="bottom", gap="medium"):
        words = st.text_input(
            "Search",
            placeholder="shrinkage, silicone, ISO …",
            key="sources words",
            type="search",
            width=300,
        )
        marks = st.pills(
            "Known by",
            MARKS,
            selection_mode="multi",
            wrap=True,
            format_func=lambda mark: f"{mark} · {counts[mark]}",
            key="sources marks",
            help="The weakest part of an entry counts. Published: read where it was published.",
        )
    return words or "", list(marks or ())


def _columns(entry: Entry) -> None:
    """Draw the columns of a table too long for rows."""
    columns = tables.read_csv(f"{entry.table}/{entry.file}")
    at, *_ = columns
    rows = [
        {"x": float(x), "y": float(y), "of": name}
        for name in entry.columns
        for x, y in zip(columns[at], columns[name], strict=True)
    ]
    dashes = alt.Scale(domain=list(entry.columns), range=list(DASHES))
    line = alt.Chart(alt.Data(values=rows)).mark_line(color=INK)
    drawn = line.encode(
        x=alt.X("x:Q", title=at, scale=alt.Scale(zero=False, nice=False)),
        y=alt.Y("y:Q", title=None),
        strokeDash=alt.StrokeDash("of:N", scale=dashes, legend=alt.Legend(title=None, orient="top")),
    )
    draw(lambda: drawn.properties(height=190), rows, f"{entry.name}, over wavelength")


def _drawn(found: Sequence[Entry]) -> None:
    """Charts of the entries that are columns, and their files."""
    long = [entry for entry in found if entry.columns]
    if not long:
        return
    for entry, column in zip(long, st.columns(len(long), gap="large"), strict=True):
        with column:
            st.caption(entry.name)
            _columns(entry)
    for path in dict.fromkeys(f"{entry.table}/{entry.file}" for entry in long):
        name = path.rpartition("/")[2]
        download(f"Save {name}", tables.read_text(path), name)


def _measured() -> None:
    """Show the test on measured mixtures, from the card of the table that was set on it."""
    words = tables.read_text("strength/SOURCE.md").partition(MEASURED)[2].lstrip(": ")
    before, table, after = words.split("\n\n")
    st.markdown(before[0].upper() + before[1:])
    head, _, *lines = ([cell.strip() for cell in line.strip("|").split("|")] for line in table.splitlines())
    rows(lines, head, numbers=(1, 2, 3, 4))
    st.markdown(after)


def _cards() -> None:
    with st.expander("How each table came here, and what was checked"):
        for folder in tables.folders():
            st.markdown(tables.read_text(f"{folder}/SOURCE.md").replace("# ", "##### ", 1))


st.title("Sources")
st.write(
    "Every published number blendlab uses, and where it comes from. Your own measurements take precedence "
    "over all of them."
)
st.html(_CSS)
known = entries()
words, marks = _asked(known)
found = [entry for entry in known if _fits(entry, words, marks)]
found.sort(key=lambda entry: bool(entry.text or entry.columns))  # figures first
if not found:
    st.text("Nothing matches. Search for less.")
shown = {topic: [entry for entry in found if entry.topic == topic] for topic in TOPICS}
titles = {topic: TOPICS[topic][0] for topic, within in shown.items() if within} | {"measured": MEASURED_TITLE}
st.markdown("\n".join(f"- [{title}](#{topic})" for topic, title in titles.items()))
for topic, within in shown.items():
    if within:
        title, about = TOPICS[topic]
        st.subheader(title, anchor=topic)
        st.caption(about)
        st.html(f'<table class="facts">{"".join(map(_row, within))}</table>')
        _drawn(within)
st.subheader(MEASURED_TITLE, anchor="measured")
st.caption("They are oil paints of known ratio, open data of Geldof et al. 2018, and not HDPE.")
_measured()
_cards()
st.caption("Formulas and exact constants are in the code, each with its source.")
