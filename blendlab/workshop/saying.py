"""The programme as one says it: times rounded as a maker reads a clock, each step a line."""

from collections.abc import Iterator

from .batch import Batch
from .heat import Step
from .published import heat


def span(seconds: float) -> str:
    """A time as one says it.

    Examples
    --------
    >>> span(30), span(90), span(163), span(5240)
    ('30 s', '1½ min', '2½ min', '1 h 25 min')
    """
    if seconds < 58:
        return f"{5 * round(seconds / 5)} s"
    if seconds < 5 * 60:
        halves = round(seconds / 30)
        return f"{halves // 2}{'½' if halves % 2 else ''} min"
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    hours, fives = divmod(round(minutes / 5), 12)
    return f"{hours} h {5 * fives} min" if fives else f"{hours} h"


def programme(batch: Batch) -> tuple[str, ...]:
    """Return the steps of one sheet in order, each with the time on a clock started with it.

    With several loads the steps before the joining are told for one of them; each load starts its own clock.
    """
    folds = (cycle.fold for cycle in batch.recipe.folding.cycles(batch.recipe.sheet.size_mm))
    steps = batch.times["usual"].steps
    return tuple(f"{_clock(step.start_s)}  {_said(step, batch, folds)}" for step in steps)


def _said(step: Step, batch: Batch, folds: Iterator[str]) -> str:
    """One step in words; a fold takes the next move's name."""
    for_time = span(step.seconds)
    if step.kind == "fold":
        return f"Open, fold ({next(folds)}) and close again within {for_time}"
    if step.kind == "join":
        return f"Lay the {batch.loads} loads on each other and melt them together, {for_time}"
    if step.kind == "cool":
        until = f"{batch.bench.release_c:g} °C right through"
        board = heat()["board"][batch.bench.board]["name"]
        return f"Clamp flat ({board} on both sides) until {until}, {for_time}"
    words = {
        "melt": "Melt the flakes between the plates",
        "turn": "Turn over and press on",
        "soak": "Leave it under the plates to soak",
        "press": "Press",
    }
    return f"{words[step.kind]}, {for_time}"


def _clock(seconds: float) -> str:
    """Minutes and seconds, or hours, minutes and seconds."""
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"
