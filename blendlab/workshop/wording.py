"""The plan in words: times rounded as on a clock, one line per step."""

from collections.abc import Iterator
from itertools import accumulate
from math import ceil, log

from ..folding.islands import ENDLESS, folds_behind, lags, melt_index_of, viscosity_ratio
from ..recipe.recipe import GLOSSY, Recipe
from ..tables.ranges import Range
from ..units import COUNT, METRIC, Unit, Units, some
from .ageing import Ageing
from .batch_plan import Batch
from .cautions import cautions
from .closing import advice
from .flatness import MARKS_C, Way
from .fused_block import Block, thickest_mm
from .heat import Step
from .laying import lay_lines, spread_lines, strewn_text
from .melt_flow import UNKNOWN_STOCK, Stock
from .press_setup import PressSetup
from .properties import flow, heat, practice

_WAY: dict[Way, str] = {
    "open air": "in open air",
    "one board": "on one board",
    "two boards": "between two boards",
}

MIN_LAG = 0.1  # folds by which a flake must lag behind to be mentioned
SAME_MM = 0.05  # by which spacers differ that a maker calls the same
MIN_CLOSING_S = 5.0  # shortest closing time reported; no maker times anything shorter


def rounded_s(seconds: float) -> int:
    """Return a time as closely as it is kept at a press, s."""
    if seconds < 58:
        return 5 * round(seconds / 5)
    if seconds < 5 * 60:
        return 30 * round(seconds / 30)
    minutes = round(seconds / 60)
    return 60 * (minutes if minutes < 60 else 5 * round(minutes / 5))


def duration(seconds: float) -> str:
    """Return a time in words, rounded.

    Examples
    --------
    >>> duration(30), duration(90), duration(163), duration(5240)
    ('30 s', '1½ min', '2½ min', '1 h 25 min')
    """
    kept = rounded_s(seconds)
    if kept < 60:
        return f"{kept} s"
    minutes, rest = divmod(kept, 60)
    if minutes < 60:
        return f"{minutes}{'½' if rest else ''} min"
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def programme(batch: Batch) -> tuple[str, ...]:
    """Return the steps of one sheet in order, each with the time on a clock started with the first.

    The clock adds up the times as rounded in words. With several loads, the steps before joining are those
    of one load, and each load starts its own clock.
    """
    folds = iter(_fold_texts(batch))
    steps = batch.times["usual"].steps
    texts = (next(folds) if step.kind == "fold" else (_step_text(step, batch), ", ", "") for step in steps)
    starts = accumulate((rounded_s(step.seconds) for step in steps), initial=0)
    return tuple(
        f"{clock_text(start)}  {text}{link}{duration(step.seconds)}{after}"
        for start, step, (text, link, after) in zip(starts, steps, texts, strict=False)
    )


def _fold_texts(batch: Batch) -> Iterator[tuple[str, str, str]]:
    """Yield what is done at each opening of the press, the words before its time, and what follows."""
    axis = None
    cycles = batch.recipe.folding.cycles(batch.recipe.sheet.size_mm)
    heights = iter(spacers_of(batch)[1:])
    for press, cycle in enumerate(cycles, start=1):
        done = ["turn it over"] if cycle.flips[0] else []
        if axis not in (None, cycle.axis):
            done.append("turn it a quarter")
        done.append(f"fold ({cycle.fold})")
        strewn = strewn_text(batch.recipe, batch.load_g, press, batch.units)
        if strewn:
            done.append(f"strew {strewn} over it")
        last = "; once it is pressed, turn it over" if cycle.flips[1] else ""
        on = f" on {height} spacers" if (height := next(heights, "")) else ""
        yield f"Open, {', '.join(done)} and close again{on}", " within ", last
        axis = cycle.axis


def spacers_of(batch: Batch) -> tuple[str, ...]:
    """Return how high the spacers of a load's presses are, the first slab's first; none if all are alike."""
    recipe = batch.recipe
    cycles = recipe.folding.cycles(recipe.sheet.size_mm)
    found = [recipe.sheet.thickness_mm, *(cycle.after_mm[2] for cycle in cycles)]
    if max(found) - min(found) < SAME_MM:
        return ()
    return tuple(batch.units.length.text(mm / batch.loads, 1) for mm in found)


def plan_lines(batch: Batch) -> tuple[str, ...]:
    """Return the whole plan as lines for a terminal: grams, settings, times, steps, cautions."""
    each = "the sheet" if batch.tiles == 1 else f"each of {batch.tiles} tiles"
    mass, finished = batch.units.mass, batch.units.sides(batch.order.finished_mm)
    spacers = with_range(batch.spacer_mm, 1, batch.units.length)
    settings = "" if batch.recipe.sheet.finish == GLOSSY else f"{liners_text(batch)}, "
    lines = [f"Weigh in for {each}, {finished} finished, {load_text(batch)}:"]
    several = batch.loads * batch.tiles > 1
    lines += [
        f"{mass.number(part.load_g, 1):>9} {mass.symbol}  {part.flake.name}, "
        f"{f'{mass.text(part.total_g)} in total, ' if several else ''}{pieces_text(part.pieces)}"
        for part in batch.portions
    ]
    if batch.recipe.lays:
        each_load = " in each load" if batch.loads > 1 else ""
        lines += [
            f"Lay in this order{each_load}:",
            *(f"  {line}" for line in lay_lines(batch.recipe, batch.load_g, batch.units)),
        ]
        lines += spread_lines(batch.recipe, batch.load_g, batch.units)
    lines += [
        f"Set: plates {batch.press.plate_c:g} °C, {settings}spacers {spacers}, hot plan {hot_plan(batch)}.",
        f"Hot work {with_range(batch.heat_minutes)} min, under clamps {with_range(batch.cool_minutes)} min.",
        *(f"  {line}" for line in programme(batch)),
        *closing_lines(batch),
        *ageing_lines(batch.ageing, batch.press, batch.units),
        *bow_lines(batch),
        air_line(batch),
        *island_lines(batch),
        *shortage(batch),
        *(f"{caution.title}. {caution.text}" for caution in cautions()),
    ]
    return tuple(lines)


def hot_plan(batch: Batch) -> str:
    """Return length and width of the hot slab."""
    return batch.units.sides((batch.hot_length_mm.usual, batch.hot_width_mm.usual), 0)


def liners_text(batch: Batch) -> str:
    """Return the liners, named by the finish they leave unless it is glossy."""
    finish = batch.recipe.sheet.finish
    return "liners" if finish == GLOSSY else f"{finish} liners"


def load_text(batch: Batch) -> str:
    """Return the number of loads and their mass."""
    load = batch.units.mass.text(batch.load_g)
    return (
        f"in one load of {load}"
        if batch.loads == 1
        else f"in {batch.loads} loads of {load}, joined at the end"
    )


def pieces_text(pieces: Range) -> str:
    """Return how many pieces to collect, with a range unless a piece was weighed.

    Examples
    --------
    >>> pieces_text(Range(27, 37, 56)), pieces_text(Range(1, 1, 1)), pieces_text(Range(0.03, 0.03, 0.03))
    ('37 pieces (27 to 56)', '1 piece', 'part of one piece')
    """
    if pieces.high < 1:
        return "part of one piece"
    low, usual, high = map(ceil, pieces)
    return some(usual, "piece") if low == high else f"{some(usual, 'piece')} ({low} to {high})"


def with_range(values: Range, digits: int = 0, unit: Unit = COUNT) -> str:
    """Return a usual value with its published range.

    Examples
    --------
    >>> with_range(Range(6.71, 6.9, 7.26), 1)
    '6.9 (6.7 to 7.3)'
    """
    usual, low, high = (unit.number(value, digits) for value in (values.usual, values.low, values.high))
    words = usual if low == high == usual else f"{usual} ({low} to {high})"
    return f"{words} {unit.symbol}".rstrip()


def _unit_with_range(values: Range, unit: str) -> str:
    """Return a usual value in its unit, with its range unless it is exact."""
    exact = values.low == values.high
    low, usual, high = (f"{v:.0f}" if v >= 10 else f"{v:.1f}" for v in values)
    return f"{usual} {unit}" + ("" if exact else f" ({low} to {high})")


def range_text(values: Range, digits: int = 0, unit: Unit = COUNT) -> str:
    """Return the ends of a range in words.

    Examples
    --------
    >>> range_text(Range(6.71, 6.9, 7.26), 1)
    '6.7 to 7.3'
    """
    return f"{unit.number(values.low, digits)} to {unit.number(values.high, digits)} {unit.symbol}".rstrip()


def shortage(batch: Batch) -> tuple[str, ...]:
    """Return what the stock lacks and the nearest mix it allows, a sentence each; empty if it covers all."""
    if not batch.short_of:
        return ()
    mass = batch.units.mass
    missing = ", ".join(f"{mass.text(grams, 1)} of {name}" for name, grams in batch.short_of.items())
    short = f"The stock is short of {missing}."
    if batch.nearest_g is None:
        return short, "All these flakes together are less than the batch needs."
    allowed = ", ".join(f"{mass.text(grams, 1)} {name}" for name, grams in batch.nearest_g.items())
    return short, f"The nearest mix it allows: {allowed}."


def closing_lines(batch: Batch) -> tuple[str, ...]:
    """Return whether the press closes and what would help; empty unless a closing force is given."""
    report = batch.closing
    if report is None:
        return ()
    slowest, kind = report.slowest, report.closing.kind
    name = "The press" if kind is None else flow()["closing"][kind]["name"]
    force = _unit_with_range(report.closing.force, "N")
    pressure = _unit_with_range(slowest.pressure_kpa, "kPa")
    low, usual, high = (duration(max(s, MIN_CLOSING_S)) for s in slowest.seconds)
    if not report.closes:
        end = "which counts as not closing"
    else:
        end = "the plan allows for that" if report.in_time else "the times above include that"
    return (
        f"{name}: {force}, {pressure} on the plan.",
        f"The slowest press takes about {usual} to close ({low} to {high}), {end}.",
        *advice(report, batch.press),
    )


def ageing_lines(ageing: Ageing, press: PressSetup, units: Units = METRIC) -> tuple[str, ...]:
    """Return how much of the melt's life the hot work uses, and which block would exceed it."""
    lasts = f"{range_text(ageing.lasts_minutes)} min"
    said = (
        f"The hottest plastic ages as much as in {ageing.used_minutes:.0f} min at {ageing.at_c:g} °C, "
        f"where recycled bottles lasted {lasts} in pure oxygen.",
    )
    if ageing.within:
        return said
    thickest = range_text(thickest_mm(press), 0, units.length)
    return (
        *said,
        "Fewer or shorter presses and cooler plates help; "
        f"between these plates no block thicker than {thickest} melts through within that time.",
    )


def block_lines(block: Block, press: PressSetup, units: Units = METRIC) -> tuple[str, ...]:
    """Return how long a stack of sheets takes to fuse, and how it ages, a sentence each."""
    heat, cool = ([duration(60 * m) for m in each] for each in (block.heat_minutes, block.cool_minutes))
    hot = f"{heat[1]} ({heat[0]} to {heat[2]}) in the press until it is molten through"
    cold = f"{cool[1]} ({cool[0]} to {cool[2]}) under clamps"
    stack = f"{block.sheets} sheets fused to a block of {units.sides([block.thickness_mm])}"
    return f"{stack}: {hot}, then {cold}.", *ageing_lines(block.ageing, press, units)


def bow_lines(batch: Batch) -> tuple[str, ...]:
    """Return how far the cold sheet may bow, by how it cools and when the clamps come off."""
    release_c, one = batch.press.release_c, batch.flatness["one board"]
    length = batch.units.length
    ways = [(_WAY[way], each) for way, each in batch.flatness.items()]
    released = ", ".join(f"{_bow(each.let_go_at(release_c), length)} {way}" for way, each in ways)
    never = ", ".join(f"{_bow(each.unclamped_mm, length)} {way}" for way, each in ways)
    marks = [mark for mark in MARKS_C if mark > release_c]
    sooner = ", ".join(f"{_bow(one.let_go_at(mark), length)} at {mark:g} °C" for mark in marks)
    return (
        f"Estimated bow, clamped until {release_c:g} °C: {released}.",
        f"Never clamped: {never}.",
        f"Why the clamps stay on: taken out sooner, on one board, it bows {sooner}.",
    )


def _bow(mm: float, length: Unit) -> str:
    """Return how far a sheet bows; a tenth of a millimetre is the least that is given in figures."""
    least = 0.1
    return length.text(mm, 1) if mm >= least / 2 else f"less than {length.text(least, 1)}"


def air_line(batch: Batch) -> str:
    """Return whether the folds drive out the air between the flakes, by common practice."""
    few, folds = practice()["presses_for_few_voids"], batch.recipe.folding.folds
    return (
        f"Air: by common practice {few['low']:g} to {few['high']:g} folds, each pressed, leave few voids; "
        f"this sheet has {folds}."
    )


def island_lines(batch: Batch) -> tuple[str, ...]:
    """Return how much coarser stiff flakes stay; empty unless flakes say their stock, or it is mixed."""
    folds = batch.recipe.folding.folds
    if folds and any(flake.stock for flake in batch.recipe.flakes):
        return (stiffness_line(batch.recipe),)
    if batch.stock != Stock(UNKNOWN_STOCK) or not folds:
        return ()
    length, _, thickness = batch.recipe.flakes[0].size_mm
    aspect, bottle = max(1.0, length / thickness), melt_index_of("bottle")
    cap, crate = (
        folds_behind(viscosity_ratio(bottle, melt_index_of(kind)), folds, aspect) for kind in ("cap", "crate")
    )
    return (
        f"Stiffer flakes stay coarser: after {some(folds, 'fold')} bottle flakes lag {cap:.1f} folds behind "
        f"among caps, {crate:.1f} among crates. Say what each flake was cut from and the pictures show it.",
    )


def stiffness_line(recipe: Recipe) -> str:
    """Return which flakes of a recipe stay coarser, or that none says what it was cut from."""
    if not any(flake.stock for flake in recipe.flakes):
        return "No flake says what it was cut from. Stiff ones may stay coarser than shown here, never finer."
    behind = lags(recipe, ENDLESS) / log(2)
    stiff = [
        f"{flake.name} lags up to {lag:.1f} folds behind"
        for flake, lag in zip(recipe.flakes, behind, strict=True)
        if lag >= MIN_LAG
    ]
    return f"Stiffer flakes stay coarser: {', '.join(stiff)}." if stiff else "These flakes melt alike."


def _step_text(step: Step, batch: Batch) -> str:
    """Return one step other than a fold in words."""
    if step.kind == "join":
        return f"Stack the {batch.loads} loads and melt them together"
    if step.kind == "cool":
        target = f"{batch.press.release_c:g} °C right through"
        board = heat()["board"][batch.press.board]["name"]
        return f"Clamp flat ({board} on both sides) until {target}"
    words = {
        "melt": "Melt the flakes between the plates",
        "turn": "Turn over and press on",
        "soak": "Leave it under the plates to soak",
        "press": "Press",
    }
    spacers = spacers_of(batch) if step.kind == "melt" else ()
    return words[step.kind] + (f" on {spacers[0]} spacers" if spacers else "")


def clock_text(seconds: float) -> str:
    """Return a time as m:ss, or h:mm:ss."""
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"
