"""Rows of named numbers as arrays that compiled code reads by field name."""

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple, TypeVar, cast, get_type_hints

import numpy as np

Row = TypeVar("Row", bound=NamedTuple)


def records(row: type[Row], values: Iterable[Row] = ()) -> Sequence[Row]:
    """Return rows as one record array.

    Parameters
    ----------
    row : type
        A NamedTuple whose fields are all annotated int or float.

    Returns
    -------
    recarray, shape (n,)
        Each field int64 or float64. To the type checker it is a sequence of rows, as compiled code sees it.

    Examples
    --------
    >>> class Pin(NamedTuple):
    ...     number: int
    ...     depth_mm: float
    >>> float(records(Pin, [Pin(1, 2.5), Pin(2, 4.0)])[1].depth_mm)
    4.0
    """
    fields = [(name, np.int64 if kind is int else np.float64) for name, kind in get_type_hints(row).items()]
    table: Any = np.array([tuple(value) for value in values], np.dtype(fields, align=True))
    return cast(Sequence[Row], table.view(np.recarray))


def joined(row: type[Row], tables: Iterable[Sequence[Row]]) -> Sequence[Row]:
    """Return several record arrays of one kind as one, empty where there are none."""
    parts: Any = [records(row), *tables]
    return cast(Sequence[Row], np.concatenate(parts).view(np.recarray))


def column(table: Sequence[Any], field: str) -> Any:
    """Return one field of every row, an array that shares memory with the table."""
    return cast(Any, table)[field]
