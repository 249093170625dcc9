"""Rows of the log read one by one, so that an unreadable one does not block the others."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, TypeVar

Row = tuple[Any, ...]
Found = TypeVar("Found")

# What a row may raise: a refusal (a ValueError too), broken JSON or dates, values of another type.
_UNREADABLE = (ValueError, TypeError, KeyError, OverflowError, RecursionError)


@dataclass(frozen=True)
class Unreadable:
    """A row that this version cannot read; it stays in the log and is exported as it is.

    Attributes
    ----------
    what : str
        The sheet or the flake, as the maker knows it.
    """

    what: str
    reason: str
    row: Row


def read_each(
    rows: Iterable[Row], read: Callable[[Row], Found], name: Callable[[Row], str]
) -> tuple[tuple[Found, ...], tuple[Unreadable, ...]]:
    """Read rows one by one.

    Parameters
    ----------
    read : callable
        Reads one, or raises.
    name : callable
        Names one that cannot be read.

    Returns
    -------
    tuple of tuple and tuple of Unreadable
        What could be read, and the rest, each in order.
    """
    found, rest = [], []
    for row in rows:
        try:
            found.append(read(row))
        except _UNREADABLE as error:
            rest.append(Unreadable(name(row), reason(error), row))
    return tuple(found), tuple(rest)


def reason(error: Exception) -> str:
    """Say in a few words what is wrong with a row."""
    if isinstance(error, RecursionError):
        return "it is nested too deep"
    return " ".join(str(error).split()) or type(error).__name__
