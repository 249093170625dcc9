"""Page: past sheets, how they came out, and everything as one file."""

from io import BytesIO

import streamlit as st

from blendlab.logbook import database, export, restore, sheet_log, stock
from blendlab.logbook.row_reader import Unreadable
from blendlab.logbook.sheet_log import LoggedSheet
from blendlab.screens.pages import file_of
from blendlab.screens.parts import calibration, log_entry, refusals, session
from blendlab.screens.parts.autosave import home
from blendlab.screens.parts.session import KEEP
from blendlab.screens.parts.style import capital, download, plain, some

AT_ONCE = 12  # sheets shown at first
MAX_ZIP_MB = 2000


def _tile(sheet: LoggedSheet) -> None:
    with st.container(width=155, gap="xxsmall"):
        log_entry.picture(sheet, 340)
        stars = "★" * (sheet.rating or 0)
        st.text(f"{sheet.recipe.name}\n{sheet.pressed_on.isoformat()} {stars}".rstrip())
        st.button(
            "Open", key=f"open {sheet.uid}", type="tertiary", on_click=session.LOG_OPEN.put, args=(sheet.uid,)
        )


def _list(sheets: tuple[LoggedSheet, ...]) -> None:
    shown = session.LOG_SHOWN.get() or AT_ONCE
    with st.container(horizontal=True, gap="medium"):
        for sheet in sheets[:shown]:
            _tile(sheet)
    if len(sheets) > shown:
        st.button(f"Show more of the {len(sheets)}", on_click=session.LOG_SHOWN.put, args=(shown + AT_ONCE,))


def _search() -> tuple[LoggedSheet, ...]:
    with st.container(horizontal=True, vertical_alignment="bottom"):
        words = st.text_input("Search names, flakes and notes", key="log words", **KEEP, width=300)
        stars = st.selectbox(
            "Rated",
            range(6),
            key="log stars",
            **KEEP,
            format_func=lambda n: "any" if n == 0 else f"{'★' * n} or better" if n < 5 else "★★★★★",
            width=170,
        )
    return sheet_log.search(home(), words, rating_at_least=stars)


def _gather() -> None:
    file = BytesIO()
    with refusals.kept(session.LOG_REFUSED):
        done = export.export_to(home(), file)
        session.LOG_ZIP.put(file.getvalue())
        lost = [f"{capital(left_out)}; it is not in the ZIP." for left_out in done.left_out]
        if lost:
            lost.append("Add an older ZIP that holds it, or the photo itself, to put it back.")
        session.LOG_NOTES.put(tuple(lost))


def _bring_in(content: bytes) -> None:
    with refusals.kept(session.LOG_REFUSED):
        done = restore.import_from(home(), BytesIO(content))
        added = (
            f"{some(done.sheets, 'sheet')}, {some(done.flakes, 'flake')} and {some(done.pictures, 'picture')}"
        )
        known = f"; {some(done.known, 'sheet')} already here" if done.known else ""
        session.LOG_DONE.put(f"{added} added{known}.")
        session.LOG_NOTES.put(
            tuple(
                f"More of {name} was pressed than weighed in: weigh it and correct it on My flakes."
                for name in done.overdrawn
            )
        )


def _say(newer: str | None) -> None:
    """Say what became of the last change to the log."""
    if newer:
        st.warning(plain(f"{capital(newer)}."))
    refusals.show(session.LOG_REFUSED.pop())
    if said := session.LOG_DONE.pop():
        st.success(plain(said))
    for note in session.LOG_NOTES.pop():
        st.warning(plain(note))


def _unreadable(rest: tuple[Unreadable, ...]) -> None:
    """Name what this version cannot read; it stays in the log and in exports."""
    for part in rest[:AT_ONCE]:
        what = f"{part.what[0].upper()}{part.what[1:]}"
        st.warning(
            plain(f"{what} cannot be read ({part.reason}). It is kept, and goes into the ZIP as it is.")
        )
    if len(rest) > AT_ONCE:
        st.warning(plain(f"{len(rest) - AT_ONCE} more cannot be read. They are kept too."))


def _everything() -> None:
    st.subheader("Everything as one file")
    st.caption("Sheets, photos, stock and unfinished work in one ZIP of open formats: to keep, or to move.")
    with st.container(horizontal=True, vertical_alignment="center"):
        st.button("Gather everything", on_click=_gather)
        if content := session.LOG_ZIP.pop():
            label = f"Save the ZIP, {len(content) / 1e6:.1f} MB"
            download(label, content, "workshop-log.zip", type="primary")
    given = st.file_uploader(
        "Add a ZIP saved here before", "zip", key="log given", max_upload_size=MAX_ZIP_MB
    )
    if given is not None:
        st.button("Add its contents", type="primary", on_click=_bring_in, args=(given.getvalue(),))


st.title("Log")
with refusals.shown(stop=True):
    newer = database.warning(home())
    everything = sheet_log.search(home())
    rest = (*sheet_log.unreadable(home()), *stock.unreadable(home()))
with st.container():  # whether it says anything or not: what is typed below is lost where its place shifts
    _say(newer)
    _unreadable(rest)
if not (everything or rest):
    st.write(
        "Nothing is logged yet. On the Make page tap Pressed it, for an old sheet too: its photo, your notes "
        "and what was predicted are then kept here, side by side."
    )
    st.page_link(file_of("make"), label="To the Make page")
if everything:
    st.write("What was pressed, how it came out, and what had been predicted that day.")
    sheets = _search()
    chosen = next((sheet for sheet in sheets if sheet.uid == session.LOG_OPEN.get()), None)
    if chosen:
        log_entry.show(chosen, changes=not newer)
    if sheets:
        _list(sheets)
    else:
        st.text(f"None of the {len(everything)} sheets matches. Search for less.")
    calibration.show(everything, changes=not newer)
_everything()
