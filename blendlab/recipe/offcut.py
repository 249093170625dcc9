"""Offcuts: an older sheet, cut up, as flakes of a new one."""

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Protocol

import numpy as np

from .. import checks
from .slab_size import Size

if TYPE_CHECKING:
    from .recipe import Recipe

MAX_DEPTH = 4  # offcuts of offcuts
_OLDER = "give that sheet's own flakes as if they were new, or cut an older sheet"


class Beside(Protocol):
    """Where the recipes that a recipe names are found."""

    def __call__(self, name: str) -> tuple[str, "Beside"]:
        """Return the text of a recipe and where those that it names in turn are found.

        InputError where there is none, or it is being read already.
        """


@dataclass(frozen=True)
class Offcut:
    """What a flake was cut from.

    Parameters
    ----------
    recipe : Recipe
        Of the older sheet, which may itself hold offcuts, four deep at most.
    folds : int
        How many times it was folded, 0 to what its recipe allows.
    """

    recipe: "Recipe"
    folds: int

    def __post_init__(self) -> None:
        """Check both values."""
        from .recipe import Recipe  # which holds flakes, and these offcuts

        if not isinstance(self.recipe, Recipe):
            checks.refuse("an offcut must be cut from a recipe", self.recipe, "give the older sheet's recipe")
        folds = self.recipe.folding.checked_folds(self.folds, "folds of the sheet that offcuts are cut from")
        self.recipe.folding.cycles(self.recipe.sheet.size_mm, folds)
        checks.keep(self, folds=folds)
        checked_depth(self.depth)

    @property
    def depth(self) -> int:
        """How many sheets deep it is: 1 where the older sheet is of plain flakes."""
        return 1 + self.recipe.depth

    @cached_property
    def sheet_mm(self) -> Size:
        """Size of the older sheet, mm."""
        sheet = self.recipe.sheet
        done = self.recipe.folding.cycles(sheet.size_mm, self.folds)
        return done[-1].after_mm if done else sheet.size_mm

    @cached_property
    def srgb(self) -> str:
        """A colour that labels it, ``#rrggbb``.

        The root of the mean square of the flakes' channels, which is near their mean in light.
        """
        channels = np.array([list(bytes.fromhex(flake.srgb[1:])) for flake in self.recipe.flakes])
        red, green, blue = np.rint(np.sqrt(self.recipe.shares @ channels.astype(float) ** 2)).astype(int)
        return f"#{red:02x}{green:02x}{blue:02x}"


def checked_depth(depth: int) -> None:
    """Refuse offcuts of offcuts that are too deep."""
    if depth > MAX_DEPTH:
        rule = f"offcuts of offcuts must be at most {MAX_DEPTH} sheets deep"
        checks.refuse(rule, checks.Raw("more"), _OLDER)


def checked_offcut(of: str, found: object, size_mm: Size) -> Offcut:
    """Return what a flake was cut from.

    Parameters
    ----------
    of : str
        The flake, in the maker's words.
    size_mm : tuple of float
        How large it is cut.

    Raises
    ------
    InputError
        Where it is no offcut, or larger than its sheet.
    """
    if not isinstance(found, Offcut):
        checks.refuse(f"from {of} must be a table", found, "give the recipe of the older sheet and its folds")
    *plan, thickness = found.sheet_mm
    if any(side > most for side, most in zip(sorted(size_mm[:2]), sorted(plan), strict=True)) or (
        size_mm[2] > thickness
    ):
        size = checks.Raw(" × ".join(f"{side:g}" for side in size_mm) + " mm")
        sheet = " × ".join(f"{side:.4g}" for side in found.sheet_mm)
        remedy = "say in size_mm how large it is cut"
        checks.refuse(f"size_mm {of} must be within the {sheet} mm sheet that it is cut from", size, remedy)
    return found
