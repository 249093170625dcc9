"""Validation of input: the rule, the value received, the remedy.

A maker's mistake is refused here with `InputError`, in one sentence that the maker can act on. Each check
returns the value in its plain form, so nothing is checked twice.
"""

import math
import re
import unicodedata
from collections.abc import Collection, Mapping
from numbers import Integral, Real
from typing import NoReturn, Self

MAX_SHOWN = 100  # characters of a refused value that a message repeats
MAX_REASON = 200  # characters of another program's reason

MAX_LABEL = 60  # characters of a name, so that it fits beside its swatch

# Control characters, lone surrogates, line and paragraph separators: none fits a
# one-line label, and UTF-8 cannot even encode a lone surrogate.
_UNWRITABLE = {"Cc", "Cs", "Zl", "Zp"}


class InputError(ValueError):
    """Input that cannot be used; the text says what to do about it."""


class Raw(str):
    """Words that describe a refused value; a message repeats them without quotes."""

    __slots__ = ()


class Typed(float):
    """A number that a message repeats as it was typed; other text raises ValueError.

    Examples
    --------
    >>> shown(Typed("60")), shown(Typed(" 1e999 "))
    ('60', '1e999')
    """

    text: str

    def __new__(cls, text: str) -> Self:
        """Parse a number."""
        made = super().__new__(cls, text)
        made.text = text.strip()
        return made

    def __str__(self) -> str:
        """Return the number as it was typed."""
        return self.text

    def __getnewargs__(self) -> tuple[str]:  # type: ignore[override]  # a float has its number here
        """Return the arguments for a copy."""
        return (self.text,)


def refuse(rule: str, value: object, remedy: str) -> NoReturn:
    """Refuse a value in one sentence.

    Parameters
    ----------
    rule : str
        What must hold, such as ``"folds must be a whole number from 0 to 16"``.
    value : object
        What was received instead.
    remedy : str
        What the maker can do about it.

    Raises
    ------
    InputError
        Always; its text is ``<rule>, got <value>; <remedy>``.

    Examples
    --------
    >>> refuse("folds must be a whole number from 0 to 16", 17, "fold less often")
    Traceback (most recent call last):
    ...
    blendlab.checks.InputError: folds must be a whole number from 0 to 16, got 17; fold less often
    """
    raise InputError(f"{rule}, got {shown(value)}; {remedy}")


def shown(value: object) -> str:
    """Put a value on one short line, as a message repeats it.

    Text keeps its quotes, so that empty or blank text can be seen; `Raw` text and an exception's reason have
    none. A long value loses its middle; control characters are escaped.

    Examples
    --------
    >>> shown("  "), shown(float("nan")), shown(None)
    ("'  '", 'nan', 'nothing')
    """
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Integral) and abs(int(value)) >= 10**MAX_SHOWN:
        # Python refuses to print whole numbers of thousands of digits.
        return f"a whole number of more than {MAX_SHOWN} digits"
    quoted = isinstance(value, str) and not isinstance(value, Raw)
    line = repr(value) if quoted else " ".join(str(value).split())
    line = "".join(character if character.isprintable() else repr(character)[1:-1] for character in line)
    longest = MAX_REASON if isinstance(value, Raw | Exception) else MAX_SHOWN
    if len(line) > longest:
        line = f"{line[: longest // 2]}…{line[-longest // 2 :]}"
    return line


def number(what: str, value: object, low: float, high: float, remedy: str) -> float:
    """Return a number within closed limits.

    InputError where `value` is not a number, not finite, or outside the limits.

    Parameters
    ----------
    what : str
        The quantity in the maker's words, with its unit.
    value : object
        What was received; True and False are not numbers.

    Examples
    --------
    >>> number("drag", 1, 0, 1, "choose between slipping and sticking")
    1.0
    """
    found = _finite(value)
    if found is None or not low <= found <= high:
        refuse(f"{what} must be a number from {low:g} to {high:g}", value, remedy)
    return found


def positive(what: str, value: object, remedy: str) -> float:
    """Return a finite number above zero; otherwise as `number`."""
    found = _finite(value)
    if found is None or found <= 0:
        refuse(f"{what} must be a number above 0", value, remedy)
    return found


def whole(what: str, value: object, low: int, high: int, remedy: str) -> int:
    """Return a whole number within closed limits; 5.0 is not one, nor is true."""
    if isinstance(value, bool) or not isinstance(value, Integral) or not low <= int(value) <= high:
        refuse(f"{what} must be a whole number from {low} to {high}", value, remedy)
    return int(value)


def label(what: str, value: object, longest: int = MAX_LABEL) -> str:
    """Return a one-line name, trimmed.

    InputError where `value` is not text, blank, longer than `longest` characters, or holds a line break or
    another control character.

    Examples
    --------
    >>> label("flake name", " bottle-crate blue ")
    'bottle-crate blue'
    """
    if not isinstance(value, str):
        refuse(f"{what} must be text", value, "put the name in quotes")
    if any(unicodedata.category(character) in _UNWRITABLE for character in value):
        refuse(f"{what} must be one line of plain text", value, "take out the special characters")
    name = value.strip()
    if not name:
        refuse(f"{what} must not be empty", value, "give a name you will know it by")
    if len(name) > longest:
        refuse(f"{what} must have at most {longest} characters", value, "shorten the name")
    return name


def hex_colour(what: str, value: object) -> str:
    """Return an sRGB colour as ``#rrggbb`` in lower case.

    Examples
    --------
    >>> hex_colour("colour", "#14409A")
    '#14409a'
    """
    if not isinstance(value, str) or not re.fullmatch("#[0-9a-fA-F]{6}", value):
        refuse(
            f"{what} must be written #rrggbb",
            value,
            "give two digits of 0-9 and a-f each for red, green and blue, such as #14409a",
        )
    return value.lower()


def one_of(what: str, value: object, allowed: Collection[str]) -> str:
    """Return a word if it is allowed; a refusal lists the allowed ones."""
    if not isinstance(value, str) or value not in allowed:
        refuse(f"{what} must be one of those known", value, f"choose {_listed(allowed)}")
    return value


def keys(where: str, given: Mapping[str, object], needed: Collection[str], allowed: Collection[str]) -> None:
    """Refuse keys that are unknown and keys that are missing.

    Parameters
    ----------
    where : str
        The part of the file, in the maker's words.
    given : mapping
        What the file holds there.
    needed, allowed : collection of str
        Required keys, and all allowed ones.

    Raises
    ------
    InputError
        Naming the key, and the keys that are allowed or missing.

    Examples
    --------
    >>> keys("[sheet]", {"width": 3}, ["width_mm"], ["width_mm"])
    Traceback (most recent call last):
    ...
    blendlab.checks.InputError: [sheet] takes only known keys, got 'width'; use width_mm
    """
    for key in given:
        if key not in allowed:
            refuse(f"{where} takes only known keys", key, f"use {_listed(allowed)}")
    missing = [key for key in needed if key not in given]
    if missing:
        refuse(
            f"{where} needs {', '.join(needed)}",
            Raw(f"no {' and no '.join(missing)}"),
            f"add {', '.join(missing)}",
        )


def keep(part: object, **values: object) -> None:
    """Store checked values in a frozen dataclass during its `__post_init__`."""
    for name, value in values.items():
        object.__setattr__(part, name, value)


def _listed(words: Collection[str]) -> str:
    """Join the choices: ``a, b or c``."""
    *most, last = words
    return f"{', '.join(most)} or {last}" if most else last


def _finite(value: object) -> float | None:
    """Return the value as a finite float, or None where it is not one."""
    if isinstance(value, bool) or not isinstance(value, Real):
        return None
    try:
        found = float(value)
    except OverflowError:  # a whole number beyond the range of a float
        return None
    return found if math.isfinite(found) else None
