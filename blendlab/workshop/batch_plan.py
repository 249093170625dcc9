"""From the finished sheet to the batch: grams, loads, spacers and minutes."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import ceil
from typing import Any

from .. import checks
from ..recipe.lay import check_strewn
from ..recipe.recipe import Flake, Recipe
from ..tables.ranges import Range
from ..units import METRIC, Units
from .ageing import Ageing, ageing
from .cautions import cautions
from .closing import Closing, ClosingReport, closing_report
from .flatness import WAYS, Flatness, Way, flatness
from .heat import Fold, Timetable, timetable
from .laying import lays_json
from .melt_flow import Stock, stock_of
from .order import Order, Plastic, check_fit
from .press_setup import PACES, Pace, PressSetup
from .properties import pieces, range_of
from .sheet_size import as_pressed, tile_g
from .substitution import nearest_mix, short_of


@dataclass(frozen=True)
class Portion:
    """How much of one kind of flake goes in.

    Attributes
    ----------
    flake : Flake
        With the grams of one tile.
    load_g, total_g : float
        Grams in each load, and in the whole order.
    pieces : Range
        Pieces to collect for `total_g`: whole ones, or the part of a single one.
    """

    flake: Flake
    load_g: float
    total_g: float
    pieces: Range


@dataclass(frozen=True)
class Batch:
    """Everything to weigh, set and time; a sheet in one piece is one tile.

    Attributes
    ----------
    recipe : Recipe
        As pressed: the hot slab of one tile and its grams.
    portions : tuple of Portion
        One for each kind of flake, in the recipe's order.
    tiles, loads : int
        Number of tiles, and loads for each tile.
    tile_g, total_g : Range
        Mass of a tile and of the whole order over the published range of density; `usual` is what to weigh.
    hot_length_mm, hot_width_mm, spacer_mm : Range
        Hot size that shrinks to the cold size; `usual` is what to set.
    times : dict of pace to Timetable
        Of one tile.
    heat_minutes, cool_minutes : Range
        Hot work on all loads of one tile, and its time in the clamps.
    short_of : dict of str to float
        Grams missing of each flake that the stock does not cover; empty without a stock.
    nearest_g : dict of str to float, or None
        Where something is short, grams of the nearest mix the stock allows; None where it holds too little.
    closing : ClosingReport, or None
        How long each press takes to close; None where the press is not described, or nothing is folded.
    ageing : Ageing
        How much of the melt's life the hot work uses.
    flatness : dict of Way to Flatness
        How far the cold tile may bow along its longer side, by how it is cooled.
    stock : Stock, or None
        What the flakes were made from.
    units : Units
        That the plan is worded in.
    """

    order: Order
    press: PressSetup
    recipe: Recipe
    portions: tuple[Portion, ...]
    tiles: int
    loads: int
    tile_g: Range
    total_g: Range
    hot_length_mm: Range
    hot_width_mm: Range
    spacer_mm: Range
    times: Mapping[Pace, Timetable]
    heat_minutes: Range
    cool_minutes: Range
    short_of: Mapping[str, float]
    nearest_g: Mapping[str, float] | None
    closing: ClosingReport | None
    ageing: Ageing
    flatness: Mapping[Way, Flatness]
    stock: Stock | None
    units: Units = METRIC

    @property
    def load_g(self) -> float:
        """Mass of one load, g."""
        return self.tile_g.usual / self.loads


def plan(
    recipe: Recipe,
    order: Order,
    press: PressSetup | None = None,
    *,
    plastic: Plastic | None = None,
    piece_g: Mapping[str, float] | None = None,
    on_hand_g: Mapping[str, float] | None = None,
    closing: Closing | None = None,
    stock: Stock | None = None,
    units: Units = METRIC,
) -> Batch:
    """Plan a batch.

    InputError where the hot sheet does not fit the plates (the message names tiles that would) or a load
    cannot melt.

    Parameters
    ----------
    recipe : Recipe
        Gives the proportions and the folding; its sheet and mass are replaced by those of the order.
    plastic : Plastic, optional
        The maker's own density and shrinkage; the published ranges by default.
    piece_g : mapping of str to float, optional
        Mass of one collected piece, g, by flake name; drinks caps by default.
    on_hand_g : mapping of str to float, optional
        The stock, g by flake name; without it, nothing counts as short.
    closing : Closing, optional
        What holds the press shut; if given, each press is held until it has closed.
    stock : Stock, optional
        What the flakes were made from, which sets how stiff the melt is; by default what all flakes of the
        recipe say, else mixed.
    units : Units
        That the plan is worded in.
    """
    check_strewn(recipe.lays, recipe.folding.folds)
    press = press or PressSetup()
    plastic = plastic or Plastic.published(press.plate_c)
    length, width, thickness = order.pressed_mm
    hot_length, hot_width, spacer = plastic.hot(length), plastic.hot(width), plastic.spacer(thickness)
    check_fit(order, press, plastic)
    tile = tile_g(order, plastic)
    tiles, loads = order.tiles[0] * order.tiles[1], ceil(tile.usual / press.largest_load_g - 1e-9)
    flakes = tuple(
        replace(flake, grams=float(share * tile.usual))
        for flake, share in zip(recipe.flakes, recipe.shares, strict=True)
    )
    pressed = as_pressed(recipe.with_flakes(flakes), order, plastic)
    times: dict[Pace, Timetable] = {pace: timed(pressed, press, pace, loads) for pace in PACES}
    melts = stock or stock_of(pressed)
    report = None if closing is None else _closing(pressed, times["usual"], closing, melts, loads)
    if report is not None and report.closes:
        holds = {pace: replace(press, press_s=report.wait_s(pace)) for pace in PACES}
        times = {pace: timed(pressed, holds[pace], pace, loads) for pace in PACES}
    wanted = {flake.name: tiles * flake.grams for flake in flakes}
    short = {} if on_hand_g is None else short_of(wanted, on_hand_g)
    return Batch(
        order=order,
        press=press,
        recipe=pressed,
        portions=tuple(_portion(flake, tiles, loads, (piece_g or {}).get(flake.name)) for flake in flakes),
        tiles=tiles,
        loads=loads,
        tile_g=tile,
        total_g=Range(*(tiles * grams for grams in tile)),
        hot_length_mm=hot_length,
        hot_width_mm=hot_width,
        spacer_mm=spacer,
        times=times,
        heat_minutes=Range(*(times[pace].work_s(loads) / 60 for pace in PACES)),
        cool_minutes=Range(*(times[pace].release_s / 60 for pace in PACES)),
        short_of=short,
        nearest_g=nearest_mix(wanted, on_hand_g) if short and on_hand_g is not None else None,
        closing=report,
        ageing=ageing(times["usual"]),
        flatness=_flatness(order, press, tile.usual, _press_c(times["usual"])),
        stock=stock,
        units=units,
    )


def as_json(batch: Batch) -> dict[str, Any]:
    """Return what `blendlab batch --json` prints: usual values, and their ranges.

    `grams` and `pieces` are for the whole order, `load_grams` and `lays` for one load; sheet, spacer, minutes
    and bow are for one tile. Three numbers in a list are low, usual and high.
    """
    ranges = {name: getattr(batch, name) for name in ("total_g", "spacer_mm", "heat_minutes", "cool_minutes")}
    return lays_json(batch.recipe, batch.load_g) | {
        "grams": {part.flake.name: round(part.total_g, 2) for part in batch.portions},
        "load_grams": {part.flake.name: round(part.load_g, 2) for part in batch.portions},
        "total_g": round(batch.total_g.usual, 2),
        "pieces": {part.flake.name: ceil(part.pieces.usual) for part in batch.portions},
        "tiles": batch.tiles,
        "loads": batch.loads,
        "spacer_mm": round(batch.spacer_mm.usual, 2),
        "finish": batch.recipe.sheet.finish,
        "hot_size_mm": [round(batch.hot_length_mm.usual, 1), round(batch.hot_width_mm.usual, 1)],
        "heat_minutes": round(batch.heat_minutes.usual, 1),
        "cool_minutes": round(batch.cool_minutes.usual, 1),
        "ranges": {name: [round(r.low, 2), round(r.high, 2)] for name, r in ranges.items()},
        "short_of": {name: round(grams, 1) for name, grams in batch.short_of.items()},
        "nearest": batch.nearest_g and {name: round(grams, 1) for name, grams in batch.nearest_g.items()},
        "closing": batch.closing and batch.closing.as_json(),
        "ageing": batch.ageing.as_json(),
        "bow_mm": {way: each.as_json(batch.press.release_c) for way, each in batch.flatness.items()},
        "cautions": [caution.text for caution in cautions()],
    }


def _closing(
    recipe: Recipe, times: Timetable, closing: Closing, stock: Stock, loads: int
) -> ClosingReport | None:
    """Work out how each press closes in the time that the plan gives the shortest one."""
    held = [step.seconds for step in times.steps if step.kind == "press"]
    if not held:
        return None
    return closing_report(
        recipe.folding,
        recipe.sheet.size_mm,
        closing,
        stock,
        _press_c(times),
        loads=loads,
        allowed_s=max(1.0, min(held)),
    )


def _flatness(order: Order, press: PressSetup, tile_g: float, hot_c: float) -> dict[Way, Flatness]:
    """Cool one tile in each of the usual ways."""
    length, width, _ = order.pressed_mm
    mass, longer = 1e3 * tile_g / (length * width), max(length, width)
    return {way: flatness(mass, longer, way, press, start_c=hot_c) for way in WAYS}


def _press_c(times: Timetable) -> float:
    """Return the temperature of the melt in the press, °C: halfway between its extremes, on average."""
    ends = [step for step in times.steps if step.kind in ("press", "soak")]
    return sum((step.coolest_c + step.hottest_c) / 2 for step in ends) / len(ends)


def timed(recipe: Recipe, press: PressSetup, pace: Pace, loads: int) -> Timetable:
    """Return the times of one tile: each load has its share of the mass and is folded as the recipe says."""
    load_kg = sum(flake.grams for flake in recipe.flakes) / loads / 1000
    sheet = recipe.sheet
    folds = [
        Fold(round(cycle.layers), 1e6 * load_kg / (cycle.after_mm[0] * cycle.after_mm[1]))
        for cycle in recipe.folding.cycles(sheet.size_mm)
    ]
    start = 1e6 * load_kg / (sheet.length_mm * sheet.width_mm)
    return timetable(start, folds, press, pace=pace, loads=loads)


def _portion(flake: Flake, tiles: int, loads: int, piece_g: float | None) -> Portion:
    """Divide one kind of flake among the loads and count its pieces."""
    total = tiles * flake.grams
    each = range_of(pieces()["drinks cap"])
    if piece_g is not None:
        piece = checks.positive(f"piece_g of flake {flake.name!r}", piece_g, "weigh ten pieces and divide")
        each = Range(piece, piece, piece)
    counts = (total / grams for grams in (each.high, each.usual, each.low))
    whole = (count if count < 1 else ceil(count - 1e-9) for count in counts)
    return Portion(flake, flake.grams / loads, total, Range(*whole))
