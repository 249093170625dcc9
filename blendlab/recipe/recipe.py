"""A recipe and its TOML form.

A recipe says which flakes go into the press, how large and thick the hot sheet is, and how it is folded. The
classes are frozen and check themselves, so a `Recipe` that exists can be pressed. Make a changed copy with
`dataclasses.replace` or the ``with_`` methods.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .. import checks
from ..io import toml
from ..tables import read_toml
from .flake import Flake as Flake
from .flake import let_down_order
from .folding_moves import MAX_FOLDS as MAX_FOLDS
from .folding_moves import Folding as Folding
from .lay import Lay as Lay
from .lay import checked_lays, fractions, lay_from_table, relaid
from .leaves import Leaves, leaves_of, shares_of
from .moves import MOVES as MOVES
from .offcut import Beside, Offcut, checked_depth
from .slab_size import SIDES_MM, THICKNESS_MM, Size

MAX_FLAKES = 12
MAX_TOGETHER = 144  # flakes of a recipe and of all sheets that its offcuts are cut from
FINISHES = (GLOSSY := "glossy", "satin", "matte")
_NUMBERS = ("refractive_index", "reach_factor")  # of a recipe as a whole
REFRACTIVE_INDEX: float = read_toml("hdpe/hdpe.toml")["refractive_index"]["usual"]


@dataclass(frozen=True)
class Sheet:
    """The hot sheet between its liners.

    Parameters
    ----------
    length_mm, width_mm : float
        Sides of the plan, mm, 20-1000.
    thickness_mm : float
        Thickness while hot, at the spacers, mm, 1-100.
    finish : str
        One of `FINISHES`, as the liner leaves the face: a rougher face scatters more light itself.
    """

    length_mm: float = 200.0
    width_mm: float = 200.0
    thickness_mm: float = 6.0
    finish: str = field(default=GLOSSY, metadata={toml.OMITTED: True})

    def __post_init__(self) -> None:
        """Check every value and keep it in its plain form."""
        fit = "give the size that the press plates can hold, in millimetres"
        spacer = "give the height of the spacers, in millimetres"
        checks.keep(
            self,
            length_mm=checks.number("length_mm of the sheet", self.length_mm, *SIDES_MM, fit),
            width_mm=checks.number("width_mm of the sheet", self.width_mm, *SIDES_MM, fit),
            thickness_mm=checks.number("thickness_mm of the sheet", self.thickness_mm, *THICKNESS_MM, spacer),
            finish=checks.one_of("finish of the sheet", self.finish, FINISHES),
        )

    @property
    def size_mm(self) -> Size:
        """Length, width and thickness, mm."""
        return self.length_mm, self.width_mm, self.thickness_mm

    def resized(self, size_mm: Size) -> "Sheet":
        """Return a sheet of another size and the same finish."""
        length, width, thickness = size_mm
        return replace(self, length_mm=length, width_mm=width, thickness_mm=thickness)


@dataclass(frozen=True)
class Recipe:
    """What goes into the press and what happens to it.

    Parameters
    ----------
    name : str
        What the maker calls the sheet, at most 60 characters.
    flakes : tuple of Flake
        One to twelve kinds, each with its own name.
    refractive_index : float
        Of the plastic, 1 to 2. The higher it is, the more light the face reflects; at 1 none.
    reach_factor : float
        How many times deeper light reaches than the colours of the flakes imply, 0.2 to 5; learnt from the
        sheets of a press, else 1.
    lays : tuple of Lay
        How the charge is laid, in the order of laying; all stirred where empty.

    Examples
    --------
    >>> flakes = (Flake("white", "#f2f0e8", 150), Flake("blue", "#14409a", 50))
    >>> Recipe("Harbour tile", Sheet(), flakes).shares
    array([0.75, 0.25])
    """

    name: str
    sheet: Sheet
    flakes: tuple[Flake, ...]
    folding: Folding = field(default_factory=Folding)
    refractive_index: float = REFRACTIVE_INDEX
    reach_factor: float = 1.0
    lays: tuple[Lay, ...] = ()

    def __post_init__(self) -> None:
        """Check every value and keep it in its plain form."""
        unsure = f"leave it out for polyethylene, which has about {REFRACTIVE_INDEX}"
        checks.keep(
            self,
            name=checks.label("recipe name", self.name),
            flakes=tuple(self.flakes),
            refractive_index=checks.number("refractive_index", self.refractive_index, 1, 2, unsure),
            reach_factor=checks.number(
                "reach_factor", self.reach_factor, 0.2, 5, "leave it out unless it was learnt"
            ),
        )
        checks.whole(
            "the number of flakes in a recipe",
            len(self.flakes),
            1,
            MAX_FLAKES,
            "add a flake" if not self.flakes else "put like colours together as one flake",
        )
        seen = set()
        for flake in self.flakes:
            if flake.name in seen:
                checks.refuse("each flake needs a name of its own", flake.name, "rename one of the two")
            seen.add(flake.name)
        let_down_order(self.flakes)
        fewer = "use fewer kinds of offcuts"
        checks.whole("the number of flakes with those of offcuts", self.together, 1, MAX_TOGETHER, fewer)
        # A list of moves is checked as a whole, wherever it stops; a single move for one fold at least.
        folding = self.folding
        folding.cycles(self.sheet.size_mm, folding.most_folds if folding.moves else max(1, folding.folds))
        laid = checked_lays(self.lays, self.flakes, self.sheet.size_mm, folding.most_folds)
        checks.keep(self, lays=laid)

    @property
    def shares(self) -> NDArray[np.float64]:
        """Volume share of each flake, shape (flakes,), above 0, summing to 1.

        All flakes count as HDPE of one density, so volume is proportional to mass.
        """
        return shares_of(self.flakes)

    @property
    def leaves(self) -> Leaves:
        """The flakes of one colour that it comes down to, through all its offcuts."""
        return leaves_of(self.flakes)

    @property
    def leaf_shares(self) -> NDArray[np.float64]:
        """Volume share of each of its `leaves`, shape (leaves,)."""
        found: NDArray[np.float64] = self.shares if self.leaves.plain else self.shares @ self.leaves.parts
        return found

    def as_table(self) -> dict[str, Any]:
        """Return the recipe as TOML holds it."""
        keys = ("name", *(_NUMBERS if self.reach_factor != 1.0 else _NUMBERS[:1]))
        return {key: getattr(self, key) for key in keys} | {
            "sheet": toml.table(self.sheet),
            "flake": [toml.table(flake) for flake in self.flakes],
            **({"lay": [lay.as_table() for lay in self.lays]} if self.lays else {}),
            "folding": toml.table(self.folding),
        }

    @property
    def depth(self) -> int:
        """How deep its offcuts are cut from one another: 0 where all flakes are plain."""
        return max((flake.cut_from.depth for flake in self.flakes if flake.cut_from), default=0)

    @property
    def together(self) -> int:
        """Number of its flakes, with those of the sheets that its offcuts are cut from."""
        return len(self.flakes) + sum(
            flake.cut_from.recipe.together for flake in self.flakes if flake.cut_from
        )

    @property
    def lay_shares(self) -> NDArray[np.float64]:
        """Volume share of each flake in each lay, shape (lays, flakes); one lay where all is stirred."""
        found: NDArray[np.float64] = fractions(self.as_laid, self.flakes) * self.shares
        return found

    @property
    def as_laid(self) -> tuple[Lay, ...]:
        """The lays, one of all flakes where none is given."""
        return self.lays or (Lay(tuple(flake.name for flake in self.flakes)),)

    def with_sheet(self, **changes: Any) -> "Recipe":
        """Return a copy on another sheet: ``recipe.with_sheet(thickness_mm=8)``."""
        return self.on(replace(self.sheet, **changes))

    def on(self, sheet: Sheet, **changes: Any) -> "Recipe":
        """Return a copy on another sheet, its lays scaled to it, with any other changes."""
        lays = tuple(lay.resized(self.sheet.size_mm, sheet.size_mm) for lay in self.lays)
        return replace(self, sheet=sheet, lays=lays, **changes)

    def renamed(self, name: str, new: str) -> "Recipe":
        """Return a copy in which a flake, if there is one of that name, has another name."""
        flakes = tuple(flake.renamed(name, new) for flake in self.flakes)
        return replace(self, flakes=flakes, lays=tuple(lay.renamed(name, new) for lay in self.lays))

    def with_flakes(self, flakes: Iterable[Flake]) -> "Recipe":
        """Return a copy with other flakes; those with the same name are laid in the same parts."""
        chosen = tuple(flakes)
        return replace(self, flakes=chosen, lays=relaid(self.lays, self.flakes, chosen))

    def with_folding(self, **changes: Any) -> "Recipe":
        """Return a copy folded in another way: ``recipe.with_folding(folds=3)``."""
        return replace(self, folding=replace(self.folding, **changes))


def from_toml(text: str, beside: Beside | None = None) -> Recipe:
    """Read a recipe.

    Parameters
    ----------
    beside : callable, optional
        Finds the recipes that offcuts name. Without it they must be written in place of their names.

    Raises
    ------
    InputError
        Where the text is not TOML, a key is unknown or missing, a value breaks its rule, or a recipe that is
        named is not found.
    """
    return _from_table(toml.parse("a recipe", text), beside, 0)


def _from_table(document: object, beside: Beside | None, depth: int) -> Recipe:
    """Build a recipe, `depth` sheets down."""
    checked_depth(depth)
    needed = ("name", "sheet", "flake")
    if not isinstance(document, Mapping):
        checks.refuse("a recipe must be a table", document, "give its name, its sheet and its flakes")
    checks.keys("a recipe", document, needed, (*_NUMBERS, *needed, "lay", "folding"))
    rows, lays = document["flake"], document.get("lay", [])
    if not isinstance(rows, list):
        checks.refuse("flakes must be a list", rows, "head each flake with [[flake]]")
    if not isinstance(lays, list):
        checks.refuse("lays must be a list", lays, "head each lay with [[lay]]")
    return Recipe(
        name=document["name"],
        sheet=toml.build(
            Sheet, "[sheet]", document["sheet"], needed=("length_mm", "width_mm", "thickness_mm")
        ),
        flakes=tuple(_flake(f"[[flake]] {n}", row, beside, depth) for n, row in enumerate(rows, start=1)),
        folding=toml.build(Folding, "[folding]", document.get("folding", {})),
        lays=tuple(lay_from_table(n, table) for n, table in enumerate(lays, start=1)),
        **{key: document[key] for key in _NUMBERS if key in document},
    )


def _flake(where: str, row: object, beside: Beside | None, depth: int) -> Flake:
    """Build a flake; one that is cut from a sheet needs no colour."""
    if isinstance(row, Mapping) and "from" in row:
        cut_from = _offcut(f"from in {where}", row["from"], beside, depth)
        row = {"srgb": cut_from.srgb, **row, "from": cut_from}
    return toml.build(Flake, where, row)


def _offcut(where: str, table: object, beside: Beside | None, depth: int) -> Offcut:
    """Build an offcut, whose recipe is written out or named."""
    if not isinstance(table, Mapping):
        checks.refuse(f"{where} must be a table", table, 'write { recipe = "old.toml", folds = 5 }')
    needed = ("recipe", "folds")
    checks.keys(where, table, needed, needed)
    found = table["recipe"]
    if not isinstance(found, str):
        return Offcut(_from_table(found, beside, depth + 1), table["folds"])
    if beside is None:
        remedy = "write that recipe there in place of its file's name, as a table"
        checks.refuse("a recipe read by itself must hold those of its offcuts", found, remedy)
    checked_depth(depth + 1)
    text, there = beside(found)
    try:
        return Offcut(_from_table(toml.parse("a recipe", text), there, depth + 1), table["folds"])
    except checks.InputError as refusal:
        raise checks.InputError(f"{checks.shown(found)}: {refusal}") from None


def offcut_from_toml(text: str) -> Offcut:
    """Read an offcut with its recipe, as `offcut_to_toml` writes it; errors as of `from_toml`."""
    return _offcut("an offcut", toml.parse("an offcut", text), None, 0)


def offcut_to_toml(offcut: Offcut) -> str:
    """Write an offcut with the recipe of its sheet."""
    return toml.write(toml.table(offcut))


def to_toml(recipe: Recipe) -> str:
    """Write a recipe so that `from_toml` returns exactly the same recipe, those of its offcuts with it.

    Examples
    --------
    >>> recipe = Recipe("Tile", Sheet(), (Flake("white", "#f2f0e8", 150),))
    >>> from_toml(to_toml(recipe)) == recipe
    True
    """
    return toml.write(recipe.as_table())
