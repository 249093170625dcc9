"""Number fields: a decimal comma and a decimal point read alike, and anything else is refused in a sentence.

The browser's own number field drops what it does not take, so that 12,5 turns into 125. These are fields of
text, and what was typed is read here.
"""

import math
import re
from decimal import Decimal
from math import inf
from typing import Any

import streamlit as st

from ... import checks
from ...units import COUNT, TYPED, Unit, Units
from . import refusals, session
from .session import KEEP, Value
from .style import within

_PLAIN = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")


def units() -> Units:
    """Return the units that this session shows and reads."""
    return session.UNITS.get()


def shown(metric: float, unit: Unit = COUNT) -> str:
    """Return a number as a field shows it, in plain digits and to its unit's decimals, though never none.

    Examples
    --------
    >>> from blendlab.units import METRIC
    >>> shown(30.0), shown(12.5), shown(40 / 3), shown(40 / 3, METRIC.mass), shown(1e6), shown(0.00005)
    ('30', '12.5', '13.333', '13.3', '1000000', '0.00005')
    """
    number = unit.of(metric)
    return format(Decimal(f"{round(number, unit.decimals) or number:.12g}"), "f")


def said(metric: float, unit: Unit) -> str:
    """Return a number as a field shows it, with its unit."""
    return f"{shown(metric, unit)} {unit.symbol}"


def read(
    what: str, typed: str | None, low: float, high: float, unit: Unit = COUNT, whole: bool = False
) -> float:
    """Read what was typed.

    Parameters
    ----------
    what : str
        The quantity, as a sentence names it.
    typed : str or None
        With a decimal comma or a decimal point, and the unit where it was typed too.
    low, high : float
        Limits, g or mm, both allowed; where `low` is 0 and `high` infinite, any number above 0.
    unit : Unit
        That it is typed in.
    whole : bool
        Whether only whole numbers will do.

    Returns
    -------
    float
        Grams or millimetres, exactly.

    Raises
    ------
    InputError
        Where it is no number, or out of the limits.

    Examples
    --------
    >>> from blendlab.units import METRIC, OZ_IN
    >>> read("grams", "12,5", 0, 1000, METRIC.mass), read("ounces", " 2 oz", 0, 1000, OZ_IN.mass)
    (12.5, 56.69904625)
    """
    text = (typed or "").strip()
    number = text.removesuffix(unit.symbol).rstrip()
    of_unit = f" of {unit.name}" if unit.name else ""
    if not number:
        checks.refuse(f"{what} must be given", None, f"enter a number{of_unit}")
    if not _PLAIN.fullmatch(number):
        checks.refuse(f"{what} must be a plain number{of_unit}", text, _remedy(number, unit))
    found = float(number.replace(",", ".")) * unit.metric
    got = checks.Raw(text)
    if whole and found != int(found):
        checks.refuse(f"{what} must be a whole number", got, f"type {low:g}, {low + 1:g} and so on")
    if low == 0 and high == inf and not 0 < found < inf:
        checks.refuse(f"{what} must be a number above 0", got, f"enter a number{of_unit}")
    if not low <= found <= high:
        limits = f"from {_inwards(low, unit, math.ceil)} to {_inwards(high, unit, math.floor)}"
        checks.refuse(
            f"{what} must be {limits} {unit.symbol}".rstrip(), got, "enter a number within these limits"
        )
    return found


def _inwards(limit: float, unit: Unit, rounded: Any) -> str:
    """Return a limit that may itself be typed."""
    return shown(limit) if unit.metric == 1 else shown(rounded(unit.of(limit) * 1000) / 1000)


def _remedy(number: str, unit: Unit) -> str:
    """Say how to write it; what is in another unit is converted."""
    of_its_kind: dict[str, float] = next((kind for kind in TYPED.values() if unit.symbol in kind), {})
    for other, metric in of_its_kind.items():
        amount = number.removesuffix(other).rstrip()
        if amount != number and _PLAIN.fullmatch(amount):
            same = shown(unit.of(float(amount.replace(",", ".")) * metric))
            return f"{number} is {same} {unit.symbol}: type that"
    return "type digits with one decimal point or comma, such as 12.5"


class Quantity:
    """What is typed in a text field, and the exact number that the field was filled with.

    Parameters
    ----------
    text : Value
        What is typed.
    counted_in : str
        ``g``, ``mm`` or another unit, in which the number is; the field shows it in the maker's.
    """

    def __init__(self, text: Value[str], counted_in: str = "") -> None:
        self.text, self.counted_in = text, counted_in
        self.exact: Value[float | None] = Value(f"{text.key} exact", None)

    @property
    def unit(self) -> Unit:
        """The unit of the field."""
        return units().of(self.counted_in)

    def put(self, number: float) -> None:
        """Fill the field."""
        self.exact.put(number)
        self.text.put(shown(number, self.unit))

    def read(self, what: str, low: float, high: float, whole: bool = False) -> float:
        """Return the number; raises as the function `read`."""
        exact, typed = self.exact.get(), self.text.get()
        if exact is not None and typed == shown(exact, self.unit):  # not what its few digits say
            return exact
        return read(what, typed, low, high, self.unit, whole)


def named(label: str) -> tuple[str, str, str]:
    """Return the label of a field in the maker's units, what it asks for, and what that is counted in.

    Parameters
    ----------
    label : str
        Markdown, such as ``Length, mm``: the unit follows the last comma.
    """
    what, _, unit = label.rpartition(", ")
    return (f"{what}, {units().of(unit).symbol}", what, unit) if what else (label, label, "")


def draw(label: str, value: Value[str], width: int = 140, **options: Any) -> None:
    """Draw a number field; its text is read where it is used.

    Parameters
    ----------
    label : str
        As `named` takes it.
    **options
        Of a text field.
    """
    st.text_input(named(label)[0], key=value.key, width=width, **session.offered(value), **KEEP, **options)


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
        As `named` takes it.
    key : str
        Under which the session keeps what was typed.
    low, high, whole
        As for `read`.
    **options
        Of a text field.
    """
    words, what, counted_in = named(label)
    field = Quantity(Value(key, ""), counted_in)
    last, drawn_in = Value(f"{key} last", start), Value(f"{key} in", field.unit.symbol)
    if drawn_in.get() != field.unit.symbol:  # the maker chose other units
        field.put(last.get())
    drawn_in.put(field.unit.symbol)
    field.exact.put(last.get())
    first = {} if field.text.is_set() else {"value": shown(start, field.unit)}
    place.text_input(words, key=key, width=width, **first, **KEEP, **options)
    with refusals.shown(f"{shown(last.get(), field.unit)} stays.", place):
        last.put(field.read(re.sub(r"\\(.)", r"\1", what).lower(), low, high, whole))
    return last.get()


def slide(
    label: str,
    key: str,
    start: float,
    low: float,
    high: float,
    *,
    fine: bool = False,
    place: Any = st,
    **options: Any,
) -> float:
    """Draw a slider of a quantity in the maker's units; return it in millimetres or grams.

    Parameters
    ----------
    label : str
        As `named` takes it.
    low, high : float
        Limits, which may move: what was set is pulled back inside them.
    fine : bool
        Whether it moves in steps of a tenth, and not of one.
    **options
        Of a slider.
    """
    words, _, counted_in = named(label)
    unit = units().of(counted_in)
    own = key if unit.metric == 1 else f"{key} {unit.symbol}"
    first = within(own, unit.of(start), unit.of(low), unit.of(high))
    digits = fine + unit.finer
    chosen: float = place.slider(
        words,
        unit.of(low),
        unit.of(high),
        step=(1.0 if unit.metric == 1 else 5.0) / 10**digits,
        format=f"%.{digits}f",
        key=own,
        **first,
        **KEEP,
        **options,
    )
    return chosen * unit.metric
