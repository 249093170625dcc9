"""Whose turn it is on the machine's cores, where several threads have loops that take all of them.

One loop runs at a time: not every threading layer of Numba's bears two at once, and who is served whole is
served sooner than who shares. What somebody waits for goes before what only makes it finer.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from threading import Condition

_patient = ContextVar("patient", default=False)
_changed = Condition()
_busy = False
_pressing = 0  # how many wait that are not patient


@contextmanager
def in_the_background() -> Iterator[None]:
    """Let other threads go first whenever work done meanwhile asks for the cores."""
    before = _patient.set(True)
    try:
        yield
    finally:
        _patient.reset(before)


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
