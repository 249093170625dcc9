"""A refusal is one sentence on the page, never a traceback."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import streamlit as st

from ...checks import InputError
from . import session
from .session import Value
from .style import plain


@contextmanager
def shown(further: str = "", place: Any = st, stop: bool = False) -> Iterator[None]:
    """Show a refusal in place of what follows it in the block.

    Parameters
    ----------
    further : str
        A second sentence, such as what stays as it was.
    stop : bool
        Whether the rest of the page is left out too.
    """
    try:
        yield
    except InputError as error:
        show(str(error), further, place)
        if stop:
            st.stop()


@contextmanager
def kept(value: Value[str]) -> Iterator[None]:
    """Keep a refusal for the next run of the page: a button's callback runs before there is a page."""
    try:
        yield
    except InputError as error:
        value.put(str(error))


@contextmanager
def noted() -> Iterator[None]:
    """Show a refusal as a small note: something else on the page is missing, not wrong."""
    try:
        yield
    except InputError as error:
        st.caption(plain(f"{session.UNITS.get().sentence(str(error))}."))


def show(refusal: str, further: str = "", place: Any = st) -> None:
    """Show a refusal, an empty one not at all; the rest as for `shown`."""
    if refusal:
        place.error(plain(f"{session.UNITS.get().sentence(refusal)}. {further}".rstrip()))
