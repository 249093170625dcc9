"""Unfinished work of the pages, saved in the log's folder so that a crash or a restart loses nothing.

It is read only when a session starts: concurrent sessions keep their own fields, and the next one opens on
the latest change.
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
    """Return a page's saved work, None where there is none that can be read."""
    try:
        found = drafts.load(home(), page)
    except checks.InputError:
        return None
    if found is not None:
        session.saved(page).put(found)
    return found


def save(page: str, text: str) -> str:
    """Save a page's work if this session has changed it.

    Returns
    -------
    str
        Why it could not be saved; empty where it was.
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
