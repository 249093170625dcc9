"""A short guide for before cutting: how to tell HDPE."""

import streamlit as st

from ... import tables
from .style import capital, plain


def show() -> None:
    """Show the guide, closed at first; each test with its source."""
    with st.expander("Is it HDPE? Look before you cut"):
        for check in tables.read_toml("identify/identify.toml")["check"]:
            st.markdown(f"**{plain(check['name'])}.** {plain(check['text'])}")
            st.caption(plain(capital(check["source"])))
