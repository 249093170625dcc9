"""Offcuts in a charge: from a point of a piece back into the sheet that it was cut from, sheet after sheet.

A piece is a small rigid copy of the older sheet around a random place of it, turned at random about the
thickness. Where flakes are irregular and reach beyond the older sheet's faces or edges, it is mirrored there.
Places are drawn so that all pieces together hold the older sheet's flakes in its shares: there are two for
each piece, and the one is taken that brings the sum nearer.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from math import log

import numpy as np
import numpy.typing as npt

from ..recipe.leaves import Leaves
from ..recipe.offcut import Offcut
from ..recipe.recipe import Recipe
from ..recipe.slab_size import Size
from .charge import Charge, lay_charge
from .cuts import Cuts, drawn_cuts
from .islands import pieces_mm
from .programme import Programme, draw_programme
from .scatter import strewings
from .strewn_pieces import StrewnPieces, strewn_pieces
from .trace import follow_back

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

PROBES = 250_000  # points of a charge that measure what its pieces hold
ROOT = 1.2207440846057596  # the real root of g**4 = g + 1
SHEETS = 16  # older sheets that are kept for the next picture


@dataclass(frozen=True, eq=False)
class Laid:
    """A charge with the sheets that its offcuts are cut from.

    Attributes
    ----------
    leaves : Leaves
        The flakes of one colour that it comes down to.
    cuts : Cuts
        Of its pieces; none where no flake is an offcut.
    sheets : tuple of OldSheet or None
        What each kind of flake is cut from.
    strewn : tuple of StrewnPieces
        Pieces among the chips strewn before later presses.
    """

    charge: Charge
    leaves: Leaves
    cuts: Cuts
    sheets: "tuple[OldSheet | None, ...]"
    strewn: tuple[StrewnPieces, ...] = ()

    def leaves_at(self, points_mm: Floats) -> Integers:
        """Return which leaf is at points of the first slab, shape (n,); points as for `Charge.kinds_at`."""
        kinds = self.charge.kinds_at(points_mm)
        found = np.array([columns[0] for columns in self.leaves.columns])[kinds]
        if self.leaves.plain:
            return found
        pieces = self.charge.pieces.ravel()[self.charge.cells_at(points_mm)]
        stored = points_mm[:, 2] < -0.5 * self.charge.height_mm
        pieces[stored] = -1
        for chips in self.strewn:
            own = np.flatnonzero(stored & (kinds == chips.kind))
            inside, chip = chips.pieces_at(points_mm[own])
            old = sheet_of(self, chips.kind).leaves_at(chips.into_old(points_mm[own[inside]], chip))
            found[own[inside]] = self.leaves.columns[chips.kind][old]
        for kind, sheet in enumerate(self.sheets):
            own = np.flatnonzero((kinds == kind) & (pieces >= 0))
            if sheet is not None and own.size:
                old = sheet.leaves_at(self.cuts.into_old(points_mm[own], pieces[own]))
                found[own] = self.leaves.columns[kind][old]
        return found


def sheet_of(laid: Laid, kind: int) -> "OldSheet":
    """Return the sheet that a kind, an offcut, is cut from."""
    sheet = laid.sheets[kind]
    assert sheet is not None
    return sheet


@dataclass(frozen=True, eq=False)
class OldSheet:
    """A folded sheet that offcuts are cut from."""

    laid: Laid
    programme: Programme
    folds: int

    @property
    def size_mm(self) -> Size:
        """Length, width and height."""
        return self.programme.sizes_mm[self.folds]

    def leaves_at(self, points_mm: Floats) -> Integers:
        """Return which leaf is at points of the sheet, shape (n,), given as for `follow_back`."""
        return self.laid.leaves_at(follow_back(points_mm, self.programme, self.folds))

    def layers_per_mm(self) -> float:
        """Flakes stacked in a mm of depth, those in offcuts as well."""
        return self.programme.thinning(self.folds) * layers_per_mm(self.laid)


def layers_per_mm(laid: Laid) -> float:
    """Flakes stacked in a mm of a charge's depth, those in offcuts as well."""
    inside = (sheet.layers_per_mm() for sheet in laid.sheets if sheet is not None)
    return max(float(laid.charge.cells_per_mm[2]), *inside, 0.0)


def chances(recipe: Recipe, replicate: int = 0) -> list[np.random.Generator]:
    """Return the generators of a sheet's charge and of its programme.

    Parameters
    ----------
    replicate : int
        0 for the recipe's own sheet; other numbers give further sheets, as if the recipe were pressed again.
    """
    return list(np.random.default_rng([recipe.folding.seed, replicate]).spawn(2))


@lru_cache(maxsize=SHEETS)
def old_sheet(offcut: Offcut) -> OldSheet:
    """Draw a sheet that offcuts are cut from, as its own recipe draws it."""
    recipe, folds = offcut.recipe, offcut.folds
    charge_rng, programme_rng = chances(recipe)
    programme = draw_programme(recipe.folding, recipe.sheet, folds, programme_rng, strewings(recipe))
    strain = log(programme.thinning(folds)) if folds else 0.0
    return OldSheet(lay(recipe, charge_rng, strain, programme), programme, folds)


def lay(
    recipe: Recipe, rng: np.random.Generator, strain: float = 0.0, programme: Programme | None = None
) -> Laid:
    """Fill the first slab with a recipe's flakes, and cut its offcuts.

    Parameters
    ----------
    rng, strain
        As for `lay_charge`.
    programme : Programme, optional
        Its chips that are offcuts are cut too.
    """
    charge = lay_charge(recipe, rng, strain=strain)
    sheets = tuple(old_sheet(flake.cut_from) if flake.cut_from else None for flake in recipe.flakes)
    kinds = _kinds_of_pieces(charge)
    sizes = np.array([flake.size_mm for flake in recipe.flakes])
    thicker = pieces_mm(recipe, strain)[:, 2] / sizes[:, 2]
    olds = np.array([sheet.size_mm if sheet else (1.0, 1.0, 1.0) for sheet in sheets])
    first, second = (
        drawn_cuts(kinds, charge.middles_mm, sizes[kinds], thicker[kinds], olds[kinds], rng) for _ in range(2)
    )
    strewn: tuple[StrewnPieces, ...] = ()
    if programme is not None:
        sheets_mm = [None if sheet is None else sheet.size_mm for sheet in sheets]
        strewn = strewn_pieces(programme.tables, sizes, sheets_mm, rng)
    laid = Laid(charge, recipe.leaves, first, sheets, strewn)
    return laid if laid.leaves.plain else replace(laid, cuts=_nearer_shares(laid, second, rng))


def _kinds_of_pieces(charge: Charge) -> Integers:
    """Return the kind of each piece, shape (pieces,)."""
    kinds = np.zeros(len(charge.middles_mm), np.int64)
    if kinds.size:
        inside = charge.pieces >= 0
        kinds[charge.pieces[inside]] = charge.labels[inside]
    return kinds


def _nearer_shares(laid: Laid, others: Cuts, rng: np.random.Generator) -> Cuts:
    """Choose one of two cuts for each piece, so that those of a kind hold its sheet's leaves by share."""
    points, pieces, volume = _probes(laid.charge)
    count, kinds = len(laid.leaves.flakes), laid.cuts.kinds

    def held(cuts: Cuts) -> Floats:
        leaves = replace(laid, cuts=cuts).leaves_at(points)
        cells = np.bincount(pieces * count + leaves, minlength=len(kinds) * count)
        return np.asarray(volume * cells.reshape(-1, count))

    one, other = held(laid.cuts), held(others)
    taken = np.zeros(len(kinds), bool)
    for kind, sheet in enumerate(laid.sheets):
        if sheet is not None:
            own = rng.permutation(np.flatnonzero(kinds == kind))
            wanted = one[own].sum() * laid.leaves.parts[kind]
            taken[own] = _swaps(one[own].sum(axis=0) - wanted, other[own] - one[own])
    spots, turns = (
        np.where(taken[:, None], new, old)
        for old, new in ((laid.cuts.spots_mm, others.spots_mm), (laid.cuts.turns, others.turns))
    )
    return laid.cuts._replace(spots_mm=spots, turns=turns)


def _probes(charge: Charge) -> tuple[Floats, Integers, float]:
    """Return evenly spread points in the pieces of a charge, their pieces, and the volume of each.

    No two are at one height, as layers are flat: multiples of the powers of 1/g without their whole parts, g
    the real root of g**4 = g + 1 (Roberts 2018, from memory).
    """
    spread = (0.5 + np.arange(PROBES)[:, None] / ROOT ** np.arange(1, 4)) % 1.0
    points = (spread - [0.5, 0.5, 0.0]) * np.array(charge.size_mm)
    pieces = charge.pieces.ravel()[charge.cells_at(points)]
    inside = pieces >= 0
    return points[inside], pieces[inside].astype(np.int64), 1 / PROBES


def _swaps(off: Floats, changes: Floats) -> npt.NDArray[np.bool_]:
    """Choose changes, shape (n, leaves), one after the other, each of which brings a sum nearer to 0."""
    taken = np.zeros(len(changes), bool)
    for n, change in enumerate(changes):
        moved = off + change
        if moved @ moved < off @ off:
            off, taken[n] = moved, True
    return taken
