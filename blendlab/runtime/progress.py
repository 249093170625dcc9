"""Progress of long work, reported to a callback, which may end the work by raising."""

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Item = TypeVar("Item")
ProgressCallback = Callable[[float], None]  # takes the part done, 0 to 1


def no_progress(part: float) -> None:
    """Ignore the progress."""


def within(on_progress: ProgressCallback, start: float, part: float) -> ProgressCallback:
    """Return a callback for part of the work that reports to the callback for the whole.

    Parameters
    ----------
    start, part : float
        Where the part begins and what fraction of the whole it is, 0 to 1.
    """
    return lambda done: on_progress(start + part * done)


def each(items: Sequence[Item], on_progress: ProgressCallback) -> Iterator[Item]:
    """Yield items; before each, report what fraction of them is done.

    Parameters
    ----------
    items : sequence
        Each takes about as long as the others.
    """
    for number, item in enumerate(items):
        on_progress(number / len(items))
        yield item
