"""Page: ways to further pages, and settings."""

import streamlit as st

from blendlab.screens.pages import REACHED, file_of
from blendlab.screens.parts import hdpe_guide, settings

SAYS = {
    "wanted": "Name a colour: which flakes, and how many grams of each, come nearest to it.",
    "photo": "From a photo of a past sheet: its flakes, grams and folds.",
    "like": "From a picture of anything: mixes of your flakes that look like it.",
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
st.subheader("Settings", anchor=False)
settings.show()
