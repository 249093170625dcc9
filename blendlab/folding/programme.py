"""A fold-and-press programme: the steps of making a sheet, drawn once, followed back from any point.

Each cycle is a fold, a press down to the spacers and the press's smear. Where one move is repeated, the maker
gives the slab a quarter turn in between, so that fold lines cross; pressing lets the slab spread back to its
first proportions (a slab twice as long as wide spreads over its long sides).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from ..recipe.moves import CornersMove, Move, PanelMove, RollMove, move_named
from ..recipe.recipe import Folding, Sheet
from ..recipe.slab_size import Cycle, Size
from ..runtime.records import column, joined, records
from .panels import levelled
from .scatter import Strewing, strewn
from .smear import GRID, Smear, Tipping, Turning, smear
from .step_tables import CORNERS, FLIP, PANELS, ROLL, SCATTER, Chip, Column, Ply, Step, StepTables

OFF_MIDDLE = 0.05  # standard deviation of a fold line at unevenness 1, as a part of half the side
OFF_PHASE = 0.8  # spread of the angle at which a roll is pressed at unevenness 1, radians


@dataclass(frozen=True, eq=False)
class Programme:
    """The drawn steps of a sheet.

    Attributes
    ----------
    tables : StepTables
        One step a cycle, and one for each time the slab is turned over or strewn with chips.
    ends : tuple of int
        How many steps the first 0, 1, 2 ... cycles take.
    sizes_mm : tuple of (float, float, float)
        Length, width and height of the slab after each of these.
    """

    tables: StepTables
    ends: tuple[int, ...]
    sizes_mm: tuple[Size, ...]

    @property
    def cycles(self) -> int:
        """Number of fold-and-press cycles drawn."""
        return len(self.ends) - 1

    def after(self, folds: int) -> StepTables:
        """Return the steps of the first cycles only, 0 to `cycles`, with the same chances."""
        return self.tables._replace(steps=self.tables.steps[: self.ends[folds]])

    def pressed(self, folds: int, strewn: bool = True) -> "Programme":
        """Return the programme up to a press: the slab lies as it was pressed.

        Parameters
        ----------
        folds : int
            Number of the press; 0 is the first slab.
        strewn : bool
            Whether the chips strewn before that press are on it.
        """
        kinds, end = column(self.tables.steps, "kind"), self.ends[folds]
        while end and kinds[end - 1] == FLIP:
            end -= 1
        if end and kinds[end - 1] == SCATTER and not strewn:
            end -= 1
        return replace(self, ends=(*self.ends[:folds], end), sizes_mm=self.sizes_mm[: folds + 1])

    def thinning(self, folds: int) -> float:
        """Return how many times thinner layers are after the first cycles, over all presses."""
        steps = self.after(folds).steps
        pressed = column(steps, "kind") != FLIP
        return float(np.prod(column(steps, "h_folded")[pressed] / column(steps, "h1")[pressed]))


def draw_programme(
    folding: Folding, sheet: Sheet, folds: int, rng: np.random.Generator, chips: Sequence[Strewing] = ()
) -> Programme:
    """Draw the steps of a programme.

    Parameters
    ----------
    folding : Folding
        The moves, the spacers, drag and unevenness of the press.
    folds : int
        Cycles to draw, at most the presses of a list of moves; the first n do not depend on how many
        follow.
    rng : numpy.random.Generator
        Each cycle spawns its own from it.
    chips : sequence of Strewing
        What is strewn before presses after the first.
    """
    plan = folding.cycles(sheet.size_mm, min(folds, folding.most_folds))
    draft = _Draft()
    ends = [0]
    for cycle, own in zip(plan, rng.spawn(len(plan)), strict=True):
        step = draft.fold(cycle, folding, own)
        before, after = cycle.flips
        draft.steps += [Step(FLIP, cycle.before_mm[2])] * before
        draft.steps.append(draft.smeared(step, cycle, folding.unevenness, own))
        for what in chips:
            if what.before_press == len(ends):
                draft.steps.append(draft.strewn(what, cycle, own))
        draft.steps += [Step(FLIP, cycle.after_mm[2])] * after
        ends.append(len(draft.steps))
    sizes = (sheet.size_mm, *(cycle.after_mm for cycle in plan))
    return Programme(draft.tables(), tuple(ends), sizes)


@dataclass
class _Draft:
    """The tables of a programme while its steps are drawn."""

    steps: list[Step] = field(default_factory=list)
    columns: list[Column] = field(default_factory=list)
    plies: list[Ply] = field(default_factory=list)
    smears: list[Smear] = field(default_factory=list)
    chips: list[Chip] = field(default_factory=list)

    def fold(self, cycle: Cycle, folding: Folding, rng: np.random.Generator) -> Step:
        """Draw one cycle's fold and press, without its smear; a pile enters the tables."""
        move = move_named(cycle.fold)
        side = 1.0 if rng.random() < 0.5 else -1.0
        step = _sized(cycle, folding.drag)._replace(side=side)
        missed = np.clip(rng.standard_normal(move.misses), -3, 3) * folding.unevenness
        if isinstance(move, RollMove):
            twist = math.radians(cycle.twist_deg) / cycle.before_mm[1 - cycle.axis]
            return step._replace(twist=twist, phase=float(missed[0] * OFF_PHASE))
        if isinstance(move, PanelMove):
            a = cycle.before_mm[cycle.axis] / 2
            pile = move.panels(a, (missed * OFF_MIDDLE * a).tolist())
            columns, plies = levelled(pile, move.depth, len(self.plies))
            first = len(self.columns)
            self.columns += columns
            self.plies += plies
            return step._replace(first_column=first, end_column=len(self.columns))
        return step

    def smeared(self, step: Step, cycle: Cycle, unevenness: float, rng: np.random.Generator) -> Step:
        """Draw the smear of a press, stronger the further it presses; none where nothing spreads."""
        halvings = math.log2(max(cycle.thinning, 1.0))
        patches = smear(cycle.after_mm[0] / 2, cycle.after_mm[1] / 2, unevenness * halvings, rng)
        turned, tipped = (sum(len(made[n]) for made in self.smears) for n in (0, 1))
        grids = sum(len(made.grids) for made in self.smears)
        for layers, before in ((patches.grids[:-1], turned), (patches.grids[-1:], tipped)):
            layers[layers >= 0] += before
        self.smears.append(patches)
        return step._replace(first_grid=grids, end_grid=grids + len(patches.grids))

    def strewn(self, what: Strewing, cycle: Cycle, rng: np.random.Generator) -> Step:
        """Draw the chips pressed into the face of the slab."""
        chips, cells = strewn(what, cycle.after_mm, rng)
        first = len(self.chips)
        self.chips += chips
        a, b, h = cycle.after_mm[0] / 2, cycle.after_mm[1] / 2, cycle.after_mm[2]
        return Step(SCATTER, h, a, b, a, b, h, a, b, h, first_chip=first, chips_x=cells[0], chips_y=cells[1])

    def tables(self) -> StepTables:
        """Return all that was drawn as compiled code reads it."""
        return StepTables(
            records(Step, self.steps),
            records(Column, self.columns),
            records(Ply, self.plies),
            joined(Turning, (made.turning for made in self.smears)),
            joined(Tipping, (made.tipping for made in self.smears)),
            np.concatenate([np.zeros((0, GRID, GRID), np.int16), *(made.grids for made in self.smears)]),
            records(Chip, self.chips),
        )


def _kind(move: Move) -> int:
    """Return the kind of step that compiled code folds with."""
    kinds = {PanelMove: PANELS, CornersMove: CORNERS, RollMove: ROLL}
    return kinds[type(move)]


def _sized(cycle: Cycle, drag: float) -> Step:
    """Return a step's kind, sizes and press."""
    p_x = _length_share(cycle)
    return Step(
        kind=_kind(move_named(cycle.fold)),
        a0=cycle.before_mm[0] / 2,
        b0=cycle.before_mm[1] / 2,
        h0=cycle.before_mm[2],
        a_folded=cycle.folded_mm[0] / 2,
        b_folded=cycle.folded_mm[1] / 2,
        h_folded=cycle.folded_mm[2],
        a1=cycle.after_mm[0] / 2,
        b1=cycle.after_mm[1] / 2,
        h1=cycle.after_mm[2],
        axis=cycle.axis,
        strain=cycle.thinning**drag,
        p_x=p_x,
        p_y=1.0 - p_x,
    )


def _length_share(cycle: Cycle) -> float:
    """Return the share of a press's widening that goes into the length, 0 to 1."""
    if cycle.thinning <= 1.0:
        return 0.5
    share = math.log(cycle.after_mm[0] / cycle.folded_mm[0]) / math.log(cycle.thinning)
    return min(max(share, 0.0), 1.0)
