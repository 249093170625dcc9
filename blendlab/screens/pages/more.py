"""Page: ways to further pages, and settings."""

import streamlit as st

from blendlab.screens.pages import REACHED, file_of
from blendlab.screens.parts import hdpe_guide, settings

SAYS = {
    "wanted": "Which of your flakes, and how much of each, come nearest to a colour.",
    "photo": "What is in an older sheet, how much of each flake, and how often it was folded.",
    "like": "Mixes of your flakes whose sheets look like a stone, a cloth, the sea.",
    "blanks": "Lay blanks out on the sheet, and see what each one gets.",
    "compare": "Ways of folding, or mixes, side by side.",
    "sources": "Where every published number comes from.",
}

st.title("More")
for name, title in REACHED.items():
    with st.container(key=f"way_{name}", gap=None):
        st.page_link(file_of(name), label=title)
        st.caption(SAYS[name])
hdpe_guide.show()
st.subheader("Settings")
settings.show()
