"""The batch card: one printed page to keep beside the press.

It can be printed in black and white: every colour has a letter, a name and its grams, and nothing depends on
colour alone. What is read at the press is set in 11 points or more, cautions in 8.5; both are legible at 0.6
m.
"""

from datetime import UTC, date, datetime, time
from math import ceil

import numpy as np
import numpy.typing as npt

from ... import checks
from ...io.pictures import png_bytes
from ...look.charge_view import charge_view
from ...units import MM_PER_INCH, Units
from ..batch_plan import Batch, Portion
from ..cautions import cautions
from ..laying import lay_lines
from ..properties import heat
from ..wording import hot_plan, liners_text, pieces_text, range_text
from .pdf_page import PAPERS, Box, Paper
from .steps import COOLING_MM, cooling, grid, grid_height

RULERS = {"mm": (500, 200, 100, 50, 20, 10, 5, 2), "in": (20, 10, 5, 2, 1, 0.5, 0.25, 0.05)}
ONE_COLUMN = 6  # flakes
GAP_MM = 5.5
HEADER_MM = 15.0
SETTINGS_MM = 17.5
CAUTIONS_MM = 65.5
LAID_MM = 27.0  # least height of how the charge is laid, and width of its view
LINE_MM = 3.9  # a line there
CAUTION_POINTS = 8.5
_CAPTION_MM = 10.5


def card_pdf(batch: Batch, *, picture: bytes, made_on: date, paper: str = "A4") -> bytes:
    """Lay out a batch card.

    InputError where the paper is unknown.

    Parameters
    ----------
    picture : bytes
        The predicted top face of one tile before trimming, PNG.
    made_on : date
        Printed on the card and written into the file.
    paper : str
        A4 or Letter.

    Returns
    -------
    bytes
        A PDF of one page; the same batch gives the same bytes.
    """
    checks.one_of("paper", paper, PAPERS)
    page = Paper(paper, f"{batch.recipe.name}: batch card", datetime.combine(made_on, time(), UTC))
    area, steps_mm = page.area, grid_height(batch)
    fixed = (HEADER_MM, SETTINGS_MM, steps_mm, COOLING_MM, CAUTIONS_MM)
    look_mm = area.height - sum(fixed) - 4 * GAP_MM
    heights = (HEADER_MM - GAP_MM, look_mm, SETTINGS_MM, steps_mm, COOLING_MM, CAUTIONS_MM)
    tops = np.cumsum([area.y, *(height + GAP_MM for height in heights)])
    boxes = [Box(area.x, float(y), area.width, h) for y, h in zip(tops, heights, strict=False)]
    _header(page, boxes[0], batch, made_on)
    look, flakes = boxes[1].split(min(look_mm - _CAPTION_MM, 0.5 * area.width))
    _picture(page, look, batch, picture)
    _flakes(page, flakes, batch)
    _settings(page, boxes[2], batch)
    grid(page, boxes[3], batch)
    cooling(page, boxes[4], batch)
    _cautions(page, boxes[5])
    return page.bytes()


def card_picture(pdf: bytes, px_per_mm: float = 8.0) -> npt.NDArray[np.uint8]:
    """Render a card to pixels, so that the picture on the page is the card itself.

    Parameters
    ----------
    px_per_mm : float
        Pixels per millimetre of paper; 8 is about 200 dpi.

    Returns
    -------
    ndarray of uint8, shape (height, width, 3)
        sRGB, white paper; encode it with `pictures.png_bytes` at the same `px_per_mm`.
    """
    import pypdfium2  # type: ignore[import-untyped] # used only here, and slow to load

    document = pypdfium2.PdfDocument(pdf)
    try:
        page = document[0]
        bitmap = page.render(scale=px_per_mm * MM_PER_INCH / 72, rev_byteorder=True)
        pixels: npt.NDArray[np.uint8] = bitmap.to_numpy()[..., :3].copy()
        return pixels
    finally:
        document.close()


def _header(page: Paper, box: Box, batch: Batch, made_on: date) -> None:
    """Draw the recipe's name and the date."""
    day = f"{made_on.day} {made_on:%B %Y}"
    page.title(box.x, box.y + 8, batch.recipe.name, box.width - page.text_width(day, 11) - 8)
    page.text(box.right, box.y + 8, day, 11, right=True)
    page.rule(box.x, box.bottom + 1, box.right, box.bottom + 1, line=0.6)


def _picture(page: Paper, box: Box, batch: Batch, picture: bytes) -> None:
    """Draw the predicted face, cold and to scale, with its trim line and a ruler."""
    face, scale = _to_scale(batch, box)
    page.picture(face, picture, f"Predicted top face of {batch.recipe.name}")
    page.frame(face)
    trim = batch.order.trim_mm / scale
    if trim > 0:
        left, right, top, bottom = face.x + trim, face.right - trim, face.y + trim, face.bottom - trim
        around = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]
        page.curve(around, 0.5, grey=255)  # under the dashes, so that they show on any colour
        page.curve(around, 0.3, dashed=True)
    words = "Predicted, true size" if scale == 1 else f"Predicted, 1 : {scale:g}"
    page.text(box.x, face.bottom + 5, words, 9.5)
    length = batch.units.length
    sides = (side * length.metric for side in RULERS[length.symbol])
    ruler = next(mm for mm in sides if mm / scale <= 0.4 * face.width)
    y, end = face.bottom + 8.6, box.x + ruler / scale
    page.rule(box.x, y, end, y, line=0.8)
    page.text(end + 1.5, y + 1.1, batch.units.sides([ruler]) + ("; dashed: trim" if trim > 0 else ""), 9)


def _to_scale(batch: Batch, box: Box) -> tuple[Box, float]:
    """Return the box of the face, true to size or as large as fits, and its scale."""
    length, width, _ = batch.order.pressed_mm
    needed = max(length / box.width, width / (box.height - _CAPTION_MM))
    scale = 1.0 if needed <= 1 else ceil(10 * needed) / 10
    return Box(box.x, box.y, length / scale, width / scale), scale


def _flakes(page: Paper, box: Box, batch: Batch) -> None:
    """List what to weigh in, one row per flake, in one column or two, then the lays or room for notes."""
    several, portions = batch.loads * batch.tiles > 1, batch.portions
    page.heading(box.x, box.y + 3, "Weigh in, for each load" if several else "Weigh in")
    columns = [box] if len(portions) <= ONE_COLUMN else list(box.split((box.width - 6) / 2))
    rows = -(-len(portions) // len(columns))
    lays = lay_lines(batch.recipe, batch.load_g, batch.units)
    laid_mm = max(LAID_MM, 6 + LINE_MM * len(lays)) if lays else 0.0
    row_mm = min(12.0, (box.height - 16 - laid_mm) / rows)
    for number, part in enumerate(portions):
        column = columns[number // rows]
        row = Box(column.x, box.y + 5.5 + number % rows * row_mm, column.width, row_mm)
        _flake(page, row, chr(ord("A") + number), part, batch.units)
    y = box.y + 5.5 + rows * row_mm
    page.rule(box.x, y + 0.4, box.right, y + 0.4, line=0.5)
    whole = f"One load, of {batch.units.grams(batch.total_g.usual)} in total" if several else "Total"
    page.text(box.x, y + 7, whole, 11)
    page.text(
        box.right, y + 7, batch.units.grams(batch.tile_g.usual / batch.loads), 15, weight="B", right=True
    )
    below = Box(box.x, y + 11, box.width, box.bottom - y - 11)
    if lays:
        _laid(page, below, batch, lays)
    else:
        _notes(page, Box(below.x, below.y + 3, below.width, below.height - 3))


def _laid(page: Paper, box: Box, batch: Batch, lays: tuple[str, ...]) -> None:
    """Write in which order and where the flakes are laid, beside a view of the laid charge."""
    view = charge_view(batch.recipe)
    rows, columns, _ = view.shape
    width = min(LAID_MM, (box.height - 1) * columns / rows)
    page.picture(
        Box(box.right - width, box.y, width, width * rows / columns),
        png_bytes(view, columns / width),
        "The laid charge from above, and cut through the middle",
    )
    page.heading(box.x, box.y + 3, "Lay, in this order")
    y, words = box.y + 5.5, Box(box.x, box.y, box.width - width - 3, box.height)
    for line in lays:
        number, text = line.split(" ", 1)
        y += page.paragraph(Box(words.x, y, words.width, words.bottom - y), number[:-1], text, 8.5)


def _flake(page: Paper, row: Box, letter: str, part: Portion, units: Units) -> None:
    """Draw one flake: letter, swatch, name, pieces to collect, grams."""
    middle = row.y + row.height / 2
    swatch = Box(row.x + 5, row.y + 0.9, 10, row.height - 1.8)
    page.text(row.x, middle + 1.5, letter, 11, weight="B")
    page.frame(swatch, fill=part.flake.srgb)
    amount, points = units.grams(part.load_g), min(15.0, 2 * row.height)
    x = swatch.right + 2.5
    width = row.right - page.text_width(amount, points, "B") - 2.5 - x
    spacious = row.height >= 9
    page.text(x, middle + (-0.3 if spacious else 1.5), part.flake.name, 11, width=width)
    if spacious:
        count = pieces_text(part.pieces)
        if page.text_width(count, 8.5) > width:
            count = count.partition(" (")[0]
        page.text(x, middle + 4, count, 8.5, width=width)
    page.text(row.right, middle + 1.8, amount, points, weight="B", right=True)
    page.rule(row.x, row.bottom, row.right, row.bottom, grey=200, line=0.15)


def _notes(page: Paper, box: Box) -> None:
    """Draw lines to write on if there is room for two or more."""
    if box.height < 18:
        return
    page.heading(box.x, box.y + 3, "Notes")
    for number in range(1, int((box.height - 2) / 8) + 1):
        y = box.y + 3 + 8 * number
        page.rule(box.x, y, box.right, y, grey=170, line=0.15)


def _settings(page: Paper, box: Box, batch: Batch) -> None:
    """Draw the settings of the press and the size to expect."""
    loads = f"{batch.loads} × {batch.units.grams(batch.load_g)}"
    each = "a sheet" if batch.tiles == 1 else f"each of {batch.tiles} tiles"
    limit = heat()["liner"][batch.press.liner]["limit_c"]
    units = batch.units
    spacers = range_text(batch.spacer_mm, 1, units.length)
    cells = (
        (0.15, "Plates", f"{batch.press.plate_c:g} °C", f"{liners_text(batch)}: below {limit:g} °C"),
        (0.16, "Spacers", units.length.text(batch.spacer_mm.usual, 1), spacers),
        (0.22, "Frame, hot", hot_plan(batch), "shrinks as it cools"),
        (0.19, "Loads", loads, each),
        (
            0.28,
            "Cold, trimmed",
            units.sides(batch.order.finished_mm),
            f"before: {units.sides(batch.order.pressed_mm)}",
        ),
    )
    x = box.x
    for share, title, value, note in cells:
        cell = Box(x, box.y, share * box.width, box.height)
        page.frame(cell)
        page.heading(cell.x + 2, cell.y + 4.2, title)
        page.fitted(cell.x + 2, cell.y + 10.4, value, 13.5, cell.width - 3, weight="B")
        page.fitted(cell.x + 2, cell.y + 15, note, 8.5, cell.width - 3)
        x += cell.width


def _cautions(page: Paper, box: Box) -> None:
    """Print all cautions in two columns."""
    page.rule(box.x, box.y, box.right, box.y, line=0.6)
    columns = box.split((box.width - 6) / 2)
    everything = cautions()
    half = (len(everything) + 1) // 2
    for column, part in zip(columns, (everything[:half], everything[half:]), strict=True):
        y = column.y + 2.5
        for caution in part:
            place = Box(column.x, y, column.width, column.bottom - y)
            y += page.paragraph(place, caution.title, caution.text, CAUTION_POINTS) + 1.1
