"""A flake's colour, picked from a photo of flakes on white paper or beside a colour chart."""

import hashlib

import numpy as np
import numpy.typing as npt
import streamlit as st

from ...colour.spaces import Colour
from ...io.photo_files import photo_from_bytes
from ...io.pictures import png_bytes
from ...photo.flake_colour import flake_colour
from . import photo_white, refusals
from .picker import points_on
from .session import Value
from .style import swatch

PHOTO_TYPES = ["jpg", "jpeg", "png", "webp"]
PREVIEW_PX = 900
Kept = tuple[str, bytes, str]  # digest, content and name of a file


@st.cache_data(max_entries=4, show_spinner="Reading the photo …")
def decoded(digest: str, _content: bytes, name: str) -> npt.NDArray[np.uint8]:
    """Return the pixels of a photo file."""
    return photo_from_bytes(_content, name)


@st.cache_data(max_entries=4, show_spinner=False)
def preview(digest: str, _photo: npt.NDArray[np.uint8]) -> bytes:
    """Return the photo small enough for a page."""
    step = -(-max(_photo.shape) // PREVIEW_PX)
    return png_bytes(_photo[::step, ::step], 4.0)


def bring(label: str, key: str, kept: Value[Kept | None]) -> tuple[str, npt.NDArray[np.uint8]] | None:
    """Ask for a photo; return it, or the one kept before, with its digest. A bad one leaves the old one."""
    given = st.file_uploader(f"{label}: JPEG, PNG or WebP", PHOTO_TYPES, key=key)
    if given is not None:
        new = digested(given.getvalue(), given.name)
        with refusals.shown():
            decoded(*new)
            kept.put(new)
    known = kept.get()
    return (known[0], decoded(*known)) if known else None


def digested(content: bytes, name: str) -> Kept:
    """Return a photo file with its digest."""
    return hashlib.sha256(content).hexdigest(), content, name


def pick(digest: str, photo: npt.NDArray[np.uint8], key: str) -> Colour | None:
    """Let a point be moved onto a flake; return the colour there, None where it is refused."""
    st.caption("For a photo of flakes or caps on white paper, or beside a colour chart: move F onto a flake.")
    way = photo_white.ask(f"{key} white")
    start, labels = photo_white.points(way)
    moved = points_on(
        preview(digest, photo),
        [*start, (0.5, 0.5)],
        [*labels, ("F", "flake")],
        4 if way == photo_white.CHART else 0,
        f"{key} {digest[:12]} {way}",
    )
    high, wide = photo.shape[:2]
    *shown, flake = moved
    with refusals.shown():
        white_px, chart_px = photo_white.on_photo(way, shown, photo.shape)
        read = flake_colour(photo, (flake[0] * wide, flake[1] * high), white_px, chart_px)
        off = f"Nine times in ten within ΔE00 {read.band90_delta_e00:.0f} of its own colour."
        swatch("The flake", read.colour, figure=off)
        return read.colour
    return None


def ask(label: str, key: str) -> Colour | None:
    """Offer a photo, and return the colour picked in it, None where there is none."""
    given = st.file_uploader(label, PHOTO_TYPES, key=f"{key} photo")
    if given is None:
        return None
    new = digested(given.getvalue(), given.name)
    with refusals.shown("The colour above counts."):
        return pick(new[0], decoded(*new), key)
    return None
