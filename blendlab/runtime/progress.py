"""Progress of long work, reported to a callback, which may end the work by raising."""

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Item = TypeVar("Item")
ProgressCallback = Callable[[float], None]  # takes the part done, 0 to 1


def no_progress(part: float) -> None:
    """Ignore the progress."""


def within(on_progress: ProgressCallback, start: float, part: float) -> ProgressCallback:
    """Return a callback for a part of the work from `start` on, which reports to that for the whole."""
    return lambda done: on_progress(start + part * done)


def each(items: Sequence[Item], on_progress: ProgressCallback) -> Iterator[Item]:
    """Yield items that take about equally long; before each, report what fraction of them is done."""
    for number, item in enumerate(items):
        on_progress(number / len(items))
        yield item
