"""The blendlab app: page settings and navigation."""

import os

import streamlit as st

from blendlab.screens.pages import FIRST, MOVED, SHOWN, TITLES, file_of
from blendlab.screens.parts import broken, compiling, draft, refusals, server_memory, settings, style

os.environ.setdefault("OMP_WAIT_POLICY", "passive")  # threads between loops sleep and do not spin
server_memory.give_back()
broken.say_so()
st.set_page_config(page_title="blendlab", page_icon=style.mark(), layout="wide")


def to_first() -> None:
    """Lead an old address on to the page that took its place."""
    st.switch_page(pages[0])


pages = [
    st.Page(
        file_of(name),
        title=title,
        url_path=name,
        default=name == FIRST,
        visibility="visible" if name in SHOWN else "hidden",
    )
    for name, title in TITLES.items()
]
moved = [st.Page(to_first, title=name, url_path=name, visibility="hidden") for name in MOVED]
page = st.navigation([*pages, *moved], position="top")
style.apply()
style.strip([one for one in pages if one.visibility == "visible" or one == page], page)
with st.container():  # whether they say anything or not, so that nothing below shifts
    settings.start()
    draft.start()
    draft.remember()  # first, for a page may stop half way
try:
    with refusals.shown():  # what no field of the page stands for
        page.run()
finally:
    draft.rejoin()
server_memory.settle(page.url_path)
compiling.await_code()  # behind a page whose pictures were shipped
