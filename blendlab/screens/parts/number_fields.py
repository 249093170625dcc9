"""Number fields: a decimal comma and a decimal point read alike, and anything else is refused in a sentence.

The browser's own number field drops what it does not take, so that 12,5 turns into 125. These are fields of
text, and what was typed is read here.
"""

import re
from decimal import Decimal
from math import inf
from typing import Any

import streamlit as st

from ... import checks
from . import refusals, session
from .session import KEEP, Value

_PLAIN = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")
_OTHER_UNITS = {  # exact by definition (international yard and pound, 1959): what one is in grams or mm
    "g": {"kg": 1000.0, "oz": 28.349523125, "lb": 453.59237},
    "mm": {"cm": 10.0, "m": 1000.0, "in": 25.4, '"': 25.4},
}


def shown(number: float) -> str:
    """Return a number as a field shows it, in plain digits and to three decimals.

    Examples
    --------
    >>> shown(30.0), shown(12.5), shown(40 / 3), shown(1e6), shown(0.00005)
    ('30', '12.5', '13.333', '1000000', '0.00005')
    """
    return format(Decimal(f"{round(number, 3) or number:.12g}"), "f")


def read(what: str, typed: str | None, low: float, high: float, unit: str = "", whole: bool = False) -> float:
    """Read what was typed.

    Parameters
    ----------
    what : str
        The quantity, as a sentence names it.
    typed : str or None
        With a decimal comma or a decimal point, and the unit where it was typed too.
    low, high : float
        Limits, both allowed; where `low` is 0 and `high` infinite, any number above 0.
    unit : str
        g, mm or another; empty for a count.
    whole : bool
        Whether only whole numbers will do.

    Raises
    ------
    InputError
        Where it is no number, or out of the limits.

    Examples
    --------
    >>> read("grams", "12,5", 0, 1000, "g"), read("grams", " 12.5 g", 0, 1000, "g")
    (12.5, 12.5)
    """
    text = (typed or "").strip()
    number = text.removesuffix(unit).rstrip() if unit else text
    if not number:
        checks.refuse(f"{what} must be given", None, f"type a number{_in(unit)}")
    if not _PLAIN.fullmatch(number):
        checks.refuse(f"{what} must be a plain number{_in(unit)}", text, _remedy(number, unit))
    found = float(number.replace(",", "."))
    got = checks.Raw(text)
    if whole and found != int(found):
        checks.refuse(f"{what} must be a whole number", got, f"type {low:g}, {low + 1:g} and so on")
    if low == 0 and high == inf and not 0 < found < inf:
        checks.refuse(f"{what} must be a number above 0", got, f"type a number{_in(unit)}")
    if not low <= found <= high:
        limits = f"from {shown(low)} to {shown(high)}{f' {unit}' if unit else ''}"
        checks.refuse(f"{what} must be {limits}", got, "type a number within these limits")
    return found


def _in(unit: str) -> str:
    return {"": "", "g": " of grams", "mm": " of millimetres"}.get(unit, f" of {unit}")


def _remedy(number: str, unit: str) -> str:
    """Say how to write it; what is in another unit is converted."""
    for other, factor in _OTHER_UNITS.get(unit, {}).items():
        amount = number.removesuffix(other).rstrip()
        if amount != number and _PLAIN.fullmatch(amount):
            return f"{number} is {shown(float(amount.replace(',', '.')) * factor)} {unit}: type that"
    return "type digits with one decimal point or comma, such as 12.5"


def draw(label: str, value: Value[str], width: int = 140, **options: Any) -> None:
    """Draw a number field; its text is read where it is used.

    Parameters
    ----------
    **options
        Of a text field.
    """
    st.text_input(label, key=value.key, width=width, **session.offered(value), **KEEP, **options)


def number(
    label: str,
    key: str,
    start: float,
    low: float,
    high: float,
    *,
    whole: bool = False,
    width: int = 140,
    place: Any = st,
    **options: Any,
) -> float:
    """Draw a number field and return its number; a refusal appears below it, and the last number stays.

    Parameters
    ----------
    label : str
        Markdown, such as ``Length, mm``: the unit follows the last comma.
    key : str
        Under which the session keeps what was typed.
    low, high, whole
        As for `read`.
    **options
        Of a text field.
    """
    what, _, unit = re.sub(r"\\(.)", r"\1", label).rpartition(", ")
    typed = place.text_input(label, shown(start), key=key, width=width, **KEEP, **options)
    last = Value(f"{key} last", start)
    with refusals.shown(f"{shown(last.get())} stays.", place):
        last.put(read((what or unit).lower(), typed, low, high, unit if what else "", whole))
    return last.get()
