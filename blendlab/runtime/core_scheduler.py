"""Whose turn it is on the machine's cores, where several threads have loops that take all of them.

One loop runs at a time, for not every threading layer of Numba's bears two at once. What a maker waits for
goes before what only makes it finer; and that is done for a few at a time, since whoever has the cores for a
while is served sooner than who shares them all the while, and nobody later.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from threading import Condition

AT_ONCE = 2  # works in the background: what the first does without a loop, the second uses the cores for

_patient = ContextVar("patient", default=False)
_changed = Condition()
_queue: list[object] = []  # works in the background, in the order asked
_busy = False
_pressing = 0  # how many wait that are not patient


@contextmanager
def in_the_background() -> Iterator[None]:
    """Wait for earlier works in the background, then let all else go first where cores are asked for."""
    if _patient.get():
        yield
        return
    place = object()
    before = _patient.set(True)
    try:
        with _changed:
            _queue.append(place)
            _changed.wait_for(lambda: place in _queue[:AT_ONCE])
        yield
    finally:
        _patient.reset(before)
        with _changed:
            _queue.remove(place)
            _changed.notify_all()


@contextmanager
def taken() -> Iterator[None]:
    """Wait for the cores and have them for oneself; not to be asked for again meanwhile."""
    global _busy, _pressing
    pressing = not _patient.get()
    with _changed:
        _pressing += pressing
        try:
            _changed.wait_for(lambda: not _busy and (pressing or not _pressing))
        finally:
            _pressing -= pressing
        _busy = True
    try:
        yield
    finally:
        with _changed:
            _busy = False
            _changed.notify_all()
