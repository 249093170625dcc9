"""Long work says how far it is to whoever listens; who listens may end it by raising."""

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Item = TypeVar("Item")
Told = Callable[[float], None]


def nobody(part: float) -> None:
    """Take what part is done, 0 to 1, and let the work go on."""


def each(items: Sequence[Item], told: Told) -> Iterator[Item]:
    """Yield items, telling before each what part of them is done.

    Parameters
    ----------
    items : sequence
        Each about as much work as the others.
    told : callable
        Takes a part, 0 to 1.

    Yields
    ------
    item
        In order.
    """
    for number, item in enumerate(items):
        told(number / len(items))
        yield item
