"""A value that is known within a range."""

from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True)
class Range:
    """A value with its published or learnt range, in the unit that the name of the entry gives."""

    low: float
    usual: float
    high: float

    def __iter__(self) -> Iterator[float]:
        """Yield low, usual and high."""
        return iter((self.low, self.usual, self.high))
