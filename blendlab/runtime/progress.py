"""Long work says how far it is to whoever listens; who listens may end it by raising."""

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Item = TypeVar("Item")
ProgressCallback = Callable[[float], None]


def no_progress(part: float) -> None:
    """Take what part is done, 0 to 1, and let the work go on."""


def within(on_progress: ProgressCallback, start: float, part: float) -> ProgressCallback:
    """Return whom a part of the work tells: who hears of all of it.

    Parameters
    ----------
    on_progress : callable
        Hears of the whole.
    start, part : float
        Where the part begins and how much of the whole it is, 0 to 1.
    """
    return lambda done: on_progress(start + part * done)


def each(items: Sequence[Item], on_progress: ProgressCallback) -> Iterator[Item]:
    """Yield items, telling before each what part of them is done.

    Parameters
    ----------
    items : sequence
        Each about as much work as the others.
    on_progress : callable
        Takes a part, 0 to 1.

    Yields
    ------
    item
        In order.
    """
    for number, item in enumerate(items):
        on_progress(number / len(items))
        yield item
