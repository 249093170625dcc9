"""Keep the server's memory flat and its garbage collector quick as sessions come and go."""

import ctypes
import gc
from contextlib import suppress

import streamlit as st

M_MMAP_THRESHOLD, LARGE_BYTES = -3, 1 << 20  # a setting of glibc's malloc, which other systems lack


@st.cache_resource(show_spinner=False)
def give_back() -> None:
    """Give large arrays back to the system as soon as they are freed.

    Every change on a page runs in its own thread. glibc learns to keep what was freed, for each of
    several threads apart, and so grew by a third over a dozen sessions.
    """
    with suppress(AttributeError, OSError, TypeError):  # Windows has no library without a name
        ctypes.CDLL(None).mallopt(M_MMAP_THRESHOLD, LARGE_BYTES)


@st.cache_resource(show_spinner=False)
def settle(page: str) -> None:
    """Take all that a page has loaded out of the garbage collector's sight, after its first run.

    Streamlit collects after every run, and that held up every session for a tenth of a second.
    """
    gc.collect()
    gc.freeze()
