"""One move of the hand as a point map, both ways: which fold a step's row asks for.

Every move keeps volume. Along the folded side the slab runs from -a to a; a step's side (1 or -1) says
from which end the hand began.
"""

from ..runtime.compiled import compiled
from .corners_in import corners_back, corners_forward
from .panels import TABLE, panels_back, panels_forward
from .roll import roll_back, roll_forward

# Columns of a programme's step table: what is done, along which axis (0 length, 1 width), from which end;
# half sides and height before, folded and pressed; the press; the smear; what the move itself needs.
KIND, AXIS, SIDE, A0, B0, H0, A_FOLDED, B_FOLDED, H_FOLDED, A1, B1, H1 = range(12)
STRAIN, P_X, P_Y, FIRST, LAST, OWN = range(12, 18)
WIDTH = OWN + TABLE
TWIST, PHASE = OWN, OWN + 1  # a roll's own: radians for each mm along the log, radians

FLIP, PANELS, CORNERS, ROLL = range(4)


@compiled()
def unfold(x, y, z, step):  # type: ignore[no-untyped-def]
    """Undo a fold.

    Parameters
    ----------
    x, y, z : float
        Position in the folded slab, mm.
    step : ndarray, shape (WIDTH,)
        The step's row.

    Returns
    -------
    tuple of float
        x, y, z in the slab before; and how many times more depth was passed there than is here, at most and
        at least: it depends on how a way up through the fold bends later.
    """
    if step[KIND] == CORNERS:
        x, y, z = corners_back(x, y, z, step[A0], step[H0], step[SIDE])
        return x, y, z, 1.0, 1.0
    crossed = step[AXIS] == 1.0
    t, w = (y, x) if crossed else (x, y)
    t *= step[SIDE]
    if step[KIND] == PANELS:
        t, z, most = panels_back(t, z, step[H0], step[OWN:])
        least = most
    else:
        a = step[B0] if crossed else step[A0]
        t, z, most, least = roll_back(t, w, z, a, step[H0], step[H_FOLDED], step[TWIST], step[PHASE])
    t *= step[SIDE]
    if crossed:
        return w, t, z, most, least
    return t, w, z, most, least


@compiled()
def fold(x, y, z, step):  # type: ignore[no-untyped-def]
    """Fold a point of the slab: the inverse of `unfold`. Returns x, y, z in mm."""
    if step[KIND] == CORNERS:
        return corners_forward(x, y, z, step[A0], step[H0], step[SIDE])
    crossed = step[AXIS] == 1.0
    t, w = (y, x) if crossed else (x, y)
    t *= step[SIDE]
    if step[KIND] == PANELS:
        t, z = panels_forward(t, z, step[H0], step[OWN:])
    else:
        a = step[B0] if crossed else step[A0]
        t, z = roll_forward(t, w, z, a, step[H0], step[H_FOLDED], step[TWIST], step[PHASE])
    t *= step[SIDE]
    if crossed:
        return w, t, z
    return t, w, z
