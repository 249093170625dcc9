"""The blendlab app: page settings and navigation."""

import os
from pathlib import Path

import streamlit as st

from blendlab import screens
from blendlab.screens.parts import broken, compiling, draft, refusals, server_memory, style

os.environ.setdefault("OMP_WAIT_POLICY", "passive")  # threads between loops sleep and do not spin
server_memory.give_back()
broken.say_so()
st.set_page_config(page_title="blendlab", page_icon=style.mark(), layout="wide")
PAGES = [
    st.Page(
        Path(screens.__file__).with_name("pages") / f"{name}.py",
        title=title,
        icon=icon,
        url_path=name,
        default=name == "flakes",
    )
    for name, title, icon in (
        ("flakes", "Flakes", ":material/palette:"),
        ("wanted", "Wanted colour", ":material/colorize:"),
        ("folds", "Folds", ":material/layers:"),
        ("photo", "Photo", ":material/photo_camera:"),
        ("batch", "Batch", ":material/scale:"),
        ("blanks", "Blanks", ":material/grid_view:"),
        ("compare", "Compare", ":material/view_column:"),
        ("log", "Log", ":material/menu_book:"),
        ("shed", "Shed", ":material/shelves:"),
        ("sources", "Sources", ":material/library_books:"),
    )
]
page = st.navigation(PAGES, position="top")
style.apply()
style.strip(PAGES)
draft.start()
draft.remember()  # first, for a page may stop half way
try:
    with refusals.shown():  # what no field of the page stands for
        page.run()
finally:
    draft.rejoin()
server_memory.settle(page.url_path)
compiling.await_code()  # behind a page whose pictures were shipped
