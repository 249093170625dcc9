"""Unfinished work of the pages, saved in the log's folder so that a crash or a restart loses none of it.

Only the start of a session reads it: sessions side by side each go on with their own fields, and the one
that changed something last is what the next session opens on.
"""

import os
from pathlib import Path

from ... import checks
from ...logbook import database, drafts
from . import session


def home() -> Path:
    """Folder of this maker's log, stock and drafts."""
    return database.default_home(os.environ)


def load(page: str) -> str | None:
    """Return what was saved of a page, None where there is nothing to be read."""
    try:
        found = drafts.load(home(), page)
    except checks.InputError:
        return None
    if found is not None:
        session.saved(page).put(found)
    return found


def save(page: str, text: str) -> str:
    """Save a page's work where this session has changed it.

    Parameters
    ----------
    page : str
        Which.
    text : str
        All there is to it.

    Returns
    -------
    str
        What is wrong where it could not be saved; empty where all is well.
    """
    saved = session.saved(page)
    if not saved.is_set():
        saved.put(text)
    if saved.get() == text:
        return ""
    try:
        drafts.save(home(), page, text)
    except checks.InputError as error:
        return str(error)
    saved.put(text)
    return ""
