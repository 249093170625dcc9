"""How the charge is laid: which flakes go where before the first press, in the order of laying.

A lay is a few kinds of flake, stirred together, in one place. All lays together hold the recipe's grams.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, NamedTuple, NoReturn

import numpy as np
import numpy.typing as npt

from .. import checks
from .flake import Flake
from .folding_moves import MAX_FOLDS, MAX_SEED
from .slab_size import SIDES_MM, Size

MAX_LAYS = 12
SCATTER = "scatter"
EQUAL = 1e-6  # relative difference of masses that count as equal


class Place(NamedTuple):
    """A place that flakes are laid in.

    Attributes
    ----------
    words : str
        What the maker does.
    options : dict
        The numbers that a lay there takes, with their defaults; None where the grams decide.
    """

    words: str
    options: dict[str, float | None]


PLACES = {
    "throughout": Place("stirred through the whole charge", {}),
    "layer": Place("a level layer, over the layers laid before", {}),
    "stripes": Place(
        "side by side in stripes, those of several such lays in turn",
        {"count": 4, "angle_deg": 0.0, "width_mm": None},
    ),
    "heaps": Place("in round heaps", {"count": 1, "width_mm": None, "where_mm": None}),
    "border": Place("along the edges", {"width_mm": None}),
    "quarters": Place(
        "in the fields of a board, those of several such lays in turn: quarters, or a chequerboard of more",
        {"count": 2},
    ),
    "gradient": Place("thick at one side, none left at the other", {"angle_deg": 0.0}),
    SCATTER: Place("strewn over the face as chips", {"before_press": 0}),
}
COUNTS = {"stripes": (1, 40), "heaps": (1, 12), "quarters": (2, 12)}
OPTIONS = ("count", "angle_deg", "width_mm", "where_mm", "before_press")


@dataclass(frozen=True)
class Lay:
    """Some flakes of a recipe and where they are laid.

    Parameters
    ----------
    flakes : tuple of str
        Their names; they are stirred together.
    place : str
        One of `PLACES`.
    grams : tuple of (str, float), optional
        Grams of a flake of which only a part is laid here; in TOML a table. Of other flakes, all that no
        other lay takes.
    count : int, optional
        How many stripes, heaps, or fields along each side.
    angle_deg : float, optional
        Direction in which stripes run, or a gradient falls, from the length towards the width, -180 to 180.
    width_mm : float, optional
        Width of stripes, heaps or a border, mm; their depth then follows from the grams, down from the top,
        or up from below where nothing was laid before. By default they go through the whole charge, and their
        width follows.
    where_mm : tuple of (float, float), optional
        Middles of the heaps from the middle of the slab along its length and width, mm; spread evenly unless
        given.
    before_press : int, optional
        Press before which chips are strewn: 0 is the first, 1 the one after the first fold.
    seed : int, optional
        Of its own random numbers, 0 to 2³² − 1: another one stirs or strews this lay anew and no other. Those
        of the sheet unless given.

    Examples
    --------
    >>> Lay(("harbour blue",), "stripes").count
    4
    """

    flakes: tuple[str, ...]
    place: str = "throughout"
    grams: tuple[tuple[str, float], ...] | None = None
    count: int | None = None
    angle_deg: float | None = None
    width_mm: float | None = None
    where_mm: tuple[tuple[float, float], ...] | None = None
    before_press: int | None = None
    seed: int | None = None

    def __post_init__(self) -> None:
        """Check every value, keep it in its plain form, and fill in defaults."""
        checks.keep(self, place=checks.one_of("place of a lay", self.place, PLACES))
        checks.keep(self, flakes=_names(self.flakes), grams=_grams(self.grams))
        for name, _ in self.grams or ():
            if name not in self.flakes:
                checks.refuse("grams of a lay are of its own flakes", name, "list that flake in the lay")
        usual = PLACES[self.place].options
        for key in OPTIONS:
            given = getattr(self, key)
            if given is not None and key not in usual:
                takes = " and ".join(usual) or "no numbers"
                checks.refuse(f"a lay with place {self.place!r} takes {takes}", key, f"take {key} out")
            checks.keep(self, **{key: usual.get(key) if given is None else given})
        if self.place in COUNTS:
            remedy = "lay fewer or more of them"
            checks.keep(self, count=checks.whole("count of a lay", self.count, *COUNTS[self.place], remedy))
        if self.angle_deg is not None:
            remedy = "give the angle from the length, in degrees"
            checks.keep(
                self, angle_deg=checks.number("angle_deg of a lay", self.angle_deg, -180, 180, remedy)
            )
        if self.width_mm is not None:
            remedy = "give the width as laid, in millimetres, or leave it to the grams"
            width = checks.number("width_mm of a lay", self.width_mm, 1, SIDES_MM[1], remedy)
            checks.keep(self, width_mm=width)
        if self.where_mm is not None:
            checks.keep(self, where_mm=_spots(self.where_mm))
            checks.keep(self, count=len(self.where_mm or ()))
        if self.before_press is not None:
            remedy = "0 is the first press, 1 the one after the first fold"
            press = checks.whole("before_press of a lay", self.before_press, 0, MAX_FOLDS, remedy)
            checks.keep(self, before_press=press)
        if self.seed is not None:
            remedy = "take any whole number in that range, or leave it out"
            checks.keep(self, seed=checks.whole("seed of a lay", self.seed, 0, MAX_SEED, remedy))

    def chances(self, sheet: np.random.Generator) -> np.random.Generator:
        """Return its own source of random numbers, that of the sheet where it has none."""
        return sheet if self.seed is None else np.random.default_rng(self.seed)

    @property
    def is_late(self) -> bool:
        """Whether it is strewn on a slab that has been pressed before."""
        return bool(self.before_press)

    def as_table(self) -> dict[str, Any]:
        """Return its values by key as TOML takes them."""
        values = {each.name: getattr(self, each.name) for each in fields(self)}
        if self.where_mm is not None:
            del values["count"]
        if self.grams is not None:
            values["grams"] = dict(self.grams)
        return {key: value for key, value in values.items() if value is not None}

    def renamed(self, name: str, new: str) -> "Lay":
        """Return the lay with a flake of another name."""
        flakes = tuple(new if one == name else one for one in self.flakes)
        grams = self.grams and tuple((new if one == name else one, g) for one, g in self.grams)
        return replace(self, flakes=flakes, grams=grams)

    def resized(self, before_mm: Size, after_mm: Size) -> "Lay":
        """Return the lay scaled to a slab with another plan."""
        along, across = (after_mm[axis] / before_mm[axis] for axis in (0, 1))
        width = None if self.width_mm is None else self.width_mm * math.sqrt(along * across)
        where = self.where_mm and tuple((x * along, y * across) for x, y in self.where_mm)
        return replace(self, width_mm=width, where_mm=where)


def lay_from_table(n: int, table: object) -> Lay:
    """Build lay number n, from 1, from its TOML table."""
    where = f"[[lay]] {n}"
    if not isinstance(table, Mapping):
        checks.refuse(f"{where} must be a table", table, "head it with [[lay]]")
    checks.keys(where, table, ("flakes", "place"), [each.name for each in fields(Lay)])
    return Lay(**table)


def fractions(lays: Sequence[Lay], flakes: Sequence[Flake]) -> npt.NDArray[np.float64]:
    """Return how much of each flake is in each lay, shape (lays, flakes); each column sums to 1.

    InputError where a lay names an unknown flake, a flake is not laid, or the grams do not add up.
    """
    row = {flake.name: n for n, flake in enumerate(flakes)}
    found = np.zeros((len(lays), len(flakes)))
    for lay in lays:
        for name in (*lay.flakes, *(name for name, _ in lay.grams or ())):
            if name not in row:
                checks.refuse("a lay takes flakes of its recipe", name, "add that flake, or correct the name")
    for flake in flakes:
        found[:, row[flake.name]] = _parts(lays, flake)
    return found


def _parts(lays: Sequence[Lay], flake: Flake) -> npt.NDArray[np.float64]:
    """Return how much of a flake is in each lay, summing to 1."""
    of = f"flake {checks.shown(flake.name)}"
    mine = [n for n, lay in enumerate(lays) if flake.name in lay.flakes]
    if not mine:
        checks.refuse("all flakes must be laid", flake.name, "name it in a lay, or take it out of the recipe")
    given = {n: dict(lays[n].grams or ()).get(flake.name) for n in mine}
    part = np.zeros(len(lays))
    for n, grams in given.items():
        part[n] = 0.0 if grams is None else grams / flake.grams
    rest = [n for n, grams in given.items() if grams is None]
    if len(rest) > 1:
        where = checks.Raw(f"{of} in {len(rest)} lays without grams")
        checks.refuse("a flake in several lays needs its grams in all but one", where, "add grams to them")
    left = 1.0 - part.sum()
    if left < -EQUAL or (rest and left < EQUAL) or (not rest and left > EQUAL):
        rule = f"the grams of {of} in all lays must add up to its {flake.grams:g} g"
        all_given = checks.Raw(f"{flake.grams * part.sum():.6g} g" + (" before the last" if rest else ""))
        checks.refuse(rule, all_given, "correct the grams of a lay, or of the flake")
    for n in rest:
        part[n] = left
    parts: npt.NDArray[np.float64] = part / part.sum()
    return parts


def checked_lays(lays: object, flakes: Sequence[Flake], size_mm: Size, presses: int) -> tuple[Lay, ...]:
    """Return the lays of a recipe.

    InputError where a lay does not fit them.

    Parameters
    ----------
    flakes : sequence of Flake
        Those of the recipe.
    size_mm : tuple of float
        Of the first slab.
    presses : int
        How often it can be folded and pressed again. Whether it is so often is for `check_strewn` to say: a
        sheet may be looked at before its chips are strewn.
    """
    found = tuple(lays) if isinstance(lays, tuple | list) else ()
    if not all(isinstance(lay, Lay) for lay in found):
        checks.refuse("lays must be a list of lays", lays, "head each lay with [[lay]]")
    checks.whole("the number of lays", len(found), 0, MAX_LAYS, "put flakes of one place into one lay")
    for lay in found:
        for x, y in lay.where_mm or ():
            if abs(x) > size_mm[0] / 2 or abs(y) > size_mm[1] / 2:
                slab = f"the {size_mm[0]:g} x {size_mm[1]:g} mm slab"
                spot = checks.Raw(f"{x:g}, {y:g} mm from its middle")
                checks.refuse(f"a heap must be within {slab}", spot, "move it in")
        if lay.before_press is not None and lay.before_press > presses:
            _refuse_press(lay.before_press, presses)
    if found:
        fractions(found, flakes)
        if all(lay.is_late for lay in found):
            remedy = "lay some flakes before the first press"
            checks.refuse("chips need a slab to be strewn on", checks.Raw("nothing else laid"), remedy)
    return found


def check_strewn(lays: Sequence[Lay], folds: int) -> None:
    """Refuse chips that are strewn before a press that does not happen."""
    for lay in lays:
        if lay.before_press is not None and lay.before_press > folds:
            _refuse_press(lay.before_press, folds)


def _refuse_press(before_press: int, presses: int) -> NoReturn:
    rule = f"before_press of a lay must be a press of the recipe, 0 to {presses}"
    checks.refuse(rule, before_press, "strew the chips before an earlier press, or fold more often")


def relaid(lays: Sequence[Lay], before: Sequence[Flake], after: Sequence[Flake]) -> tuple[Lay, ...]:
    """Return the lays of a recipe for other flakes: the same parts of each, new ones stirred throughout."""
    if not lays:
        return ()
    old, new = ({flake.name: flake for flake in flakes} for flakes in (before, after))
    found = []
    for lay in lays:
        grams = lay.grams and tuple(
            (name, g / old[name].grams * new[name].grams) for name, g in lay.grams if name in new
        )
        names = tuple(name for name in lay.flakes if name in new)
        if names:
            found.append(replace(lay, flakes=names, grams=grams or None))
    fresh = tuple(name for name in new if name not in old)
    return (*found, Lay(fresh)) if fresh else tuple(found)


def _names(given: object) -> tuple[str, ...]:
    """Return the names of a lay's flakes."""
    if not isinstance(given, tuple | list) or not given:
        checks.refuse("flakes of a lay must be a list of names", given, 'list them, such as ["white cap"]')
    names = tuple(checks.label("the name of a flake in a lay", name) for name in given)
    if len(set(names)) < len(names):
        checks.refuse("a lay names each flake once", checks.Raw(", ".join(names)), "take one of the two out")
    return names


def _grams(given: object) -> tuple[tuple[str, float], ...] | None:
    """Return the grams of a lay, from their table too."""
    if given is None:
        return None
    pairs = list(given.items()) if isinstance(given, Mapping) else given
    if not isinstance(pairs, tuple | list) or not all(
        isinstance(p, tuple | list) and len(p) == 2 for p in pairs
    ):
        checks.refuse("grams of a lay must be a table", given, 'write { "white cap" = 40.0 }')
    remedy = "weigh the part that is laid here"
    return tuple(
        (
            checks.label("the name of a flake in a lay", name),
            checks.positive(f"grams of {checks.shown(name)} in a lay", g, remedy),
        )
        for name, g in pairs
    )


def _spots(given: object) -> tuple[tuple[float, float], ...]:
    """Return the middles of heaps."""
    spots = given if isinstance(given, tuple | list) else ()
    if not 1 <= len(spots) <= COUNTS["heaps"][1] or not all(
        isinstance(spot, tuple | list) and len(spot) == 2 for spot in spots
    ):
        rule = f"where_mm must be a list of 1 to {COUNTS['heaps'][1]} pairs"
        checks.refuse(rule, given, "give each heap as [along the length, along the width] from the middle")
    half, remedy = SIDES_MM[1] / 2, "measure from the middle of the slab, in millimetres"
    x_y = [
        tuple(checks.number("each place in where_mm", mm, -half, half, remedy) for mm in spot)
        for spot in spots
    ]
    return tuple((x, y) for x, y in x_y)
