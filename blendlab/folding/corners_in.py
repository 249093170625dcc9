"""Folding the four corners of a square slab to its middle.

The fold lines join the middles of the sides, so the slab becomes a square half as large, two layers deep
and rotated by 45 degrees; an eighth of a turn squares it up again. The reflection of a corner in its fold
line is (x, y) -> (a - |y|, a - |x|) with the signs kept, which is its own inverse.
"""

import math

from ..runtime.compiled import compiled

EIGHTH = math.sqrt(0.5)


@compiled()
def over_the_line(x: float, y: float, a: float) -> tuple[float, float]:
    """Reflect a point in the fold line of its own corner."""
    return math.copysign(a - abs(y), x), math.copysign(a - abs(x), y)


@compiled()
def corners_back(
    x: float, y: float, z: float, a: float, h: float, side: float
) -> tuple[float, float, float, int]:
    """Unfold a point of the folded square.

    Parameters
    ----------
    x, y, z : float
        Position in the folded slab, mm: within a/sqrt(2) of the middle along each side, z in [0, 2h].
    a, h : float
        Half side and height of the slab before the fold, mm.
    side : float
        1.0 or -1.0: which way the folded slab was turned to lie square.

    Returns
    -------
    tuple
        x, y, z in the slab before; and 0 in the lower layer, 1 to 4 for the corner in the upper.
    """
    x, y = EIGHTH * (x + side * y), EIGHTH * (y - side * x)
    if z < h:
        return x, y, z, 0
    corner = 1 + (x < 0.0) + 2 * (y < 0.0)
    x, y = over_the_line(x, y, a)
    return x, y, 2.0 * h - z, corner
