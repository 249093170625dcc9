"""A clock for the press: which step runs, how long it has left, and what really happened.

Only the times at which steps began are kept, so the clock is right after a reload or a closed laptop.
"""

import json
from dataclasses import dataclass, replace
from math import isfinite

from .. import checks
from .batch_plan import Batch
from .wording import clock_text, duration, programme, rounded_s

MAX_STEPS = 2000


@dataclass(frozen=True)
class TimedStep:
    """One step that the clock runs, and the time the plan allows it, s."""

    text: str
    seconds: float


@dataclass(frozen=True)
class PressClock:
    """Steps, and when each of them began, in seconds since 1970.

    Once the last step has ended, one more time: its end.
    """

    steps: tuple[TimedStep, ...]
    began_s: tuple[float, ...] = ()

    @property
    def running(self) -> bool:
        """Whether a step runs now."""
        return 0 < len(self.began_s) <= len(self.steps)

    @property
    def done(self) -> bool:
        """Whether the last step has ended."""
        return len(self.began_s) > len(self.steps)

    @property
    def step(self) -> TimedStep | None:
        """The step that runs, None before the first and after the last."""
        return self.steps[len(self.began_s) - 1] if self.running else None

    @property
    def coming(self) -> TimedStep | None:
        """The next step: the first one before the start, None after the last."""
        return self.steps[len(self.began_s)] if len(self.began_s) < len(self.steps) else None

    def left_s(self, now_s: float) -> float:
        """Time the running step has left, s; below 0 once it is over, 0 where none runs."""
        return 0.0 if self.step is None else self.began_s[-1] + self.step.seconds - now_s

    def advanced(self, now_s: float) -> "PressClock":
        """Return the clock with the next step begun, or the last one ended."""
        return self if self.done else replace(self, began_s=(*self.began_s, now_s))

    def set_back(self) -> "PressClock":
        """Return the clock as it was before the last press of a button."""
        return replace(self, began_s=self.began_s[:-1])

    def happened(self) -> tuple[str, ...]:
        """Return a line for each step that has ended, with the time it took."""
        ends = zip(self.steps, self.began_s, self.began_s[1:], strict=False)
        return tuple(
            f"{clock_text(began - self.began_s[0])}  {step.text}; took {duration(ended - began)}"
            for step, began, ended in ends
        )

    def to_text(self) -> str:
        """Return the clock as JSON."""
        steps = [[step.text, step.seconds] for step in self.steps]
        return json.dumps({"steps": steps, "began_s": self.began_s})

    @classmethod
    def from_text(cls, text: str) -> "PressClock":
        """Return the clock that `to_text` wrote; InputError where it is not such a record."""
        try:
            kept = json.loads(text)
            steps = tuple(TimedStep(str(words), float(seconds)) for words, seconds in kept["steps"])
            began = tuple(float(s) for s in kept["began_s"])
        except (ValueError, TypeError, KeyError, OverflowError, RecursionError):
            checks.refuse("a kept clock must be whole", checks.Raw("something else"), "start it again")
        finite = all(map(isfinite, (*began, *(step.seconds for step in steps))))
        forward = list(began) == sorted(began) and len(began) <= len(steps) + 1
        if not finite or not forward or len(steps) > MAX_STEPS:
            checks.refuse("a kept clock must run forward", checks.Raw("something else"), "start it again")
        return cls(steps, began)


def press_clock(batch: Batch) -> PressClock:
    """Return a clock for one tile of a batch, not yet started; every load goes through its own steps."""
    planned = batch.times["usual"].steps
    lines = [line.split("  ", 1)[1] for line in programme(batch)]
    steps = [TimedStep(text, rounded_s(step.seconds)) for text, step in zip(lines, planned, strict=True)]
    if batch.loads == 1:
        return PressClock(tuple(steps))
    joining = next(n for n, step in enumerate(planned) if step.kind == "join")
    loads = [
        replace(step, text=f"Load {load}: {step.text}")
        for load in range(1, batch.loads + 1)
        for step in steps[:joining]
    ]
    return PressClock((*loads, *steps[joining:]))
