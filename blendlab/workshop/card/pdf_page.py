"""A page to draw a card on, in millimetres: one typeface in two weights, black and greys.

Positions are measured from the top left corner. Text is real text, cut to the width available; a character
that the typeface lacks is printed as a box rather than dropped.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from importlib.resources import files
from io import BytesIO
from typing import Literal

from fpdf import FPDF
from fpdf.fonts import TTFFont

from ...units import MM_PER_INCH

PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # mm
MARGIN_MM = 10.0
POINT_MM = MM_PER_INCH / 72
GREY = 95  # small headings: dark enough for a poor printer
PALE = 225
MIN_SHRINK = 0.6  # part of its usual size that a line keeps at least

_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:°C|%|mm|g|min|s|h|oz|in)(?!\w))")

Weight = Literal["", "B"]


@dataclass(frozen=True)
class Box:
    """A rectangle on the page, mm from the top left corner."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Right edge, mm."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Lower edge, mm."""
        return self.y + self.height

    def split(self, left: float, gap: float = 6.0) -> tuple["Box", "Box"]:
        """Return a left part of a given width, and the rest after a gap."""
        rest = self.width - left - gap
        return Box(self.x, self.y, left, self.height), Box(self.x + left + gap, self.y, rest, self.height)


class Paper:
    """One page being drawn.

    Parameters
    ----------
    paper : str
        A4 or Letter.
    made : datetime
        Creation date in the file; with it fixed, the same card gives the same bytes.
    """

    def __init__(self, paper: str, title: str, made: datetime) -> None:
        width, height = PAPERS[paper]
        self.pdf = FPDF(unit="mm", format=(width, height))
        self.pdf.set_auto_page_break(False)
        self.pdf.set_creation_date(made)
        self.pdf.set_title(title)
        self.pdf.set_creator("blendlab")
        for weight, name in (("", "inter-400.ttf"), ("B", "inter-600.ttf")):
            source = files(__package__).joinpath("fonts", name)
            self.pdf.add_font("Inter", weight, str(source))
        font = self.pdf.fonts["inter"]
        self._glyphs = frozenset(font.cmap if isinstance(font, TTFFont) else ())
        self.pdf.add_page()
        self.pdf.set_line_width(0.25)
        self.area = Box(MARGIN_MM, MARGIN_MM, width - 2 * MARGIN_MM, height - 2 * MARGIN_MM)

    def text(
        self,
        x: float,
        baseline: float,
        text: str,
        points: float,
        *,
        weight: Weight = "",
        grey: int = 0,
        width: float | None = None,
        right: bool = False,
    ) -> None:
        """Write one line, ending at `x` if `right`; a line too long for `width` ends in an ellipsis."""
        self.pdf.set_font("Inter", weight, points)
        self.pdf.set_text_color(grey)
        shown = self._truncated(self._printable(text), width)
        self.pdf.text(x - self.pdf.get_string_width(shown) if right else x, baseline, shown)

    def text_width(self, text: str, points: float, weight: Weight = "") -> float:
        """Return the width of a line of text, mm."""
        self.pdf.set_font("Inter", weight, points)
        return float(self.pdf.get_string_width(self._printable(text)))

    def fitted(
        self, x: float, baseline: float, text: str, points: float, width: float, *, weight: Weight = ""
    ) -> None:
        """Write a line, smaller than `points` where it is too long, as far as `MIN_SHRINK` allows."""
        fits = points * min(1.0, max(MIN_SHRINK, width / self.text_width(text, points, weight)))
        self.text(x, baseline, text, fits, weight=weight, width=width)

    def title(self, x: float, baseline: float, text: str, width: float) -> None:
        """Write a line as large as its width allows, up to 24 points."""
        self.fitted(x, baseline, text, 24, width, weight="B")

    def paragraph(self, box: Box, title: str, text: str, points: float) -> float:
        """Write a paragraph that starts with a bold title; return its height, mm.

        No line breaks between a number and its unit.
        """
        line = 1.27 * points * POINT_MM
        self.pdf.set_text_color(0)
        self.pdf.set_xy(box.x, box.y)
        self.pdf.set_left_margin(box.x)
        self.pdf.set_right_margin(self.pdf.w - box.right)
        self.pdf.c_margin = 0
        for weight, part in (("B", f"{title}. "), ("", text)):
            self.pdf.set_font("Inter", weight, points)
            self.pdf.write(line, self._printable(_BEFORE_UNIT.sub("\N{NO-BREAK SPACE}", part)))
        return float(self.pdf.get_y() + line - box.y)

    def heading(self, x: float, baseline: float, text: str) -> None:
        """Write a small heading."""
        self.text(x, baseline, text.upper(), 8.5, weight="B", grey=GREY)

    def frame(self, box: Box, *, fill: str | int | None = None, line: float = 0.25) -> None:
        """Draw a rectangle, filled with a grey or a colour ``#rrggbb`` if one is given."""
        self.pdf.set_draw_color(0)
        self.pdf.set_line_width(line)
        if isinstance(fill, str):
            self.pdf.set_fill_color(*(int(fill[i : i + 2], 16) for i in (1, 3, 5)))
        elif fill is not None:
            self.pdf.set_fill_color(fill)
        style = "D" if fill is None else "DF" if line else "F"
        self.pdf.rect(box.x, box.y, box.width, box.height, style=style)

    def rule(
        self, x: float, y: float, to_x: float, to_y: float, *, grey: int = 0, line: float = 0.25
    ) -> None:
        """Draw a straight line."""
        self.pdf.set_draw_color(grey)
        self.pdf.set_line_width(line)
        self.pdf.line(x, y, to_x, to_y)

    def curve(
        self, points: Sequence[tuple[float, float]], line: float, *, dashed: bool = False, grey: int = 0
    ) -> None:
        """Draw a line through points."""
        self.pdf.set_draw_color(grey)
        self.pdf.set_line_width(line)
        if dashed:
            self.pdf.set_dash_pattern(dash=0.9, gap=0.7)
        self.pdf.polyline(list(points))
        self.pdf.set_dash_pattern()

    def picture(self, box: Box, png: bytes, alt_text: str) -> None:
        """Place a PNG with its alternative text."""
        self.pdf.image(BytesIO(png), box.x, box.y, box.width, box.height, alt_text=alt_text)

    def bytes(self) -> bytes:
        """Return the finished PDF."""
        return bytes(self.pdf.output())

    def _truncated(self, text: str, width: float | None) -> str:
        """Cut a line to a width, mm."""
        if width is None or self.pdf.get_string_width(text) <= width:
            return text
        while text and self.pdf.get_string_width(f"{text}…") > width:
            text = text[:-1]
        return f"{text.rstrip()}…"

    def _printable(self, text: str) -> str:
        """Replace characters that the typeface lacks with a box."""
        return "".join(character if ord(character) in self._glyphs else "□" for character in text)
