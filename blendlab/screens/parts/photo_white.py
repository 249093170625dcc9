"""What shows the light of a photo, white paper or a colour chart, and the points set on it."""

from collections.abc import Sequence

import streamlit as st

from ...photo.light import Box
from .picker import Point
from .session import KEEP

FOUND, PAPER, CHART = "White paper, found by itself", "White paper, set at W", "A 24-patch colour chart"
HELP = (
    "White paper shows the colour of the light. It is found by itself; if not, set W on bare paper. "
    "A chart shows more, and colours are read twice as well: set A to D on the outer corners of its four "
    "corner patches, clockwise, beginning anywhere."
)
CORNERS = (
    ("A", "first corner patch of the chart"),
    ("B", "second corner patch of the chart"),
    ("C", "third corner patch of the chart"),
    ("D", "fourth corner patch of the chart"),
)
_WHITE = ("W", "white paper")
_START: dict[str, list[Point]] = {
    FOUND: [],
    PAPER: [(0.04, 0.04)],
    CHART: [(0.72, 0.74), (0.94, 0.74), (0.94, 0.94), (0.72, 0.94)],
}
_WHITE_PART = 0.03  # side of the box taken on the white paper, as a part of the photo's longer side


def ask(key: str) -> str:
    """Let the maker choose what shows the light."""
    way = st.selectbox("The light is shown by", tuple(_START), key=key, width=260, help=HELP, **KEEP)
    return way or FOUND


def points(way: str) -> tuple[list[Point], list[tuple[str, str]]]:
    """Return where points of a way start, and a letter and a name for each."""
    labels = {FOUND: (), PAPER: (_WHITE,), CHART: CORNERS}[way]
    return list(_START[way]), list(labels)


def on_photo(
    way: str, moved: Sequence[Point], shape: tuple[int, ...]
) -> tuple[Box | None, tuple[Point, ...] | None]:
    """Return the box on white paper and the chart's corners, in pixels of the photo, from the points set."""
    high, wide = shape[:2]
    box = _box(moved[0], wide, high) if way == PAPER else None
    return box, tuple((x * wide, y * high) for x, y in moved) if way == CHART else None


def _box(point: Point, wide: int, high: int) -> Box:
    """Return a small box round a point."""
    side = _WHITE_PART * max(high, wide)
    left = min(max(point[0] * wide - side / 2, 0), wide - side)
    top = min(max(point[1] * high - side / 2, 0), high - side)
    return (left, top, side, side)
