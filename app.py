"""The blendlab app: page settings and navigation."""

import streamlit as st

from blendlab.checks import InputError
from blendlab.screens import draft, lean, style

lean.give_back()
st.set_page_config(page_title="blendlab", page_icon=style.mark(), layout="wide")
PAGES = [
    st.Page("blendlab/screens/flakes.py", title="Flakes", icon=":material/palette:", default=True),
    st.Page("blendlab/screens/wanted.py", title="Wanted colour", icon=":material/colorize:"),
    st.Page("blendlab/screens/folds.py", title="Folds", icon=":material/layers:"),
    st.Page("blendlab/screens/photo.py", title="Photo", icon=":material/photo_camera:"),
    st.Page("blendlab/screens/batch.py", title="Batch", icon=":material/scale:"),
    st.Page("blendlab/screens/blanks.py", title="Blanks", icon=":material/grid_view:"),
    st.Page("blendlab/screens/compare.py", title="Compare", icon=":material/view_column:"),
    st.Page("blendlab/screens/log.py", title="Log", icon=":material/menu_book:"),
    st.Page("blendlab/screens/shed.py", title="Shed", icon=":material/shelves:"),
    st.Page("blendlab/screens/sources.py", title="Sources", icon=":material/library_books:"),
]
page = st.navigation(PAGES, position="top")
style.apply()
style.strip(PAGES)
draft.start()
draft.remember()  # first, for a page may stop half way
try:
    page.run()
except InputError as error:  # what no field of the page stands for
    st.error(style.plain(f"{error}."))
lean.settle(page.url_path)
