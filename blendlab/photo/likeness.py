"""From any picture to sheets like it: flakes, cut, lays, moves and folds.

The picture is taken for the face of a sheet. Its colours ask for flakes and, at every fold count, for shares
of them. Sheets of every count and cut are drawn coarsely and compared with the picture as the eye sees both;
the best are tried with other moves and laid in stripes; the best that differ are drawn in full.
"""

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from .. import checks
from ..colour.spaces import linear_from_srgb1, xyz1_from_linear
from ..look.prepared_sheet import prepare
from ..look.render import render, srgb8
from ..look.surfaces import top_face
from ..recipe.flake_list import Stocked, charge
from ..recipe.lay import Lay
from ..recipe.moves import MOVES
from ..recipe.recipe import Flake, Folding, Recipe, Sheet
from ..runtime.progress import ProgressCallback, each, no_progress, within
from ..tables import read_toml
from ..units import percent
from .appearance import MAX_SIDE_PX, Appearance, Difference, appearance, averaged, difference
from .fold_count import BRUTE_FORCE_FOLDS
from .light import Box
from .shares_for_picture import Missing, likely_flakes, missing, shares_by_count
from .shortlist import MAX_ON_HAND

Singles = npt.NDArray[np.float32]

USUAL_GRAMS = 230.0
GRAMS = (20.0, 2000.0)
THICKNESS_MM = 6.0
MAX_OBLONG = 2.5  # sides of a sheet; a longer picture is taken for one of these
MIN_PART_PX = 16
# Fold counts at which flakes are chosen as whole pieces, and as blended ones.
WHOLE, BLENDED = (0, 1, 2, 3, 4), (3, 4, 5, 6, 8, 10)
CUTS_MM = (2.0, 3.5, 7.0, 14.0)
STRIPES = (3, 8)  # of each flake, where it is laid so
SKETCH_SAMPLES = 9  # of brute force a pixel, for sheets of few folds that are only ranked
WITH_OTHER_MOVES = 2  # of the best sheets
MAX_PROPOSALS = 5  # proposals
UNLIKE = 0.15  # half the sum of differences of shares from which two mixes differ
LOOKS_UNLIKE = 3.0  # difference from which another cut, move or lay looks different; chance makes some 2
MORE_WORK = 0.5  # by which a sheet with another move or lay must be nearer than one without
TOO_FAR = 3.0  # beyond the best one's distance, where a proposal is not worth showing
_DENSITY: float = read_toml("hdpe/hdpe.toml")["density_cold_g_cm3"]["usual"]


@dataclass(frozen=True, eq=False)
class Proposal:
    """A sheet like the picture.

    Attributes
    ----------
    recipe : Recipe
        Its flakes, grams, cut, lays, moves and folds.
    seen : Appearance
        What its predicted face is to the eye.
    difference : Difference
        How far that is from the picture.
    xyz1 : ndarray of float32, shape (rows, columns, 3)
        The predicted face.
    px_per_mm : float
        Its scale.
    """

    recipe: Recipe
    seen: Appearance
    difference: Difference
    xyz1: Singles = field(repr=False)
    px_per_mm: float

    @property
    def srgb8(self) -> npt.NDArray[np.uint8]:
        """The predicted face on a screen."""
        return srgb8(self.xyz1)

    @property
    def way(self) -> str:
        """How it is folded, in a few words."""
        folds = self.recipe.folding.folds
        if not folds:
            return "not folded"
        return f"{self.recipe.folding.move}, {'once' if folds == 1 else f'{folds} times'}"

    @property
    def alike(self) -> str:
        """How near it comes, one sentence."""
        off = self.difference
        words = f"Colours are {off.palette:.0f} dE*ab off on average"
        if self.seen.is_plain:
            return f"{words}, and the sheet is even."
        size = f"features {self.seen.feature_mm:.1f} mm, {percent(off.feature)} of the picture's"
        return f"{words}, contrast is {percent(off.contrast)} of the picture's, {size}."

    def as_json(self) -> dict[str, Any]:
        """Return the proposal as the command line prints it; no lays mean a stirred charge."""
        recipe = self.recipe
        shares = zip(recipe.flakes, recipe.shares, strict=True)
        return {
            "percent": {flake.name: round(100 * float(share), 1) for flake, share in shares},
            "grams": {flake.name: flake.grams for flake in recipe.flakes},
            "size_mm": list(recipe.flakes[0].size_mm),
            "folds": recipe.folding.folds,
            "moves": [recipe.folding.move] * recipe.folding.folds,
            "lays": [lay.as_table() for lay in recipe.lays],
            "mean": self.seen.mean.as_json(),
            "contrast": round(self.seen.contrast, 2),
            "feature_mm": round(self.seen.feature_mm, 2),
            "distance": round(self.difference.total, 2),
            "alike": self.alike,
        }


@dataclass(frozen=True, eq=False)
class Likeness:
    """Sheets like a picture, and what keeps them from being more so.

    Attributes
    ----------
    picture : Appearance
        What the picture is to the eye, taken for the face of a sheet.
    xyz1 : ndarray of float32, shape (rows, columns, 3)
        The part of it that was compared, averaged down.
    proposals : tuple of Proposal
        Nearest first.
    missing : Missing or None
        The colour for which another flake would help most.
    remarks : tuple of str
        What cannot be reached, a sentence each.
    """

    picture: Appearance
    xyz1: Singles = field(repr=False)
    proposals: tuple[Proposal, ...]
    missing: Missing | None
    remarks: tuple[str, ...]

    @property
    def srgb8(self) -> npt.NDArray[np.uint8]:
        """The picture as it was compared, on a screen."""
        return srgb8(self.xyz1)

    def as_json(self) -> dict[str, Any]:
        """Return the answer as the command line prints it."""
        helps = None
        if self.missing:
            helps = {"srgb": self.missing.wanted.srgb, "percent": round(100 * self.missing.part, 1)}
        return {
            "picture": {
                "mean": self.picture.mean.as_json(),
                "contrast": round(self.picture.contrast, 2),
                "feature_mm": round(self.picture.feature_mm, 2),
            },
            "proposals": [one.as_json() for one in self.proposals],
            "would_help": helps,
            "remarks": list(self.remarks),
        }


def like(
    picture: npt.NDArray[np.uint8],
    stock: Sequence[Stocked],
    total_g: float = USUAL_GRAMS,
    part: Box | None = None,
    on_progress: ProgressCallback = no_progress,
) -> Likeness:
    """Propose sheets like a picture.

    InputError where a value breaks its rule.

    Parameters
    ----------
    picture : ndarray of uint8, shape (rows, columns, 3)
        In sRGB.
    stock : sequence of Stocked
        Flakes on hand, one to `MAX_ON_HAND`.
    total_g : float
        Mass of the sheet, g, `GRAMS`; at `THICKNESS_MM` it gives the sheet's size.
    part : tuple of float, optional
        A box of the picture: x, y, width, height in pixels; all of it if None.
    on_progress : callable
        Called with the part done, 0-1; may end the search by raising.

    Returns
    -------
    Likeness
        Same picture and flakes, same answer.
    """
    checks.whole("the number of flakes on hand", len(stock), 1, MAX_ON_HAND, "list the flakes you would use")
    total_g = checks.number("grams", total_g, *GRAMS, "press more than one sheet, or a larger one")
    xyz1 = averaged(_light(_cut_out(picture, part)))
    sheet = _sheet(total_g, xyz1.shape[1] / xyz1.shape[0])
    wanted = appearance(xyz1, max(sheet.length_mm, sheet.width_mm) / max(xyz1.shape[:2]))
    flakes = charge(stock, {one.name: 1.0 for one in stock})
    recipes = _mixes(xyz1, flakes, sheet, total_g, within(on_progress, 0.0, 0.4))
    sketched = _ranked(wanted, _cuts(recipes), within(on_progress, 0.4, 0.2))
    others = _worked_otherwise(sketched[:WITH_OTHER_MOVES])
    moved = _ranked(wanted, others, within(on_progress, 0.6, 0.2))
    best = _unlike(sorted([*sketched, *moved], key=_worth))
    drawn = [_proposal(wanted, one.recipe) for one in each(best, within(on_progress, 0.8, 0.2))]
    proposals = tuple(sorted(drawn, key=lambda one: one.difference.total))
    lacks = missing(xyz1.reshape(-1, 3).astype(np.float64), flakes, sheet)
    return Likeness(wanted, xyz1, proposals, lacks, tuple(_remarks(wanted, proposals, lacks, stock)))


def _cut_out(picture: npt.NDArray[np.uint8], part: Box | None) -> npt.NDArray[np.uint8]:
    """Return a part of a picture."""
    rows, columns = picture.shape[:2]
    x, y, wide, high = part or (0, 0, columns, rows)
    inside = x >= 0 and y >= 0 and x + wide <= columns and y + high <= rows
    if not inside or min(wide, high) < MIN_PART_PX:
        rule = f"the part must be {MIN_PART_PX} pixels a side or more, inside the picture"
        got = checks.Raw(f"{x:g},{y:g},{wide:g},{high:g} of {columns} x {rows} pixels")
        checks.refuse(rule, got, "give x, y, width and height in pixels")
    return picture[int(y) : int(y + high), int(x) : int(x + wide)]


def _light(picture: npt.NDArray[np.uint8]) -> Singles:
    """Return XYZ of sRGB pixels, averaged over blocks first where there are millions."""
    linear = linear_from_srgb1(np.arange(256) / 255).astype(np.float32)
    step = max(1, max(picture.shape[:2]) // (8 * MAX_SIDE_PX))
    rows, columns = (n // step * step for n in picture.shape[:2])
    blocks = picture[:rows, :columns].reshape(rows // step, step, columns // step, step, 3)
    small = sum(linear[blocks[:, i, :, j]] for i in range(step) for j in range(step)) / np.float32(step**2)
    return xyz1_from_linear(small).astype(np.float32)


def _sheet(total_g: float, oblong: float) -> Sheet:
    """Return the sheet of a mass whose face has about the picture's proportions."""
    area_mm2 = total_g / (1e-3 * _DENSITY * THICKNESS_MM)
    ratio = float(np.clip(oblong, 1 / MAX_OBLONG, MAX_OBLONG))
    length, width = np.sqrt(area_mm2 * ratio), np.sqrt(area_mm2 / ratio)
    return Sheet(round(float(length), 1), round(float(width), 1), THICKNESS_MM)


def _mixes(
    xyz1: Singles, flakes: tuple[Flake, ...], sheet: Sheet, total_g: float, on_progress: ProgressCallback
) -> list[Recipe]:
    """Return the mix that comes nearest in colour at every fold count."""
    pixels = xyz1.reshape(-1, 3).astype(np.float64)
    found: dict[Recipe, None] = {}
    for n, counts in enumerate((WHOLE, BLENDED)):
        some, start = likely_flakes(pixels, flakes, sheet, counts == BLENDED)
        half = within(on_progress, n / 2, 1 / 2)
        for folds, shares in shares_by_count(pixels, some, start, sheet, counts, half).items():
            used = tuple(
                replace(flake, grams=round(total_g * float(share), 1))
                for flake, share in zip(some, shares, strict=True)
                if round(total_g * share, 1) > 0
            )
            found[Recipe("like a picture", sheet, used, Folding(folds=folds))] = None
    return list(found)


def _cuts(recipes: Sequence[Recipe]) -> list[Recipe]:
    """Return mixes with flakes of every cut."""
    return [
        replace(recipe, flakes=tuple(replace(one, size_mm=(mm, mm, one.size_mm[2])) for one in recipe.flakes))
        for recipe in recipes
        for mm in CUTS_MM
    ]


def _worked_otherwise(best: Sequence[Proposal]) -> list[Recipe]:
    """Return sheets with each of the other moves where they were folded, and laid in stripes."""
    recipes = [one.recipe for one in best]
    moved = [other for recipe in recipes if recipe.folding.folds for other in _moved(recipe)]
    laid = [
        replace(recipe, lays=tuple(Lay((flake.name,), "stripes", count=count) for flake in recipe.flakes))
        for recipe in recipes
        for count in STRIPES
        if len(recipe.flakes) > 1
    ]
    return [*moved, *laid]


def _moved(recipe: Recipe) -> Iterator[Recipe]:
    """Yield a recipe with each of the other moves that its slab allows."""
    for move in MOVES:
        if move != recipe.folding.move:
            with suppress(checks.InputError):
                yield recipe.with_folding(move=move)


def _ranked(wanted: Appearance, recipes: Sequence[Recipe], on_progress: ProgressCallback) -> list[Proposal]:
    """Draw sheets coarsely; return them nearest first. A slab that cannot be folded so is left out."""
    found = []
    for recipe in each(recipes, on_progress):
        samples = SKETCH_SAMPLES if recipe.folding.folds <= BRUTE_FORCE_FOLDS else None
        with suppress(checks.InputError):
            found.append(_proposal(wanted, recipe, samples))
    return sorted(found, key=lambda one: one.difference.total)


def _proposal(wanted: Appearance, recipe: Recipe, samples: int | None = None) -> Proposal:
    """Draw a sheet and compare it with the picture."""
    folds, prepared = recipe.folding.folds, prepare(recipe)
    slab = prepared.sheet_after(folds)
    px_per_mm = MAX_SIDE_PX / max(slab.length_mm, slab.width_mm)
    xyz1 = render(top_face(slab, px_per_mm), prepared, folds, samples).xyz1
    seen = appearance(xyz1, 1 / px_per_mm)
    return Proposal(recipe, seen, difference(wanted, seen), xyz1, px_per_mm)


def _worth(one: Proposal) -> float:
    """Return the difference by which a sheet is ranked: another move or lay must come clearly nearer."""
    recipe = one.recipe
    return one.difference.total + (MORE_WORK if recipe.lays or recipe.folding.move != Folding().move else 0.0)


def _unlike(ranked: Sequence[Proposal]) -> list[Proposal]:
    """Return the nearest sheets that a maker would call different."""
    kept: list[Proposal] = []
    for one in ranked:
        near = one.difference.total <= ranked[0].difference.total + TOO_FAR
        if near and len(kept) < MAX_PROPOSALS and not any(_alike(one, other) for other in kept):
            kept.append(one)
    return kept


def _alike(one: Proposal, other: Proposal) -> bool:
    """Tell whether two sheets of about one mix differ by a fold at most, or by little that the eye sees."""
    first, second = one.recipe, other.recipe
    shares = [{f.name: s for f, s in zip(r.flakes, r.shares, strict=True)} for r in (first, second)]
    moved = sum(abs(shares[0].get(n, 0) - shares[1].get(n, 0)) for n in shares[0] | shares[1]) / 2
    if moved >= UNLIKE:
        return False
    if one.seen.is_plain and other.seen.is_plain:
        return True
    ways = (first.folding, second.folding)
    if abs(ways[0].folds - ways[1].folds) > 1:
        return False
    same_way = ways[0].move == ways[1].move or not min(way.folds for way in ways)
    same_cut = (first.flakes[0].size_mm, first.lays) == (second.flakes[0].size_mm, second.lays)
    return (same_way and same_cut) or difference(one.seen, other.seen).total < LOOKS_UNLIKE


def _remarks(
    wanted: Appearance, proposals: Sequence[Proposal], lacks: Missing | None, stock: Sequence[Stocked]
) -> Iterator[str]:
    """Say what cannot be reached."""
    off = proposals[0].difference
    if lacks:
        yield (
            f"Some {percent(lacks.part)} of the picture is near {lacks.wanted.srgb}, which these flakes do "
            f"not reach: the nearest is {lacks.nearest.srgb}. A flake of that colour would help most."
        )
    if off.contrast < 0.85:
        yield f"The nearest sheet has {percent(off.contrast)} of the picture's contrast."
    if off.feature > 1.5:
        yield "The picture is finer than the nearest sheet: flakes cut smaller come nearer."
    if off.direction < -0.2:
        yield "The picture is more directional than the nearest sheet, whose folds cross."
    needed = {flake.name: flake.grams for one in proposals for flake in one.recipe.flakes}
    for one in stock:
        if 0 < one.grams < needed.get(one.name, 0.0):
            yield f"Of {one.name} there are {one.grams:g} g; a proposal needs {needed[one.name]:g} g."
    if not wanted.is_plain:
        yield "Hot plastic flows: a press gives the picture's colours and grain, not its edges and motifs."
