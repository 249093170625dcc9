"""Folding along straight lines, or cutting and stacking: panels of the slab laid on top of each other.

Along the folded direction t runs from -a to a. Where lines miss their places the pile is not equally deep
everywhere: it has columns of k layers side by side. They are levelled to the m layers of an even fold by
stretching each column by k/m along t and compressing it as much in depth, which keeps volume.
"""

from collections.abc import Sequence

from ..recipe.moves import Panel, columns
from ..runtime.compiled import compiled
from .step_tables import Column, Pile, Ply


def levelled(pile: Sequence[Panel], depth: int, first_ply: int) -> tuple[list[Column], list[Ply]]:
    """Level a pile of panels.

    Parameters
    ----------
    pile : sequence of Panel
        The lowest first.
    depth : int
        m, the layers of an even fold.
    first_ply : int
        Where in the programme's table the plies will stand.

    Returns
    -------
    tuple of list
        Columns and plies; places of the levelled pile run from -a/m to a/m.
    """
    start = -0.5 * sum(panel.end_mm - panel.start_mm for panel in pile) / depth
    found: list[Column] = []
    plies: list[Ply] = []
    for low, high, here in columns(pile):
        slope = depth / len(here)
        end = start + (high - low) / slope
        offset = low - slope * start
        found.append(Column(start, end, slope, offset, 1 / slope, len(here), first_ply + len(plies)))
        plies += [Ply(float(panel.way), panel.shift_mm) for panel in here]
        start = end
    return found, plies


@compiled(allocates=False)
def panels_back(u: float, z: float, h: float, pile: Pile) -> tuple[float, float, int]:
    """Unfold a point of the levelled pile.

    Parameters
    ----------
    u, z : float
        Position in the pile, mm.
    h : float
        Height of the slab before the fold, mm.
    pile : Pile
        As from `levelled`.

    Returns
    -------
    tuple
        t and z in the slab before, and which ply of the pile it is in.
    """
    n = 0
    while n + 1 < len(pile.columns) and u > pile.columns[n + 1].start:
        n += 1
    column = pile.columns[n]
    z *= column.flat
    i = min(int(z / h), column.plies - 1)
    ply = pile.plies[column.first_ply + i]
    z -= i * h
    t = ply.way * (column.slope * u + column.offset - ply.shift)
    return t, (z if ply.way > 0.0 else h - z), column.first_ply + i
