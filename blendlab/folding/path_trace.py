"""Follow light paths back to the first slab as lines, not as points: smooth pieces between tears of the map.

The map back through a fold, a cut or a rolling edge is piecewise smooth, with tears between the pieces. A
path is kept as pieces, each given by its start, middle and end, with a parabola through them. Where these
three come from different pieces of the map, the path is cut at the tear, which is found by bisection along
the parabola; where the middle is too far from the chord for a parabola to be trusted, the piece is halved. A
path thus needs few points, however many folds it crosses, and no part of it between its cuts is missed.
"""

from typing import NamedTuple, cast

import numpy as np
import numpy.typing as npt

from ..runtime.compiled import compiled
from .scatter import chip_kind
from .smear import Smear, smear_block
from .step_tables import FLIP, SCATTER, Pile, Step, StepTables
from .trace import depth_in_store, flip, pile_of, smear_of, undo

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

# Errors add up over a path's pieces, so each is bounded by what it does to the whole path.
DOUBT = 0.004  # flakes by which a piece may stray from its parabola, times its part of the path
PATCH_MM = 20.0  # size of what bends a path: the patches of a smear, the flow at an edge
SHORTEST = 1 / 16  # part of a path that is not cut again: the longer part of such a piece stands for it
CRUMB = 0.004  # part of a path that is joined to its neighbour rather than followed by itself
MAX_CUTS = 24  # of one path
MAX_TRIMS = 2  # of one piece in one step: where tears crowd, its middle stands for it
HALVINGS = 4  # steps of bisection to a tear
UNKNOWN = -(1 << 62)  # number of a piece of the map that has not been looked up
# Numbers as Numba passes variables: it compiles a function once more for each plain number it is called with.
ZERO = cast(int, np.int64(0))
START, MIDDLE, END, BEFORE, AFTER, TRIED = cast("list[int]", list(np.arange(6)))  # images; three about a cut


class Pieces(NamedTuple):
    """Pieces of light paths, with room for more.

    Attributes
    ----------
    points : ndarray, shape (room, 3, 3)
        Start, middle and end of each, mm.
    spans : ndarray, shape (room, 2)
        Start and end of each on its path, 0 to 1.
    owners : ndarray, shape (room,)
        Path that each belongs to.
    stands_for : ndarray, shape (room,)
        How many times its own length each stands for where tears crowd; 1 where every tear was cut.
    cuts_left : ndarray, shape (paths,)
        Cuts left to each path.
    unsmeared : ndarray, shape (room, 3, 3)
        The points before the smear of the step being undone.
    images : ndarray, shape (room, 6, 3)
        Where the points, and those on either side of a cut, come from, mm.
    codes : ndarray, shape (room, 3)
        Piece of the map that each point comes from, or `UNKNOWN`.
    chips : ndarray, shape (room,)
        Kind of the chip that each is in, or -1.
    stored : ndarray, shape (room, 3, 3)
        Start, middle and end of each in the store of chips, mm, where it is in one.
    middles : ndarray, shape (2, 3)
        Scratch: the middles of two halves.
    scratch : ndarray, shape (2, 3 * room)
        That of `smear_block`.
    """

    points: Floats
    spans: Floats
    owners: Integers
    stands_for: Floats
    cuts_left: Integers
    unsmeared: Floats
    images: Floats
    codes: Integers
    chips: Integers
    stored: Floats
    middles: Floats
    scratch: Integers


@compiled()
def room_for(paths: int, pieces: int) -> Pieces:
    """Allocate room for a number of paths, the pieces they begin as at most, and all their cuts."""
    room = pieces + paths * MAX_CUTS
    return Pieces(
        np.empty((room, 3, 3)),
        np.empty((room, 2)),
        np.empty(room, np.int64),
        np.empty(room),
        np.empty(paths, np.int64),
        np.empty((room, 3, 3)),
        np.empty((room, 6, 3)),
        np.empty((room, 3), np.int64),
        np.empty(room, np.int64),
        np.empty((room, 3, 3)),
        np.empty((2, 3)),
        np.empty((2, 3 * room), np.int64),
    )


@compiled(allocates=False)
def on_parabola(points: Floats, n: int, t: float, axis: int) -> float:
    """Return a coordinate of piece n at t in [0, 1]."""
    a, b, c = points[n, 0, axis], points[n, 1, axis], points[n, 2, axis]
    place: float = a + t * ((4.0 * b - 3.0 * a - c) + t * (2.0 * a + 2.0 * c - 4.0 * b))
    return place


@compiled(allocates=False)
def _keep_part(points: Floats, n: int, low: float, high: float, to: int) -> None:
    """Make piece `to`, which may be n itself, the part of piece n from low to high."""
    for axis in range(3):
        a = on_parabola(points, n, low, axis)
        b = on_parabola(points, n, 0.5 * (low + high), axis)
        c = on_parabola(points, n, high, axis)
        points[to, 0, axis], points[to, 1, axis], points[to, 2, axis] = a, b, c


@compiled(allocates=False, forceinline=True)  # else a call takes a tenth of a path's time
def _look_up(pieces: Pieces, n: int, t: float, image: int, step: Step, pile: Pile) -> int:
    """Fill in the image of a point of piece n; return the piece of the map it comes from."""
    x = min(max(on_parabola(pieces.points, n, t, 0), -step.a1), step.a1)  # a parabola may swing out
    y = min(max(on_parabola(pieces.points, n, t, 1), -step.b1), step.b1)
    s = min(max(on_parabola(pieces.points, n, t, 2), -1.0), 1.0)
    x, y, z, code = undo(x, y, s, step, pile)
    pieces.images[n, image, 0], pieces.images[n, image, 1], pieces.images[n, image, 2] = x, y, z
    return code


@compiled(allocates=False)
def _copy_image(pieces: Pieces, to_piece: int, to: int, n: int, image: int) -> None:
    for axis in range(3):
        pieces.images[to_piece, to, axis] = pieces.images[n, image, axis]


@compiled(allocates=False)
def _find_tear(pieces: Pieces, n: int, first: int, step: Step, pile: Pile) -> tuple[float, float, int]:
    """Find a tear between two neighbouring points of piece n, from the first on.

    Returns the last point found before it, the first one beyond, and the piece of the map that this one comes
    from; their images are `BEFORE` and `AFTER`.
    """
    code, after = pieces.codes[n, first], pieces.codes[n, first + 1]
    low, high = 0.5 * first, 0.5 * first + 0.5
    _copy_image(pieces, n, BEFORE, n, first)
    _copy_image(pieces, n, AFTER, n, first + 1)
    for _ in range(HALVINGS):
        t = 0.5 * (low + high)
        found = _look_up(pieces, n, t, TRIED, step, pile)
        if found == code:
            low = t
            _copy_image(pieces, n, BEFORE, n, TRIED)
        else:
            high, after = t, found
            _copy_image(pieces, n, AFTER, n, TRIED)
    return low, high, after


@compiled(allocates=False)
def _doubt(pieces: Pieces, n: int, scale: tuple[float, float, float]) -> float:
    """Estimate how far piece n may stray from its parabola by the end of the way back, in cells, squared.

    The part of a curve's bend that its parabola misses is about the ratio of its length to the size of the
    patch that bends it. An error in depth grows as the steps still to be undone stretch the depth.
    """
    bend, long = 0.0, 0.0
    for axis in range(3):
        start, middle, end = (
            pieces.images[n, START, axis],
            pieces.images[n, MIDDLE, axis],
            pieces.images[n, END, axis],
        )
        bend += ((middle - 0.5 * (start + end)) * scale[axis]) ** 2
        long += (end - start) ** 2
    return bend * min(long * (1.0 / PATCH_MM**2), 1.0)


@compiled(allocates=False)
def _cut(pieces: Pieces, n: int, low: float, high: float, to: int) -> None:
    """Make piece `to` the part of piece n from low to high."""
    _keep_part(pieces.unsmeared, n, low, high, to)
    _keep_part(pieces.points, n, low, high, to)


@compiled(allocates=False)
def _smear_middles(pieces: Pieces, one: int, other: int, step: Step, patches: Smear) -> None:
    """Take the middles of two halves, side by side, through the smear, which may have bent them as well."""
    middles = pieces.middles
    for axis in range(3):
        middles[0, axis] = pieces.unsmeared[one, MIDDLE, axis]
        middles[1, axis] = pieces.unsmeared[other, MIDDLE, axis]
    smear_block(middles, step.a1, step.b1, patches, -1.0, pieces.scratch)
    for axis in range(3):
        pieces.points[one, MIDDLE, axis] = middles[0, axis]
        pieces.points[other, MIDDLE, axis] = middles[1, axis]


@compiled(allocates=False)
def _share(pieces: Pieces, n: int, low: float, high: float, after: int, count: int) -> None:
    """Give the part of piece n beyond a cut to piece number `count`, with the images of its ends."""
    spans = pieces.spans
    cut = spans[n, 0] + 0.5 * (low + high) * (spans[n, 1] - spans[n, 0])
    spans[count, 0], spans[count, 1] = cut, spans[n, 1]
    spans[n, 1] = cut
    pieces.owners[count], pieces.stands_for[count] = pieces.owners[n], pieces.stands_for[n]
    pieces.cuts_left[pieces.owners[n]] -= 1
    _copy_image(pieces, count, START, n, AFTER)
    _copy_image(pieces, count, END, n, END)
    codes = pieces.codes
    codes[count, START], codes[count, MIDDLE], codes[count, END] = after, UNKNOWN, codes[n, END]


@compiled(allocates=False)
def _pass_step(
    pieces: Pieces, count: int, step: Step, patches: Smear, pile: Pile, scale: tuple[float, float, float]
) -> int:
    """Undo one press and fold for all pieces, cutting them where the map tears; return how many there are."""
    points, codes = pieces.points, pieces.codes
    codes[:count] = UNKNOWN
    n = trims = ZERO
    while n < count:
        for point in range(3):
            if codes[n, point] == UNKNOWN:
                codes[n, point] = _look_up(pieces, n, 0.5 * point, point, step, pile)
        part = pieces.spans[n, 1] - pieces.spans[n, 0]
        divides = pieces.cuts_left[pieces.owners[n]] > 0 and part > SHORTEST
        low, high, before, after = -1.0, -1.0, codes[n, START], codes[n, MIDDLE]
        if codes[n, START] != codes[n, MIDDLE]:
            low, high, after = _find_tear(pieces, n, START, step, pile)
        elif codes[n, MIDDLE] != codes[n, END]:
            low, high, after = _find_tear(pieces, n, MIDDLE, step, pile)
        elif divides and _doubt(pieces, n, scale) * part * part > DOUBT * DOUBT:
            low = high = 0.5
            _copy_image(pieces, n, BEFORE, n, MIDDLE)
            _copy_image(pieces, n, AFTER, n, MIDDLE)
        if low < 0.0 or trims == MAX_TRIMS:
            whole = low < 0.0
            if not whole:
                pieces.stands_for[n] /= CRUMB
            for point in range(3):
                for axis in range(3):
                    points[n, point, axis] = pieces.images[n, point if whole else MIDDLE, axis]
            n, trims = n + 1, 0
            continue
        keeps_start = low + high > 1.0
        if high * part >= CRUMB and (1.0 - low) * part >= CRUMB and divides:
            _share(pieces, n, low, high, after, count)
            _cut(pieces, n, high, 1.0, count)
            count += 1
            keeps_start = True
        else:
            trims += 1
            pieces.stands_for[n] /= max(low if keeps_start else 1.0 - high, CRUMB)
        if keeps_start:
            _cut(pieces, n, 0.0, low, n)
            if low == high:
                _smear_middles(pieces, n, count - 1, step, patches)
            _copy_image(pieces, n, END, n, BEFORE)
            codes[n, END] = before
        else:
            _cut(pieces, n, high, 1.0, n)
            _copy_image(pieces, n, START, n, AFTER)
            codes[n, START] = after
        codes[n, MIDDLE] = UNKNOWN
    return count


@compiled(allocates=False)
def _set_aside(pieces: Pieces, count: int, step: Step, tables: StepTables) -> None:
    """Note which pieces are in chips and where, and shrink each of these to a point, which is never cut."""
    for n in range(count):
        kind = chip_kind(pieces.codes[n, MIDDLE])
        if kind >= 0 and pieces.chips[n] < 0:
            pieces.chips[n] = kind
            for point in range(3):
                x, y, z = pieces.points[n, point]
                pieces.stored[n, point, 0], pieces.stored[n, point, 1] = x, y
                pieces.stored[n, point, 2] = depth_in_store(z, kind, step, tables)
            for axis in range(3):
                pieces.points[n, START, axis] = pieces.points[n, MIDDLE, axis]
                pieces.points[n, END, axis] = pieces.points[n, MIDDLE, axis]


@compiled()
def paths_back(pieces: Pieces, count: int, tables: StepTables, per_mm: tuple[float, float, float]) -> int:
    """Follow light paths back through all steps, in place.

    Parameters
    ----------
    pieces : Pieces
        The paths, as one piece each or several.
    per_mm : tuple of float
        Cells of the charge per mm along the three directions.

    Returns
    -------
    int
        Number of pieces at the end. Those of one path still cover it, from 0 to 1.
    """
    pieces.chips[:] = -1
    stretch = 1.0
    for step in tables.steps:
        if step.kind != FLIP:
            stretch *= step.h_folded / step.h1
    for k in range(len(tables.steps) - 1, -1, -1):
        step = tables.steps[k]
        places = pieces.points[:count].reshape(-1, 3)
        if step.kind == FLIP:
            flip(places, step)
            continue
        places[:, 2] = 2.0 * places[:, 2] / step.h1 - 1.0
        pieces.unsmeared[:count] = pieces.points[:count]
        patches = smear_of(step, tables)
        smear_block(places, step.a1, step.b1, patches, -1.0, pieces.scratch)
        stretch *= step.h1 / step.h_folded
        scale = per_mm[0], per_mm[1], per_mm[2] * stretch
        count = _pass_step(pieces, count, step, patches, pile_of(step, tables), scale)
        if step.kind == SCATTER:
            _set_aside(pieces, count, step, tables)
    for n in range(count):
        if pieces.chips[n] >= 0:
            pieces.points[n] = pieces.stored[n]
    return count
