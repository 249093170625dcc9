"""A flake's colour, picked from a photo of flakes on white paper; the point set on that paper."""

import hashlib

import numpy as np
import numpy.typing as npt
import streamlit as st

from ...colour.spaces import Colour
from ...io.photo_files import photo_from_bytes
from ...io.pictures import png_bytes
from ...photo.flake_colour import flake_colour
from ...photo.light import Box
from . import refusals
from .picker import Point, points_on
from .session import KEEP
from .style import swatch

PHOTO_TYPES = ["jpg", "jpeg", "png", "webp"]
PREVIEW_PX = 900
WHITE_TOGGLE = "I set W on white paper myself"
WHITE = (
    "White paper shows the colour of the light. It is found by itself; where that fails, switch this on and "
    "move W onto bare paper."
)
_WHITE_PART = 0.03  # side of the box taken on the white paper, as a part of the photo's longer side


@st.cache_data(max_entries=4, show_spinner="Reading the photo …")
def decoded(digest: str, _content: bytes, name: str) -> npt.NDArray[np.uint8]:
    """Return the pixels of a photo file."""
    return photo_from_bytes(_content, name)


@st.cache_data(max_entries=4, show_spinner=False)
def preview(digest: str, _photo: npt.NDArray[np.uint8]) -> bytes:
    """Return the photo small enough for a page."""
    step = -(-max(_photo.shape) // PREVIEW_PX)
    return png_bytes(_photo[::step, ::step], 4.0)


def white_box(point: Point, shape: tuple[int, ...]) -> Box:
    """Return a small box on the photo round a point, in pixels."""
    high, wide = shape[:2]
    side = _WHITE_PART * max(high, wide)
    left = min(max(point[0] * wide - side / 2, 0), wide - side)
    top = min(max(point[1] * high - side / 2, 0), high - side)
    return (left, top, side, side)


def pick(digest: str, photo: npt.NDArray[np.uint8], key: str) -> Colour | None:
    """Let a point be moved onto a flake; return the colour there, None where it is refused."""
    st.caption("For a photo of flakes or caps on white paper: move F onto a flake.")
    by_hand = st.toggle(WHITE_TOGGLE, key=f"{key} paper", help=WHITE, **KEEP)
    labels = (("F", "flake"), ("W", "white paper"))[: 1 + by_hand]
    start = [(0.5, 0.5), (0.1, 0.1)][: 1 + by_hand]
    flake, *white = points_on(preview(digest, photo), start, labels, 0, f"{key} {digest[:12]} {by_hand}")
    high, wide = photo.shape[:2]
    with refusals.shown():
        box = white_box(white[0], photo.shape) if white else None
        colour = flake_colour(photo, (flake[0] * wide, flake[1] * high), box)
        swatch("The flake", colour)
        return colour
    return None


def ask(label: str, key: str) -> Colour | None:
    """Offer a photo, and return the colour picked in it, None where there is none."""
    given = st.file_uploader(label, PHOTO_TYPES, key=f"{key} photo")
    if given is None:
        return None
    content = given.getvalue()
    digest = hashlib.sha256(content).hexdigest()
    with refusals.shown("The colour above counts."):
        return pick(digest, decoded(digest, content, given.name), key)
    return None
