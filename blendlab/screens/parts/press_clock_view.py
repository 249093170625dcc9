"""The clock for the press: large digits, what comes next, a sound when a step is over."""

import io
import time
import wave
from functools import cache
from html import escape

import numpy as np
import streamlit as st

from ... import checks
from ...workshop.batch_plan import Batch
from ...workshop.press_clock import PressClock, press_clock
from ...workshop.wording import clock_text
from . import autosave, session
from .style import plain

PAGE = "press clock"  # by which the kept clock is known
_CSS = """
<style>
.digits {font-size: clamp(4.5rem, 20vw, 9rem); font-weight: 600; line-height: 1.05;
  font-variant-numeric: tabular-nums;}
</style>
"""


def show(batch: Batch) -> None:
    """Show the clock of the steps that run, else offer to start those of a batch.

    A clock that was started keeps its own steps even if the plan changes; a page opened later shows it
    running.
    """
    st.subheader("Clock")
    _find()
    _ticking(press_clock(batch))


def started() -> bool:
    """Tell whether a clock was started and not put away, in this session or an earlier one."""
    _find()
    clock = session.CLOCK.get()
    return clock is not None and bool(clock.began_s)


def happened(batch: Batch) -> tuple[str, ...]:
    """Return what the clock saw of a batch's steps; empty where it ran others, or none to their end."""
    clock = session.CLOCK.get()
    if clock is None or clock.steps != press_clock(batch).steps:
        return ()
    return clock.happened()


def put_away() -> None:
    """Forget the clock."""
    _keep(None)


def _find() -> None:
    """Take up the clock that was kept, at the start of a session."""
    if session.CLOCK.is_set():
        return
    kept = autosave.load(PAGE)
    if kept is None:
        session.saved(PAGE).put("")  # so that the first start is kept as well
    try:
        session.CLOCK.put(PressClock.from_text(kept) if kept else None)
    except checks.InputError:  # another version's
        session.CLOCK.put(None)


def _keep(clock: PressClock | None) -> None:
    session.CLOCK.put(clock)
    autosave.save(PAGE, "" if clock is None else clock.to_text())


@st.fragment(run_every=1.0)
def _ticking(offered: PressClock) -> None:
    """The clock, redrawn each second from the time its step began."""
    kept = session.CLOCK.get()
    clock, now_s = offered if kept is None else kept, time.time()
    _face(clock, now_s)
    with st.container(horizontal=True):
        if not clock.done:
            word = "Start" if not clock.began_s else "Next step" if clock.coming else "Done"
            st.button(word, type="primary", on_click=_advance, args=(clock,), key="clock next")
        if clock.began_s:
            st.button("One step back", on_click=_keep, args=(clock.set_back(),), key="clock back")
            st.button("Put the clock away", on_click=_keep, args=(None,), key="clock away")


def _advance(clock: PressClock) -> None:
    _keep(clock.advanced(time.time()))


def _face(clock: PressClock, now_s: float) -> None:
    """Digits and words."""
    if clock.step is None:
        st.write(
            "All steps are done. Logged below, the sheet keeps what happened."
            if clock.done
            else "Not started."
        )
    else:
        left = clock.left_s(now_s)
        digits = clock_text(abs(left))
        over = "" if left >= 0 else " over"
        st.html(f'{_CSS}<div class="digits" role="timer">{digits}{escape(over)}</div>')
        st.markdown(f"**{plain(clock.step.text)}**")
        if left <= 0:  # however late: a phone that slept rings as it wakes
            st.audio(_beep(), format="audio/wav", autoplay=True)  # once, as the player appears
    if clock.coming is not None:
        st.caption(f"Next: {plain(clock.coming.text)}")


@cache
def _beep() -> bytes:
    """Three short tones of 880 Hz as a WAV."""
    rate = 16000
    t = np.arange(rate) / rate
    tone = 0.6 * np.sin(2 * np.pi * 880 * t) * (np.floor(t * 6) % 2 == 0)
    made = io.BytesIO()
    with wave.open(made, "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(rate)
        sound.writeframes((32767 * tone).astype("<i2").tobytes())
    return made.getvalue()
