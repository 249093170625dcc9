"""Whose turn it is on the machine's cores, where several threads have loops that take all of them.

One loop runs at a time, because not every threading layer of Numba allows two at once. What a maker waits for
goes before what only refines it. Refinements run a few at a time: one that has the cores to itself for a
while finishes sooner than one that shares them, and none finishes later.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from threading import Condition

AT_ONCE = 2  # background jobs: while the first does something else than a loop, the second uses the cores

_patient = ContextVar("patient", default=False)
_changed = Condition()
_queue: list[object] = []  # background jobs, in the order they were asked for
_busy = False
_urgent = 0  # how many foreground loops wait


@contextmanager
def in_the_background() -> Iterator[None]:
    """Wait for earlier background jobs, then let all others go first where cores are asked for."""
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
    """Wait for the cores and hold them; not reentrant."""
    global _busy, _urgent
    urgent = not _patient.get()
    with _changed:
        _urgent += urgent
        try:
            _changed.wait_for(lambda: not _busy and (urgent or not _urgent))
        finally:
            _urgent -= urgent
        _busy = True
    try:
        yield
    finally:
        with _changed:
            _busy = False
            _changed.notify_all()
