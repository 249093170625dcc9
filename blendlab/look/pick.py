"""Which fold count gives a wanted look, and how far chance could move it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from .. import checks
from ..units import percent, some
from .contrast import JUST_SEEN
from .ladder import Levels, Rung, levels_of
from .looks import LOOKS, MIDDLES

ONE_COLOUR = (
    "These flakes are one colour to the eye: the sheet looks the same however often it is folded, "
    "so there is no look to choose."
)


@dataclass(frozen=True)
class Pick:
    """The fold count whose look comes nearest a wanted one.

    Attributes
    ----------
    why : str
        The reason, one sentence.
    sure : str
        How many further sheets of the same recipe agree, one sentence; empty where none were tried.
    matters : bool
        Whether the count makes a difference: flakes of one colour look the same at every count.
    """

    folds: int
    why: str
    sure: str = ""
    matters: bool = True

    @property
    def advice(self) -> str:
        """What to do and why, for the maker."""
        if not self.matters:
            return self.why
        times = {0: "Do not fold", 1: "Fold once", 2: "Fold twice"}.get(
            self.folds, f"Fold {self.folds} times"
        )
        return f"{times}. {self.why}"


def best_count(wanted: str, counts: Sequence[int], seen: Levels, unfolded: float) -> Pick:
    """Name the fold count whose look comes nearest a wanted one.

    Parameters
    ----------
    wanted : str
        One of `LOOKS`.
    counts : sequence of int
        Fold counts, rising.
    seen : Levels
        What is seen at each.
    unfolded : float
        Contrast of the unfolded pieces, dE*ab, whether or not 0 is among the counts.

    Returns
    -------
    Pick
        The count and the reason. For pieces that is the first count; for even it is the first from which
        contrast stays below the just noticeable difference. For the looks between it is the count at which
        the sheet is as lively as in the middle of the look, and the unfolded pieces are none of them
        where there is another count.
    """
    levels = seen.contrast
    if max(unfolded, levels.max()) < JUST_SEEN:
        return Pick(counts[0], ONE_COLOUR, matters=False)
    if wanted == "pieces":
        return Pick(
            counts[0], f"The fewest folds break the pieces least, at a contrast of {levels[0]:.0f} dE*ab."
        )
    if wanted == "even":
        return _first_even(counts, seen)
    first = int(counts[0] == 0 and len(levels) > 1)
    best = first + int(np.abs(seen.lively[first:] - MIDDLES[wanted]).argmin())
    part = f"The sheet is {percent(seen.lively[best])} as lively as the whole pieces"
    return Pick(counts[best], f"{part}, nearest to the {percent(MIDDLES[wanted])} we call {wanted}.")


def _first_even(counts: Sequence[int], seen: Levels) -> Pick:
    """Name the first fold count from which contrast stays below the just noticeable difference."""
    still_seen = np.flatnonzero(seen.contrast >= JUST_SEEN)
    first = int(still_seen[-1]) + 1 if still_seen.size else 0
    if first == len(counts):
        left = f"After {some(counts[-1], 'fold')} there is still a contrast of {seen.contrast[-1]:.1f} dE*ab"
        return Pick(counts[-1], f"{left}, above the {JUST_SEEN} an eye just sees.")
    return Pick(counts[first], f"From here on contrast stays below the {JUST_SEEN} dE*ab an eye just sees.")


@dataclass(frozen=True)
class Advice:
    """The fold counts that sheets of a mix ask for, for a wanted look.

    Attributes
    ----------
    counts : tuple of int
        One where most sheets agree, else the first and the last of a range; empty where folds do not matter.
    text : str
        What to do and why, in a sentence or two.
    """

    counts: tuple[int, ...]
    text: str


def _picks(wanted: str, steps: Sequence[Rung], others: Sequence[Levels]) -> list[Pick]:
    """Pick a count for the recipe's own sheet, and for each further one."""
    checks.one_of("the look wanted", wanted, LOOKS)
    counts, unfolded = [step.folds for step in steps], steps[0].unfolded
    sheets = (levels_of(steps), *others)
    return [best_count(wanted, counts, seen.calmest, unfolded) for seen in sheets]


def advise(wanted: str, steps: Sequence[Rung], others: Sequence[Levels]) -> Advice:
    """Advise on a fold count where most sheets of a mix agree, else on a range.

    Chance may leave a streak that comes up again; a look is then that of the calmest sheet since the
    liveliest, so that its word only falls from there on. InputError where `wanted` is not one of `LOOKS`.

    Parameters
    ----------
    wanted : str
        One of `LOOKS`.
    others : sequence of Levels
        Of further sheets, as from `levels_of_replicate`.
    """
    picks = _picks(wanted, steps, others)
    if not picks[0].matters:
        return Advice((), picks[0].why)
    votes = sorted(pick.folds for pick in picks)
    common = max(votes, key=votes.count)
    if len(votes) == 1:
        return Advice((common,), picks[0].advice)
    if 2 * votes.count(common) > len(votes):
        agreed = f"{votes.count(common)} of {len(votes)} sheets of this mix look {wanted} then."
        return Advice((common,), Pick(common, agreed).advice)
    low, high = votes[len(votes) // 4], votes[-1 - len(votes) // 4]
    span = f"{low} or {high}" if high == low + 1 else f"{low} to {high}"
    asked = f"Sheets of this mix differ: of {len(votes)}, they look {wanted} after {votes[0]} to {votes[-1]}."
    return Advice((low, high), f"Try {span} folds. {asked}")


def choose(wanted: str, steps: Sequence[Rung], others: Sequence[Levels]) -> Pick:
    """Name the fold count for a wanted look, and how many further sheets agree; arguments as for `advise`."""
    chosen, *further = _picks(wanted, steps, others)
    if not further:
        return chosen
    counts = [pick.folds for pick in further]
    agree, low, high = counts.count(chosen.folds), min(counts), max(counts)
    if agree == len(counts):
        return replace(chosen, sure=f"All {len(counts)} further sheets tried agree.")
    span = f"{low}" if low == high else f"{low} to {high}"
    return replace(chosen, sure=f"Of {len(counts)} further sheets tried {agree} agree; they ask for {span}.")
