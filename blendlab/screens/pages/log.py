"""Page: past sheets, how they came out, and everything as one file."""

from io import BytesIO

import streamlit as st

from blendlab.logbook import database, export, sheet_log
from blendlab.logbook.sheet_log import LoggedSheet
from blendlab.screens.parts import calibration, log_entry, refusals, session
from blendlab.screens.parts.autosave import home
from blendlab.screens.parts.session import KEEP
from blendlab.screens.parts.style import plain, some

AT_ONCE = 12  # sheets shown before one asks for more
LARGEST_ZIP_MB = 2000


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
        export.export_to(home(), file)
        session.LOG_ZIP.put(file.getvalue())


def _bring_in(content: bytes) -> None:
    with refusals.kept(session.LOG_REFUSED):
        done = export.import_from(home(), BytesIO(content))
        known = f"; {done.known} already here" if done.known else ""
        session.LOG_DONE.put(f"{some(done.sheets, 'sheet')} and {some(done.flakes, 'flake')} added{known}.")


def _everything() -> None:
    st.subheader("Everything as one file")
    st.caption("Sheets, photos, stock and unfinished work in one ZIP of open formats: to keep, or to move.")
    with st.container(horizontal=True, vertical_alignment="center"):
        st.button("Gather everything", icon=":material/folder_zip:", on_click=_gather)
        if content := session.LOG_ZIP.pop():
            st.download_button(
                f"Save the ZIP, {len(content) / 1e6:.1f} MB",
                content,
                "workshop-log.zip",
                "application/zip",
                icon=":material/download:",
                type="primary",
                on_click="ignore",
            )
    given = st.file_uploader(
        "Add a ZIP saved here before", "zip", key="log given", max_upload_size=LARGEST_ZIP_MB
    )
    if given is not None:
        st.button("Add its contents", type="primary", on_click=_bring_in, args=(given.getvalue(),))


st.title("Log")
with refusals.shown(stop=True):
    newer = database.warning(home())
    everything = sheet_log.search(home())
if newer:
    st.warning(plain(f"{newer[0].upper()}{newer[1:]}."))
refusals.show(session.LOG_REFUSED.pop())
if said := session.LOG_DONE.pop():
    st.success(plain(said))
if not everything:
    st.write(
        "Nothing is logged yet. Plan a sheet on the Batch page and log it there as pressed: "
        "its photo, your notes and what was predicted are then kept here, side by side."
    )
    st.page_link("blendlab/screens/pages/batch.py", label="To the Batch page", icon=":material/scale:")
else:
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
