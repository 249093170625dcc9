"""A value that is known within a range."""

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
