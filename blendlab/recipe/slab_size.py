"""The size of the slab before and after each fold and press.

Each move that folds is followed by a press down to the spacers. Volume is kept throughout, so the height of
the spacers determines the plan.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from .. import checks
from .moves import EQUAL, move_named
from .moves import Size as Size

SIDES_MM = (20.0, 1000.0)  # shortest and longest side of a slab's plan
THICKNESS_MM = (1.0, 100.0)  # thinnest and thickest slab, and lowest and highest spacers


@dataclass(frozen=True)
class Cycle:
    """One fold and the press that follows it.

    Attributes
    ----------
    fold : str
        Name of a move in `MOVES`.
    twist_deg : float
        How far one end of a rolled log is turned against the other.
    axis : int
        Side that is folded: 0 the length, 1 the width.
    flips : tuple of bool
        Whether the slab is turned over before the fold, and after the press.
    before_mm, folded_mm, after_mm : tuple of float
        Length, width and height of the slab before, folded, and pressed.
    """

    fold: str
    twist_deg: float
    axis: int
    flips: tuple[bool, bool]
    before_mm: Size
    folded_mm: Size
    after_mm: Size

    @property
    def thinning(self) -> float:
        """How many times thinner the folded slab is pressed, at least 1."""
        return self.folded_mm[2] / self.after_mm[2]

    @property
    def layers(self) -> float:
        """Layers in the height of the folded slab; for a roll its turns, which is the mean over the plan."""
        return move_named(self.fold).layers(self.before_mm, self.axis)


def cycles(moves: Sequence[str], spacers_mm: Sequence[float], size_mm: Size) -> tuple[Cycle, ...]:
    """Work out the slab's sizes through a programme.

    InputError where a slab cannot be folded so, or spacers are higher than the folded slab.

    Parameters
    ----------
    moves : sequence of str
        Moves in their plain form. The first fold is across the longer side; each `turn` changes sides.
    spacers_mm : sequence of float
        Height of the spacers at each press; the last one applies to further presses.
    size_mm : tuple of float
        Length, width and height of the first slab.

    Returns
    -------
    tuple of Cycle
        One for each press. A flip after the last press belongs to it.

    Notes
    -----
    A pressed slab has the proportions of the first one, as far as spreading alone can reach them. This is a
    simplification: a free edge spreads with the flow under it, and the maker trims or guides it to the plan.
    """
    found: list[Cycle] = []
    axis, flipped, size = int(size_mm[1] > size_mm[0]), False, size_mm
    for move in moves:
        if move == "turn":
            axis = 1 - axis
        elif move == "flip":
            flipped = not flipped
        else:
            name, _, angle = move.partition(":")
            spacer = spacers_mm[min(len(found), len(spacers_mm) - 1)]
            folded = move_named(name).folded(size, axis)
            after = _pressed(folded, spacer, size_mm, len(found) + 1)
            found.append(Cycle(name, float(angle or 0), axis, (flipped, False), size, folded, after))
            size, flipped = after, False
    if found and flipped:
        found[-1] = replace(found[-1], flips=(found[-1].flips[0], True))
    return tuple(found)


def _pressed(folded: Size, spacer_mm: float, first: Size, press: int) -> Size:
    """Size after a press, in the first slab's proportions as far as spreading reaches them."""
    length, width, height = folded
    if spacer_mm > height * (1 + EQUAL):
        checks.refuse(
            f"the spacers of press {press} must not be higher than the folded slab's {height:.4g} mm",
            spacer_mm,
            "choose lower spacers there, or fold more before",
        )
    grown = math.sqrt(first[2] / spacer_mm)
    wanted = first[0] * grown, first[1] * grown
    area = first[0] * first[1] * first[2] / spacer_mm
    if wanted[0] < length:
        wanted = length, area / length
    elif wanted[1] < width:
        wanted = area / width, width
    if min(wanted) < SIDES_MM[0] or max(wanted) > SIDES_MM[1]:
        checks.refuse(
            f"the slab must be {SIDES_MM[0]:g} to {SIDES_MM[1]:g} mm long and wide after press {press}",
            checks.Raw(f"{wanted[0]:.4g} x {wanted[1]:.4g} mm"),
            f"choose {'lower' if min(wanted) < SIDES_MM[0] else 'higher'} spacers there",
        )
    return wanted[0], wanted[1], spacer_mm
