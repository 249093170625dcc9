"""A value that is known within a range."""

from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True)
class Range:
    """A value with the range it is published, or was learnt, to lie in.

    Attributes
    ----------
    low, usual, high : float
        In the unit that the entry's name says.
    """

    low: float
    usual: float
    high: float

    def __iter__(self) -> Iterator[float]:
        """Yield low, usual and high."""
        return iter((self.low, self.usual, self.high))
