"""How the hot slab is folded and pressed: the moves by name, the press, the seed.

A programme is one move repeated, or a list of moves. Each move that folds is followed by a press; `flip`
turns the slab over, `turn` makes the next fold cross the last one.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Any

from .. import checks
from .moves import HANDLING, MOVES
from .slab_size import THICKNESS_MM, Cycle, Size, cycles

MAX_FOLDS = 16
USUAL_MOVE, USUAL_FOLDS = "half", 5
USUAL_DRAG, USUAL_UNEVENNESS = 0.5, 0.3
MAX_MOVES = 48  # in a list
TWIST_DEG, MAX_TWIST_DEG = 180.0, 1080.0  # where a twist gives no angle, and at most
MAX_SEED = 2**32 - 1
_DERIVED: Any = None  # follows from the other fields


@dataclass(frozen=True)
class Folding:
    """How the hot slab is folded and pressed.

    Parameters
    ----------
    move : str, optional
        The move that is repeated, with a quarter turn in between: one of `MOVES`, a twist with its angle in
        degrees as in ``twist:90``. Half by default.
    folds : int, optional
        How many times it is folded and pressed again, 0-16; with a list of moves, how many of its presses are
        done. By default five, or the whole list.
    drag : float
        Grip of the liners on the melt, from 0 (slips) to 1 (sticks).
    unevenness : float
        How far folds and presses deviate from even ones, 0-1.
    seed : int
        Seed of the random numbers in this sheet, 0 to 2³² − 1: same seed, same sheet.
    moves : tuple of str, optional
        A list of moves done in turn, in place of `move`: any of `MOVES`, each followed by a press, and
        between them ``turn`` (a quarter turn, so that the next fold crosses the last) and ``flip``.
    spacers_mm : tuple of float, optional
        Height of the spacers at each press, mm, 1-100, for slabs built up to a block or pressed out; the last
        one applies to further presses. The sheet's thickness by default. The plan follows from the volume.

    Examples
    --------
    >>> Folding(moves=("edges-in", "turn", "half", "twist:90")).folds
    3
    """

    move: str | None = None
    folds: int = _DERIVED
    drag: float = USUAL_DRAG
    unevenness: float = USUAL_UNEVENNESS
    seed: int = 7
    moves: tuple[str, ...] | None = None
    spacers_mm: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        """Check every value and keep it in its plain form."""
        grip = "choose 0 where the liners slip and 1 where they stick"
        evenness = "choose 0 for an even press and 1 for a rough one"
        any_number = "take any whole number in that range; another one gives another sheet"
        if self.moves is None:
            move = USUAL_MOVE if self.move is None else self.move
            checks.keep(self, move=checked_move("move", move, MOVES))
        else:
            checks.keep(self, moves=_moves(self.moves, self.move))
        usual = USUAL_FOLDS if self.moves is None else self.most_folds
        checks.keep(
            self,
            folds=self.checked_folds(usual if self.folds is None else self.folds),
            drag=checks.number("drag", self.drag, 0, 1, grip),
            unevenness=checks.number("unevenness", self.unevenness, 0, 1, evenness),
            seed=checks.whole("seed", self.seed, 0, MAX_SEED, any_number),
        )
        if self.spacers_mm is not None:
            checks.keep(self, spacers_mm=_spacers(self.spacers_mm, self.most_folds))

    @property
    def most_folds(self) -> int:
        """The largest fold count; with a list of moves, its presses."""
        return MAX_FOLDS if self.moves is None else _presses(self.moves)

    def checked_folds(self, folds: object, what: str = "folds") -> int:
        """Return a fold count; InputError unless it is from 0 to `most_folds`."""
        remedy = "past that many folds a sheet no longer changes to the eye"
        if self.moves is not None:
            remedy = "stop within the list of moves, or add a fold to it"
        return checks.whole(what, folds, 0, self.most_folds, remedy)

    def step_by_step(self, presses: int) -> "Folding":
        """Return the same folding as a list of moves with so many presses, or as it is if it is a list."""
        if self.moves is not None:
            return self
        moves = (str(self.move), "turn") * presses
        return replace(
            self,
            move=None,
            moves=moves[:-1],
            folds=min(self.folds, presses),
            spacers_mm=self.spacers_mm and self.spacers_mm[:presses],
        )

    def cycles(self, size_mm: Size, folds: int | None = None) -> tuple[Cycle, ...]:
        """Work out each fold and press, with the slab's size before and after.

        InputError where the slab cannot be folded or pressed so.

        Parameters
        ----------
        size_mm : tuple of float
            Length, width and height of the first slab.
        folds : int, optional
            How many, 0 to `most_folds`; `folds` of this folding unless given.

        Returns
        -------
        tuple of Cycle
            The first n do not depend on how many follow.
        """
        count = self.folds if folds is None else self.checked_folds(folds)
        moves = (str(self.move), "turn") * count if self.moves is None else _until(self.moves, count)
        return cycles(moves, self.spacers_mm or size_mm[2:], size_mm)


def checked_move(what: str, value: object, allowed: Collection[str]) -> str:
    """Return a move in its plain form, such as ``half`` or ``twist:90``.

    InputError where the name is unknown (the message lists the known ones), or the angle is not a number.

    Parameters
    ----------
    what : str
        Its place, in the maker's words.
    value : object
        What was received; only a twist takes an angle, in degrees, after a colon.
    allowed : collection of str
        Names allowed there.

    Returns
    -------
    str
        The name, for a twist with its angle.

    Examples
    --------
    >>> checked_move("move", "twist: 90", MOVES), checked_move("move", "twist", MOVES)
    ('twist:90', 'twist:180')
    """
    name, colon, angle = str(value).partition(":") if isinstance(value, str) else (value, "", "")
    move = MOVES.get(name) if isinstance(name, str) else None
    takes_angle = move is not None and move.takes_angle
    checks.one_of(what, name if colon == "" or takes_angle else value, allowed)
    if not takes_angle:
        return str(name)
    try:
        degrees: object = float(angle) if colon else TWIST_DEG
    except ValueError:
        degrees = angle
    remedy = "write the angle in degrees after a colon, such as twist:90"
    turned = checks.number(f"the angle of {what}", degrees, -MAX_TWIST_DEG, MAX_TWIST_DEG, remedy)
    return f"{name}:{turned:g}"


def _presses(moves: Sequence[str]) -> int:
    """Count the moves that fold and so are pressed."""
    return sum(move not in HANDLING for move in moves)


def _until(moves: Sequence[str], count: int) -> tuple[str, ...]:
    """Moves up to the press of that number; all moves if it is the last press."""
    if count >= _presses(moves):
        return tuple(moves)
    kept, done = 0, 0
    while done < count:
        done += moves[kept] not in HANDLING
        kept += 1
    return tuple(moves[:kept])


def _moves(given: object, move: object) -> tuple[str, ...]:
    """Return a list of moves in their plain form."""
    if move is not None:
        checks.refuse("a recipe takes either move or moves", move, "take one of them out")
    if not isinstance(given, tuple | list) or not 1 <= len(given) <= MAX_MOVES:
        remedy = 'list them in their order, such as ["edges-in", "turn", "half"]'
        checks.refuse(f"moves must be a list of 1 to {MAX_MOVES} moves", given, remedy)
    known = (*MOVES, *HANDLING)
    found = tuple(checked_move(f"move {n} of the list", m, known) for n, m in enumerate(given, 1))
    count = _presses(found)
    remedy = "turn and flip alone press nothing" if count == 0 else "take some out"
    checks.whole("the number of folds in moves", count, 1, MAX_FOLDS, remedy)
    return found


def _spacers(given: object, presses: int) -> tuple[float, ...]:
    """Return the heights of the spacers at the first presses."""
    if not isinstance(given, tuple | list) or not 1 <= len(given) <= presses:
        rule = f"spacers_mm must be a list of 1 to {presses} heights, the last one for all presses after it"
        checks.refuse(rule, given, "leave it out where all are as thick as the sheet")
    remedy = "give the height of the spacers, in millimetres"
    return tuple(checks.number(f"spacers_mm {n}", mm, *THICKNESS_MM, remedy) for n, mm in enumerate(given, 1))
