"""Scheduling of the machine's cores among threads whose loops use all of them.

One loop runs at a time, because not every threading layer of Numba allows two at once. Work that a maker
waits for goes before work that only refines a picture. Refinements run a few at a time: a job with the cores
to itself finishes sooner than one that shares them, and the others finish no later.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from threading import Condition

AT_ONCE = 2  # background jobs: the second uses the cores while the first is between loops

_patient = ContextVar("patient", default=False)
_changed = Condition()
_queue: list[object] = []  # background jobs, in order of arrival
_busy = False
_urgent = 0  # foreground loops waiting


@contextmanager
def in_the_background() -> Iterator[None]:
    """Wait for earlier background jobs, then let foreground loops have the cores first."""
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
