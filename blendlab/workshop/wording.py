"""The plan in words: times rounded as a maker reads a clock, one line per step."""

from collections.abc import Iterable, Iterator

from ..tables.ranges import Range
from .batch_plan import Batch
from .cautions import cautions
from .heat import Step
from .properties import heat


def duration(seconds: float) -> str:
    """Return a time in words, rounded.

    Examples
    --------
    >>> duration(30), duration(90), duration(163), duration(5240)
    ('30 s', '1½ min', '2½ min', '1 h 25 min')
    """
    if seconds < 58:
        return f"{5 * round(seconds / 5)} s"
    if seconds < 5 * 60:
        halves = round(seconds / 30)
        return f"{halves // 2}{'½' if halves % 2 else ''} min"
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    hours, fives = divmod(round(minutes / 5), 12)
    return f"{hours} h {5 * fives} min" if fives else f"{hours} h"


def programme(batch: Batch) -> tuple[str, ...]:
    """Return the steps of one sheet in order, each with the time on a clock started with it.

    With several loads, the steps before joining are those of one load; each load starts its own clock.
    """
    folds = (cycle.fold for cycle in batch.recipe.folding.cycles(batch.recipe.sheet.size_mm))
    steps = batch.times["usual"].steps
    return tuple(f"{_clock(step.start_s)}  {_step_text(step, batch, folds)}" for step in steps)


def plan_lines(batch: Batch) -> tuple[str, ...]:
    """Return the whole plan as lines for a terminal: grams, settings, times, steps, cautions."""
    each = "the sheet" if batch.tiles == 1 else f"each of {batch.tiles} tiles"
    finished = sides_text(batch.order.finished_mm)
    hot = f"{batch.hot_length_mm.usual:.0f} × {batch.hot_width_mm.usual:.0f} mm"
    spacers = with_range(batch.spacer_mm, 1)
    lines = [f"Weigh in for {each}, {finished} finished, {load_text(batch)}:"]
    lines += [
        f"{part.load_g:9.1f} g  {part.flake.name}, {part.total_g:.0f} g in all, {pieces_text(part.pieces)}"
        for part in batch.portions
    ]
    lines += [
        f"Set: plates {batch.press.plate_c:g} °C, spacers {spacers} mm, hot plan {hot}.",
        f"Hot work {with_range(batch.heat_minutes)} min, under clamps {with_range(batch.cool_minutes)} min.",
        *(f"  {line}" for line in programme(batch)),
        *shortage(batch),
        *(f"{caution.title}. {caution.text}" for caution in cautions()),
    ]
    return tuple(lines)


def load_text(batch: Batch) -> str:
    """Return how many loads there are, and their mass."""
    if batch.loads == 1:
        return f"in one load of {batch.tile_g.usual:.0f} g"
    return f"in {batch.loads} loads of {batch.tile_g.usual / batch.loads:.0f} g, joined at the end"


def pieces_text(pieces: Range) -> str:
    """Return how many pieces to collect, with the range unless a piece was weighed."""
    low, usual, high = (round(count) for count in (pieces.low, pieces.usual, pieces.high))
    return piece_count(usual) if low == high else f"about {piece_count(usual)} ({low} to {high})"


def piece_count(pieces: float) -> str:
    """Return a number of pieces in words.

    Examples
    --------
    >>> piece_count(1), piece_count(35)
    ('1 piece', '35 pieces')
    """
    return f"{round(pieces)} piece" + ("" if round(pieces) == 1 else "s")


def with_range(values: Range, digits: int = 0) -> str:
    """Return a usual value with its published range.

    Examples
    --------
    >>> with_range(Range(6.71, 6.9, 7.26), 1)
    '6.9 (6.7 to 7.3)'
    """
    usual, limits = f"{values.usual:.{digits}f}", range_text(values, digits)
    return usual if limits == f"{usual} to {usual}" else f"{usual} ({limits})"


def range_text(values: Range, digits: int = 0) -> str:
    """Return the ends of a range in words.

    Examples
    --------
    >>> range_text(Range(6.71, 6.9, 7.26), 1)
    '6.7 to 7.3'
    """
    return f"{values.low:.{digits}f} to {values.high:.{digits}f}"


def grams_text(grams: float) -> str:
    """Return grams as a kitchen scale shows them.

    Examples
    --------
    >>> grams_text(99.94), grams_text(123.4)
    ('99.9 g', '123 g')
    """
    return f"{grams:.1f} g" if grams < 100 else f"{grams:.0f} g"


def sides_text(sides_mm: Iterable[float]) -> str:
    """Return sides in words, to a tenth of a millimetre.

    Examples
    --------
    >>> sides_text((180.0, 150.04, 6.25))
    '180 × 150 × 6.2 mm'
    """
    return " × ".join(f"{round(side, 1):g}" for side in sides_mm) + " mm"


def shortage(batch: Batch) -> tuple[str, ...]:
    """Return what the stock is short of and the mix it allows, a sentence each; empty where it covers all."""
    if not batch.short_of:
        return ()
    missing = ", ".join(f"{grams:.1f} g of {name}" for name, grams in batch.short_of.items())
    short = f"The stock is short of {missing}."
    if batch.nearest_g is None:
        return short, "All these flakes together are less than the batch needs."
    allowed = ", ".join(f"{grams:.1f} g {name}" for name, grams in batch.nearest_g.items())
    return short, f"The nearest mix it allows: {allowed}."


def _step_text(step: Step, batch: Batch, folds: Iterator[str]) -> str:
    """Return one step in words; a fold takes the next move's name."""
    for_time = duration(step.seconds)
    if step.kind == "fold":
        return f"Open, fold ({next(folds)}) and close again within {for_time}"
    if step.kind == "join":
        return f"Lay the {batch.loads} loads on each other and melt them together, {for_time}"
    if step.kind == "cool":
        target = f"{batch.press.release_c:g} °C right through"
        board = heat()["board"][batch.press.board]["name"]
        return f"Clamp flat ({board} on both sides) until {target}, {for_time}"
    words = {
        "melt": "Melt the flakes between the plates",
        "turn": "Turn over and press on",
        "soak": "Leave it under the plates to soak",
        "press": "Press",
    }
    return f"{words[step.kind]}, {for_time}"


def _clock(seconds: float) -> str:
    """Return a time as m:ss, or h:mm:ss."""
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"
