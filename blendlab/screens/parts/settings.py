"""Settings of the app, saved on this machine: whether figures are shown, and in which units."""

import json
from contextlib import suppress

import streamlit as st

from ...checks import InputError
from ...logbook import drafts
from ...units import SYSTEMS
from . import autosave, batch_fields, draft, session
from .session import Value

PAGE = "settings"  # by which they are saved
CHOSEN = Value("units chosen", "")
SAID = {"g-mm": "grams and millimetres", "oz-in": "ounces and inches"}
NUMBERS = "Figures beside colours and sheets: hex, L*, a*, b*, ΔE and contrasts."


def start() -> None:
    """Begin the session with what was saved."""
    if session.saved(PAGE).is_set():
        return
    saved = autosave.load(PAGE)
    if saved is None:
        session.saved(PAGE).put("")  # so that the first change is saved as well
        return
    with suppress(InputError):  # another version's
        known = drafts.values(saved)
        session.NUMBERS.put(known.get("numbers") is True)
        session.UNITS.put(SYSTEMS.get(str(known.get("units")), session.UNITS.start))


def numbers() -> None:
    """Show the switch for figures."""
    st.toggle("Numbers", key=session.NUMBERS.key, help=NUMBERS, on_change=_save, **session.KEEP)


def show() -> None:
    """Show all settings."""
    numbers()
    st.segmented_control(
        "Units",
        list(SYSTEMS),
        default=_present(),
        key=CHOSEN.key,
        format_func=lambda name: SAID[name],
        required=True,
        on_change=_switch,
    )


def _present() -> str:
    return next(name for name, units in SYSTEMS.items() if units == session.UNITS.get())


def _switch() -> None:
    """Show everything in the units just chosen; what the fields hold stays the same to the last digit."""
    recipe, press = draft.recipe()[0], None
    with suppress(InputError):
        press = batch_fields.values()
    session.UNITS.put(SYSTEMS[CHOSEN.get()])
    if press is None:  # a field that cannot be read: as it was saved last
        batch_fields.start()
    else:
        batch_fields.fill(press)
    draft.put(recipe, session.ROWS.get())
    _save()


def _save() -> None:
    autosave.save(PAGE, json.dumps({"numbers": session.NUMBERS.get(), "units": _present()}))
