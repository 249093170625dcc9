"""Where a lay goes: how early it takes each spot of the first slab.

Every place scores the spots, and the lowest are taken first until the lay is used up. Widths, heights and
areas thus follow from the volume, and what a place cannot hold goes to the spots around it.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from ..recipe.lay import SCATTER, Lay
from ..recipe.slab_size import Size

Floats = npt.NDArray[np.float64]

ROWS = {1: (1,), 2: (2,), 3: (3,), 4: (2, 2), 5: (2, 1, 2), 6: (3, 3), 7: (2, 3, 2), 8: (3, 2, 3)} | {
    9: (3, 3, 3),
    10: (3, 4, 3),
    11: (4, 3, 4),
    12: (4, 4, 4),
}  # of heaps spread evenly


class Turn(NamedTuple):
    """Which of several lays of a kind one is, and where its stripes lie.

    Attributes
    ----------
    number, of : int
        Its number among them, from 0, and how many there are.
    middle : float
        Middle of its stripe as a part of the pitch.
    """

    number: int = 0
    of: int = 1
    middle: float = 0.5


def turns(lays: Sequence[Lay], volumes: Floats) -> list[Turn]:
    """Number the lays of each kind.

    Parameters
    ----------
    lays : sequence of Lay
        In the order of laying.
    volumes : ndarray, shape (lays,)
        Parts of the slab. Stripes lie in the order of laying and have these widths, with half of the free
        room before the first and half after the last.
    """
    found = []
    for n, lay in enumerate(lays):
        like = [m for m, other in enumerate(lays) if _pattern(other) == _pattern(lay)]
        number = like.index(n)
        middle = (number + 0.5) / len(like)
        if lay.width_mm is None:
            before = volumes[like[:number]].sum() + 0.5 * (1.0 - volumes[like].sum())
            middle = float(before + 0.5 * volumes[n])
        found.append(Turn(number, len(like), middle))
    return found


def _pattern(lay: Lay) -> tuple[object, ...]:
    """Return what lays that take turns have in common."""
    return lay.place, lay.count, lay.angle_deg, lay.width_mm is None


def heap_middles(lay: Lay, size_mm: Size) -> Floats:
    """Return the middles of a lay's heaps, mm from the middle of the slab, shape (count, 2)."""
    if lay.where_mm is not None:
        return np.array(lay.where_mm)
    rows = ROWS[lay.count or 1]
    longer = int(size_mm[1] > size_mm[0])
    found = []
    for r, many in enumerate(rows):
        for n in range(many):
            along, across = (n + 0.5) / many - 0.5, (r + 0.5) / len(rows) - 0.5
            found.append((along, across) if longer == 0 else (across, along))
    middles: Floats = np.array(found) * size_mm[:2]
    return middles


def distance_mm(lay: Lay, turn: Turn, spots: Floats, size_mm: Size) -> Floats:
    """Return how far spots are from the middle line, the middles, the edge or the fields of a lay.

    Parameters
    ----------
    lay : Lay
        In stripes, heaps, a border or quarters.
    spots : ndarray, shape (n, 2 or 3)
        From the middle of the slab, mm.

    Returns
    -------
    ndarray, shape (n,)
        Below 0 within a field.
    """
    x, y = spots[:, 0], spots[:, 1]
    if lay.place == "border":
        rim: Floats = np.minimum(size_mm[0] / 2 - np.abs(x), size_mm[1] / 2 - np.abs(y))
        return rim
    if lay.place == "heaps":
        near = np.full(len(spots), np.inf)
        for middle in heap_middles(lay, size_mm):
            near = np.minimum(near, np.hypot(x - middle[0], y - middle[1]))
        return near
    if lay.place == "quarters":
        return _from_fields(lay.count or 2, turn, x, y, size_mm)
    across, wide = along_angle(spots, (lay.angle_deg or 0.0) + 90.0, size_mm)
    count = lay.count or 1
    place = across * count - turn.middle
    off: Floats = np.abs(place - np.clip(np.round(place), 0, count - 1)) * wide / count
    return off


def reach_mm(lay: Lay) -> float:
    """Return how far a lay of given width reaches from its middle line, middles or edge; 0 for fields."""
    return (lay.width_mm or 0.0) * (1.0 if lay.place == "border" else 0.5)


def along_angle(spots: Floats, angle_deg: float, size_mm: Size) -> tuple[Floats, float]:
    """Return how far along a direction spots are, 0 to 1 over the slab, and the slab's extent so, mm."""
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    wide = abs(size_mm[0] * c) + abs(size_mm[1] * s)
    return (spots[:, 0] * c + spots[:, 1] * s) / wide + 0.5, wide


def _from_fields(count: int, turn: Turn, x: Floats, y: Floats, size_mm: Size) -> Floats:
    """Return the distance from a lay's fields on a board, mm, below 0 within them."""
    a, b = size_mm[0] / count, size_mm[1] / count
    near = np.full(len(x), np.inf)
    for i in range(count):
        for j in range(count):
            if _field(i, j, count, turn.of) == turn.number:
                dx = np.abs(x - (i + 0.5 - count / 2) * a) - a / 2
                dy = np.abs(y - (j + 0.5 - count / 2) * b) - b / 2
                near = np.minimum(near, np.maximum(dx, dy))
    return near


def _field(i: int, j: int, count: int, of: int) -> int:
    """Return which of several lays has a field: one each of four, else in turn along both sides."""
    if count == 2 and of > 2:
        return i + 2 * j
    return (i + j) % max(of, 2)  # a single lay has every other field


def score(
    lay: Lay,
    turn: Turn,
    spots: Floats,
    size_mm: Size,
    chance: Floats,
    thick_mm: float = 1.0,
    from_below: bool = False,
) -> Floats:
    """Return scores of spots: a lay takes the lowest first.

    Parameters
    ----------
    lay, turn, size_mm
        As for `distance_mm`.
    spots : ndarray, shape (n, 3)
        From the middle of the slab and its lower face, mm.
    chance : ndarray, shape (n,)
        A random number from 0 to 1 for each; all spots of a flake have the same.
    thick_mm : float
        Thickness of a flake, by which stacked chips are spaced.
    from_below : bool
        Whether a lay of given width lies under the others rather than over them.

    Notes
    -----
    A gradient of the part s of the slab takes a spot at u from its thick side with the chance
    (1 - u)**((1 - s)/s), which is 1 at that side, 0 at the other and s on average; the exponent at which a
    spot is just taken orders the spots, so the volume decides on it.
    """
    if lay.place == "throughout":
        return chance
    depth = spots[:, 2] / size_mm[2]
    if lay.place == "layer":
        return depth
    if lay.place == SCATTER:
        return chance + np.floor((size_mm[2] - spots[:, 2]) / thick_mm)
    if lay.place == "gradient":
        far, _ = along_angle(spots, lay.angle_deg or 0.0, size_mm)
        left = np.clip(1.0 - far, 1e-9, 1.0 - 1e-9)
        found: Floats = -np.log(np.clip(chance, 1e-12, 1.0 - 1e-12)) / np.log(left)
        return found
    away = distance_mm(lay, turn, spots, size_mm)
    if lay.width_mm is None:
        return away
    beyond = away - reach_mm(lay)
    return np.where(beyond <= 0.0, depth if from_below else 1.0 - depth, 1.0 + beyond)
