"""The fold ladder: what a recipe looks like after each fold count, and which one gives a wanted look."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import Any

import numpy as np
import numpy.typing as npt

from .. import checks
from ..colour.difference import delta_e00
from ..colour.means import area_mean
from ..colour.spaces import Colour
from ..folding.mixing import layer_mm, scale_of_segregation
from ..recipe.recipe import Recipe
from ..runtime.progress import ProgressCallback, each, no_progress
from .contrast import JUST_SEEN, contrast, seen_lab
from .looks import LIVELINESS, LOOKS
from .prepared_sheet import PreparedSheet, prepare
from .render import render, srgb8
from .surfaces import top_face

TILE_PX = 160  # longer side of a rung's picture
ONE_COLOUR = (
    "These flakes are one colour to the eye: the sheet looks the same however often it is folded, "
    "so there is no look to choose."
)


@dataclass(frozen=True, eq=False)
class Rung:
    """One fold count of a ladder.

    Attributes
    ----------
    srgb8 : ndarray of uint8, shape (rows, columns, 3)
        Picture of the top face.
    mean : Colour
        Mean colour of the face, in light.
    contrast, unfolded : float
        dE*ab about the mean as the eye sees it from the viewing distance: of this rung, and of the unfolded
        pieces.
    feature_mm : float
        Scale of segregation of lightness across the streaks, mm.
    segregation : float
        Intensity of segregation at the size of a pixel and light's reach.
    drift : float
        dE00 of the mean from the area mean.
    look : str
        One of `LOOKS`.
    measure_layer_mm : callable
        Returns the mean layer thickness in the depth, mm; asked once.
    """

    folds: int
    srgb8: npt.NDArray[np.uint8]
    mean: Colour
    contrast: float
    unfolded: float
    feature_mm: float
    segregation: float
    drift: float
    look: str
    measure_layer_mm: Callable[[], float] = field(repr=False)

    @cached_property
    def layer_mm(self) -> float:
        """Mean layer thickness in the depth, mm; measured when it is first asked for."""
        return self.measure_layer_mm()

    def as_json(self) -> dict[str, Any]:
        """The rung without its picture, numbers rounded to their accuracy."""
        return {
            "folds": self.folds,
            "mean": self.mean.as_json(),
            "contrast": round(self.contrast, 2),
            "feature_mm": round(self.feature_mm, 2),
            "layer_mm": float(f"{self.layer_mm:.3g}"),
            "segregation": round(self.segregation, 4),
            "drift": round(self.drift, 2),
            "look": self.look,
        }


@dataclass(frozen=True)
class Pick:
    """The fold count whose look comes nearest a wanted one.

    Attributes
    ----------
    why : str
        The reason, one sentence.
    sure : str
        How many further sheets of the same recipe agree, one sentence; empty where none were tried.
    matters : bool
        Whether the count makes a difference: flakes of one colour look the same at every count.
    """

    folds: int
    why: str
    sure: str = ""
    matters: bool = True

    @property
    def advice(self) -> str:
        """What to do and why, for the maker."""
        if not self.matters:
            return self.why
        times = {0: "Do not fold", 1: "Fold once", 2: "Fold twice"}.get(
            self.folds, f"Fold {self.folds} times"
        )
        return f"{times}. {self.why}"


def tile_px_per_mm(recipe: Recipe) -> float:
    """Pixels per mm of a rung's picture."""
    return TILE_PX / max(recipe.sheet.length_mm, recipe.sheet.width_mm)


def word_for(folds: int, seen: float, unfolded: float) -> str:
    """Name a look.

    Parameters
    ----------
    folds : int
        Fold count; unfolded pieces are called pieces whatever their contrast, if it can be seen.
    seen, unfolded : float
        Contrast of this rung and of the unfolded one, dE*ab.

    Returns
    -------
    str
        One of `LOOKS`.
    """
    if seen < JUST_SEEN:
        return "even"
    if folds == 0:
        return "pieces"
    lively = seen / unfolded if unfolded > 0 else 0.0
    between = list(LIVELINESS.items())[1:-1]
    return min(between, key=lambda look: abs(look[1] - lively))[0]


def _tile(
    prepared: PreparedSheet, folds: int
) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float64], float]:
    """Picture of the top face, its CIELAB as seen, and its segregation."""
    scale = tile_px_per_mm(prepared.recipe)
    picture = render(top_face(prepared.sheet_after(folds), scale), prepared, folds)
    return picture.xyz1, seen_lab(picture.xyz1, 1 / scale), picture.segregation


def rungs(prepared: PreparedSheet, counts: Sequence[int], unfolded: float | None = None) -> Iterator[Rung]:
    """Look at a recipe after each of several fold counts.

    Parameters
    ----------
    prepared : PreparedSheet
        Ready for the largest of the counts.
    counts : sequence of int
        Fold counts, rising.
    unfolded : float, optional
        Contrast of the unfolded pieces, where it is known already and 0 is not among the counts.

    Yields
    ------
    Rung
        One by one, as each is ready.
    """
    start = area_mean(prepared.recipe)
    pitch = 1 / tile_px_per_mm(prepared.recipe)
    for folds in counts:
        xyz1, lab, segregation = _tile(prepared, folds)
        seen = contrast(lab)
        if unfolded is None:
            unfolded = seen if folds == 0 else contrast(_tile(prepared, 0)[1])
        mean = Colour.from_xyz1(xyz1.mean(axis=(0, 1), dtype=np.float64))
        yield Rung(
            folds=folds,
            srgb8=srgb8(xyz1),
            mean=mean,
            contrast=seen,
            unfolded=unfolded,
            feature_mm=min(scale_of_segregation(lab[..., 0], pitch, axis) for axis in (0, 1)),
            segregation=segregation,
            drift=float(delta_e00(mean.lab, start.lab)),
            look=word_for(folds, seen, unfolded),
            measure_layer_mm=partial(_layer_mm, prepared, folds),
        )


def _layer_mm(prepared: PreparedSheet, folds: int) -> float:
    return layer_mm(prepared.charge, prepared.programme, folds, np.random.default_rng(folds))


def contrasts_of_replicate(
    recipe: Recipe, counts: Sequence[int], replicate: int, on_progress: ProgressCallback = no_progress
) -> npt.NDArray[np.float64]:
    """Contrast dE*ab, shape (counts,), of another sheet, as if the recipe were pressed again.

    Parameters
    ----------
    counts : sequence of int
        Fold counts, rising.
    replicate : int
        Number of the further sheet, from 1.
    """
    prepared = prepare(recipe, max(counts), replicate)
    return np.array([contrast(_tile(prepared, folds)[1]) for folds in each(counts, on_progress)])


def best_count(wanted: str, counts: Sequence[int], seen: npt.ArrayLike, unfolded: float) -> Pick:
    """Name the fold count whose contrast comes nearest a wanted look.

    Parameters
    ----------
    wanted : str
        One of `LOOKS`.
    counts : sequence of int
        Fold counts, rising.
    seen : array_like, shape (counts,)
        Contrast at each, dE*ab.
    unfolded : float
        Contrast of the unfolded pieces, dE*ab, whether or not 0 is among the counts.

    Returns
    -------
    Pick
        The count and the reason. For pieces that is the first count; for even it is the first from which
        contrast stays below the just noticeable difference. The looks between are parts of the unfolded
        contrast, and the unfolded pieces are none of them where there is another count.
    """
    levels = np.asarray(seen, np.float64)
    if max(unfolded, levels.max()) < JUST_SEEN:
        return Pick(counts[0], ONE_COLOUR, matters=False)
    if wanted == "pieces":
        return Pick(
            counts[0], f"The fewest folds break the pieces least, at a contrast of {levels[0]:.0f} dE*ab."
        )
    if wanted == "even":
        still_seen = np.flatnonzero(levels >= JUST_SEEN)
        first = int(still_seen[-1]) + 1 if still_seen.size else 0
        if first == len(levels):
            left = f"{counts[-1]} folds still leave a contrast of {levels[-1]:.1f} dE*ab"
            return Pick(counts[-1], f"{left}, above the {JUST_SEEN} an eye just sees.")
        return Pick(
            counts[first], f"From here on contrast stays below the {JUST_SEEN} dE*ab an eye just sees."
        )
    goal = LIVELINESS[wanted]
    parts = levels / max(unfolded, 1e-9)
    first = int(counts[0] == 0 and len(levels) > 1)
    best = first + int(np.abs(parts[first:] - goal).argmin())
    part = f"Contrast is {parts[best]:.0%} of the whole pieces'"
    return Pick(counts[best], f"{part}, nearest to the {goal:.0%} we call {wanted}.")


@dataclass(frozen=True)
class Advice:
    """The fold counts that sheets of a mix ask for, for a wanted look.

    Attributes
    ----------
    counts : tuple of int
        One where most sheets agree, else the first and the last of a range; empty where folds do not matter.
    text : str
        What to do and why, in a sentence or two.
    """

    counts: tuple[int, ...]
    text: str


def advise(wanted: str, steps: Sequence[Rung], others: Sequence[npt.ArrayLike]) -> Advice:
    """Advise on a fold count where most sheets of a mix agree, else on a range.

    Chance may leave a streak that comes up again; a look is then that of the calmest sheet so far, so that
    its word only ever falls.

    Parameters
    ----------
    wanted : str
        One of `LOOKS`.
    others : sequence of array_like, each of shape (rungs,)
        Contrasts of further sheets, as from `contrasts_of_replicate`.

    Raises
    ------
    InputError
        Where `wanted` is not one of `LOOKS`.
    """
    checks.one_of("the look wanted", wanted, LOOKS)
    counts, unfolded = [step.folds for step in steps], steps[0].unfolded
    sheets = [np.array([step.contrast for step in steps]), *map(np.asarray, others)]
    picks = [best_count(wanted, counts, np.minimum.accumulate(seen), unfolded) for seen in sheets]
    if not picks[0].matters:
        return Advice((), picks[0].why)
    votes = sorted(pick.folds for pick in picks)
    common = max(votes, key=votes.count)
    if len(votes) == 1:
        return Advice((common,), picks[0].advice)
    if 2 * votes.count(common) > len(votes):
        agreed = f"{votes.count(common)} of {len(votes)} sheets of this mix look {wanted} then."
        return Advice((common,), Pick(common, agreed).advice)
    low, high = votes[len(votes) // 4], votes[-1 - len(votes) // 4]
    span = f"{low} or {high}" if high == low + 1 else f"{low} to {high}"
    asked = f"Sheets of this mix differ: of {len(votes)}, they look {wanted} after {votes[0]} to {votes[-1]}."
    return Advice((low, high), f"Try {span} folds. {asked}")


def falling_looks(steps: Sequence[Rung]) -> tuple[str, ...]:
    """Name the looks of a ladder so that none is livelier than one before it."""
    calmest = np.minimum.accumulate([step.contrast for step in steps])
    return tuple(word_for(step.folds, seen, step.unfolded) for step, seen in zip(steps, calmest, strict=True))


def choose(wanted: str, steps: Sequence[Rung], others: Sequence[npt.ArrayLike]) -> Pick:
    """Name the fold count for a wanted look, and say how far chance could move it.

    Parameters
    ----------
    wanted : str
        One of `LOOKS`.
    others : sequence of array_like, each of shape (rungs,)
        Contrasts of further sheets, as from `contrasts_of_replicate`.

    Returns
    -------
    Pick
        The count, why, and how many of the further sheets agree.

    Raises
    ------
    InputError
        Where `wanted` is not one of `LOOKS`.
    """
    checks.one_of("the look wanted", wanted, LOOKS)
    counts = [step.folds for step in steps]
    unfolded = steps[0].unfolded
    chosen = best_count(wanted, counts, [step.contrast for step in steps], unfolded)
    if not others:
        return chosen
    picks = [best_count(wanted, counts, other, unfolded).folds for other in others]
    agree, low, high = picks.count(chosen.folds), min(picks), max(picks)
    if agree == len(picks):
        return replace(chosen, sure=f"All {len(picks)} further sheets tried agree.")
    span = f"{low}" if low == high else f"{low} to {high}"
    return replace(chosen, sure=f"Of {len(picks)} further sheets tried {agree} agree; they ask for {span}.")
