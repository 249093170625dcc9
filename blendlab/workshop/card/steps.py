"""The card's steps: a box to tick for every press, and the cooling with its curve."""

import numpy as np

from ..batch_plan import Batch
from ..properties import hdpe
from ..wording import MIN_CLOSING_S, duration, range_text, spacers_of, with_range
from .pdf_page import GREY, PALE, Box, Paper

MAX_TICK_ROWS = 6  # more loads need further cards
COOLING_MM = 38.0
HEAD_MM = 19.5  # words above the boxes
_LABEL_MM = 20.0


def grid_height(batch: Batch) -> float:
    """Return the height of the grid of boxes, mm."""
    return HEAD_MM + _row_mm(batch) * _rows(batch)


def grid(page: Paper, box: Box, batch: Batch) -> None:
    """Draw one row per load with one box per press, below what each press is."""
    folds = batch.recipe.folding.folds
    page.heading(box.x, box.y + 3, "Press, and tick")
    page.text(box.right, box.y + 3, _moves(batch), 9.5, width=box.width - 40, right=True)
    page.text(box.x, box.y + 9, _words(batch), 11, width=box.width)
    page.text(box.x, box.y + 13.6, _limits(batch), 9, width=box.width)
    cell_mm = min(16.0, (box.width - _LABEL_MM) / (folds + 1 + (batch.loads > 1)))
    y, row_mm = box.y + HEAD_MM - 0.5, _row_mm(batch)
    spacers, names = spacers_of(batch), ["melt", *(str(fold) for fold in range(1, folds + 1))]
    for number, name in enumerate(names):
        page.text(box.x + _LABEL_MM + number * cell_mm, y - 1, name, 9)
    if folds:
        page.text(box.x, y - 1, "folds", 9, grey=GREY)
    for load in range(1, _rows(batch) + 1):
        page.text(box.x, y + row_mm / 2 + 1.2, f"Load {load}" if batch.loads > 1 else "Sheet", 11, weight="B")
        for number in range(len(names)):
            x, side = box.x + _LABEL_MM + number * cell_mm, min(row_mm, cell_mm) - 1.8
            _tick(page, x, y + 0.6, side)
            if spacers:
                height, _ = spacers[number].split()
                page.text(x + 0.7, y + side - 0.2, height, 7, grey=GREY)
        y += row_mm
    if batch.loads > 1:
        x = box.x + _LABEL_MM + len(names) * cell_mm
        page.text(x, box.y + HEAD_MM - 1.5, "join", 9)
        _tick(page, x, box.y + HEAD_MM + 0.1, min(row_mm, cell_mm) - 1.8)


def cooling(page: Paper, box: Box, batch: Batch) -> None:
    """Draw the temperature curves, and when the clamps can come off."""
    chart, words = box.split(0.55 * box.width)
    _chart(page, chart, batch)
    table = batch.times["usual"]
    page.heading(words.x, words.y + 3, "Cool under boards, clamped flat")
    page.text(words.x, words.y + 10.5, duration(table.release_s), 17, weight="B")
    soonest, _, latest = (duration(minutes * 60) for minutes in batch.cool_minutes)
    published = f"published properties say {soonest} to {latest}"
    page.text(words.x, words.y + 16, published, 8.5, width=words.width)
    safe, release = hdpe()["safe_core_c"]["value"], batch.press.release_c
    lines = (
        f"Over {safe:g} °C inside for {duration(table.safe_s)}",
        f"Clamped until {release:g} °C right through",
        "Slacken the clamps little by little",
    )
    for number, line in enumerate(lines):
        y = words.y + 23 + number * 6
        _tick(page, words.x, y - 3.4, 3.8)
        page.text(words.x + 5.6, y, line, 11, width=words.width - 5.6)


def _moves(batch: Batch) -> str:
    """Return the moves and the length of the hot work in one line."""
    folding = batch.recipe.folding
    if folding.moves is not None:
        moves = "moves: " + ", ".join(folding.moves)
    elif folding.folds:
        often = "once" if folding.folds == 1 else f"{folding.folds} times, a quarter turn between"
        moves = f"move: {folding.move}, {often}"
    else:
        moves = "pressed once, not folded"
    return f"hot work about {duration(60 * batch.heat_minutes.usual)}; {moves}"


def _words(batch: Batch) -> str:
    """Return what each press is, in one line."""
    table, press = batch.times["usual"], batch.press
    melt = sum(step.seconds for step in table.steps if step.start_s < table.melted_s)
    words = [f"Melt {duration(melt)}, soak {duration(press.soak_s)}"]
    presses = [step.seconds for step in table.steps if step.kind == "press"]
    if presses:
        words.append(f"each fold: open at most {duration(press.open_s)}, press {duration(max(presses))}")
    joining = [step.seconds for step in table.steps if step.kind == "join"]
    if joining:
        words.append(f"join all loads: {duration(joining[0])}")
    return "  ·  ".join(words)


def _limits(batch: Batch) -> str:
    """Return how much of the melt's life is used and how long a press takes to close, in one line."""
    ageing, report = batch.ageing, batch.closing
    lasts = range_text(ageing.lasts_minutes)
    words = [f"in the boxes: spacers, {spacers[0].split()[1]}"] if (spacers := spacers_of(batch)) else []
    words.append(f"at {ageing.at_c:g} °C the melt lasts {lasts} min: this uses up {ageing.used_minutes:.0f}")
    if report is not None:
        slowest = report.slowest
        usual = duration(max(slowest.seconds.usual, MIN_CLOSING_S))
        closes = usual if report.closes else "not closed by this force"
        words.append(f"slowest press: {closes}, {with_range(slowest.pressure_kpa)} kPa")
    return "  ·  ".join(words)


def _tick(page: Paper, x: float, y: float, side: float) -> None:
    """Draw a box to tick."""
    page.frame(Box(x, y, side, side), line=0.35)


def _rows(batch: Batch) -> int:
    """Return the number of rows of boxes."""
    return min(batch.loads, MAX_TICK_ROWS)


def _row_mm(batch: Batch) -> float:
    """Return the height of one row of boxes, mm."""
    return (9.0, 9.0, 7.0, 6.0, 5.6, 5.6)[_rows(batch) - 1]


def _chart(page: Paper, box: Box, batch: Batch) -> None:
    """Draw core and face temperature over time, with the melting range behind them."""
    table = batch.times["usual"]
    plot = Box(box.x + 11, box.y + 2, box.width - 12, box.height - 8)
    top_c, whole_s = 200.0, float(table.seconds[-1])

    def at(seconds: float, celsius: float) -> tuple[float, float]:
        height = min(max(celsius / top_c, 0.0), 1.0)
        return plot.x + plot.width * seconds / whole_s, plot.bottom - plot.height * height

    low, high = (at(0, hdpe()[name]["value"])[1] for name in ("melting_end_c", "melting_start_c"))
    page.frame(Box(plot.x, low, plot.width, high - low), fill=PALE, line=0)
    sets = f"{hdpe()['setting_end_c']['value']:g}-{hdpe()['setting_start_c']['value']:g} °C"
    page.text(plot.right - 1, high + 3.2, f"melting range; sets at {sets}", 8.5, grey=GREY, right=True)
    for mark in (0, 50, 100, 150, 200):
        y = at(0, mark)[1]
        page.rule(plot.x, y, plot.right, y, grey=PALE, line=0.15)
        page.text(plot.x - 1.5, y + 1, f"{mark}", 8.5, right=True)
    page.text(plot.x - 1.5, plot.y + 5.2, "°C", 8.5, right=True)
    spacing_s = next(
        step for step in (900.0, 1800.0, 3600.0, 7200.0, 14400.0, 86400.0) if whole_s / step <= 6
    )
    for mark_s in np.arange(0, whole_s, spacing_s):
        x = at(mark_s, 0)[0]
        page.rule(x, plot.bottom, x, plot.bottom + 1.2)
        if x < plot.right - 10:
            page.text(x, plot.bottom + 4.6, duration(mark_s) if mark_s else "0", 8.5)
    face = np.minimum(table.bottom_c, table.top_c)
    page.curve([at(s, c) for s, c in zip(table.seconds, face, strict=True)], 0.25, dashed=True)
    page.curve([at(s, c) for s, c in zip(table.seconds, table.core_c, strict=True)], 0.5)
    page.text(plot.right - 1, plot.y + 3, "core  —   face  - -", 8.5, right=True)
    boards = at(table.hot_s, 0)[0]
    page.rule(boards, plot.y, boards, plot.bottom, line=0.2)
    page.text(boards + 1, plot.y + 3, "under boards", 8.5)
