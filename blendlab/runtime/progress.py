"""Long work says how far it is to whoever listens; who listens may end it by raising."""

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Item = TypeVar("Item")
Told = Callable[[float], None]


def nobody(part: float) -> None:
    """Take what part is done, 0 to 1, and let the work go on."""


def within(told: Told, start: float, part: float) -> Told:
    """Return whom a part of the work tells: who hears of all of it.

    Parameters
    ----------
    told : callable
        Hears of the whole.
    start, part : float
        Where the part begins and how much of the whole it is, 0 to 1.
    """
    return lambda done: told(start + part * done)


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
