"""Page: from a photo of a past sheet to the flakes, grams and folds that give its look again."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import streamlit as st

from blendlab.colour.spaces import Colour
from blendlab.photo.answer import PhotoMatch
from blendlab.photo.face import Marks
from blendlab.photo.match import match
from blendlab.photo.press_calibration import PressCalibration
from blendlab.photo.rectify import develop
from blendlab.photo.sheet_corners import find_corners
from blendlab.photo.shortlist import MAX_ON_HAND
from blendlab.recipe.flake_list import Stocked, charge
from blendlab.recipe.moves import MOVES
from blendlab.recipe.recipe import FINISHES, MAX_FLAKES, Flake, Sheet
from blendlab.recipe.slab_size import SIDES_MM, THICKNESS_MM
from blendlab.runtime.progress import ProgressCallback
from blendlab.screens.parts import (
    calibration,
    compiling,
    draft,
    help_texts,
    number_fields,
    photo_colour,
    photo_white,
    refusals,
    session,
    stock_table,
)
from blendlab.screens.parts.long_task import again, worked
from blendlab.screens.parts.match_result import show
from blendlab.screens.parts.photo_settings import Settings, corners_off, likely
from blendlab.screens.parts.picker import Point, points_on
from blendlab.screens.parts.session import KEEP

EXAMPLE = draft.SWATCHES / "past-sheet.jpg"
LABELS = (
    ("1", "upper left corner"),
    ("2", "upper right corner"),
    ("3", "lower right corner"),
    ("4", "lower left corner"),
)


@st.cache_data(max_entries=4, show_spinner="Looking for the sheet's corners …")
def _found(digest: str, _photo: npt.NDArray[np.uint8]) -> list[Point] | None:
    """Return the corners as parts of width and height, None where no sheet is found."""
    found = find_corners(develop(_photo))
    if found is None:
        return None
    high, wide = _photo.shape[:2]
    return [(float(x / wide), float(y / high)) for x, y in found.corners_px]


def _matched(digest: str, photo: npt.NDArray[np.uint8], settings: Settings) -> PhotoMatch | None:
    """Match the photo, or None where that was stopped."""

    def work(on_progress: ProgressCallback) -> PhotoMatch:
        return match(photo, **vars(settings), on_progress=on_progress)

    return worked(
        "match",
        (digest, settings),
        "Pressing sheets to compare with; this takes half a minute to two minutes, by machine …",
        work,
    )


def _begin() -> None:
    """Say how to take a photo, and offer the invented one to try."""
    how, example = st.columns([11, 9], gap="large")
    with how:
        st.subheader("How to take it")
        st.markdown(
            "1. From straight above, in even light.\n"
            "2. The whole sheet on a plain ground.\n"
            "3. A piece of white paper beside it, or a 24-patch colour chart if you have one."
        )
        st.caption("The photo stays on this machine, and its place and time are never kept.")
    with example:
        content = EXAMPLE.read_bytes()
        photo = photo_colour.decoded(EXAMPLE.name, content, EXAMPLE.name)
        words = "An invented photo of a marbled sheet on a bench, white paper beside it"
        st.image(photo_colour.preview(EXAMPLE.name, photo), width="stretch", output_format="PNG", alt=words)
        st.button(
            "Open this invented example",
            on_click=session.PHOTO.put,
            args=(photo_colour.digested(content, EXAMPLE.name),),
        )


def _flakes(digest: str, photo: npt.NDArray[np.uint8], shed: tuple[Stocked, ...]) -> tuple[Flake, ...]:
    """Show which flakes the sheet may hold, at first the nearest in colour."""
    names = [flake.name for flake in shed]
    chosen = st.multiselect(
        f"Flakes that may be in it, at most {MAX_ON_HAND}",
        names,
        default=likely(photo, shed),
        max_selections=MAX_ON_HAND,
        key=f"photoflakes {digest[:12]}",
        help="Those nearest to the photo's colours. Leave out what cannot be in it: the fewer, the surer.",
        **KEEP,
    )
    return charge(shed, {flake.name: 10.0 for flake in shed if flake.name in chosen})


def _press() -> PressCalibration | None:
    """Offer to match with what is known of the maker's press; on where the mix uses it."""
    known = calibration.load()
    if known is None:
        return None
    mix = session.RECIPE.get()
    words = "It was made on my press"
    meaning = (
        "Matches with what was learnt from the photos in the log: on your own press the answer is surer."
    )
    used = st.toggle(words, known.applied_to(mix) == mix, key="photopress", help=meaning, **KEEP)
    return known if used else None


def _by_numbers(
    points: list[Point], labels: Sequence[tuple[str, str]], shape: tuple[int, ...]
) -> list[Point]:
    """Return points typed in photo pixels, in place of dragging."""
    high, wide = shape[:2]
    typed: list[Point] = []
    with st.expander("Points as numbers"):
        by_hand = st.toggle("Use these numbers", key="bynumbers", **KEEP)
        for (x, y), (_, name) in zip(points, labels, strict=True):
            across, down = st.columns(2)
            typed.append(
                (
                    _pixels(across, f"x of the {name}", x, wide),
                    _pixels(down, f"y of the {name}", y, high),
                )
            )
    return typed if by_hand else points


def _pixels(column: Any, what: str, part: float, side: int) -> float:
    """Show a coordinate in pixels and return it as a part of the side."""
    key = f"photo {what} {part:.4f}"  # starts again where the point was moved
    return number_fields.number(f"{what}, px", key, round(part * side), 0.0, side, place=column) / side


def _add_to_mix(colour: Colour) -> None:
    names = draft.names()
    if len(names) < MAX_FLAKES:
        name = next(f"from a photo {n}" for n in range(1, MAX_FLAKES + 2) if f"from a photo {n}" not in names)
        draft.add_row(Flake(name, colour.srgb, 20.0))


def _flake_from_photo(digest: str, photo: npt.NDArray[np.uint8]) -> None:
    with st.expander("Pick a flake's colour from this photo"):
        colour = photo_colour.pick(digest, photo, "flake")
        if colour:
            st.button("Add it to the mix", on_click=_add_to_mix, args=(colour,))


def _settings(digest: str, photo: npt.NDArray[np.uint8], shed: tuple[Stocked, ...]) -> Settings:
    """Show the fields of a match."""
    picture, fields = st.columns([11, 9], gap="large")
    with fields:
        with st.container(horizontal=True):
            length = number_fields.number(
                "Length, mm", "photolength", 200.0, *SIDES_MM, help="From corner 1 to corner 2."
            )
            width = number_fields.number(
                "Width, mm", "photowidth", 200.0, *SIDES_MM, help="From corner 2 to corner 3."
            )
            thick = number_fields.number("Thickness, mm", "photothick", 6.0, *THICKNESS_MM)
            finish = st.selectbox(
                "Finish", FINISHES, key="photofinish", width=140, help=help_texts.FINISH, **KEEP
            )
        flakes = _flakes(digest, photo, shed)
        moves = st.multiselect(
            "Ways of folding to consider",
            list(MOVES),
            default=["half"],
            key="photomoves",
            help=help_texts.MOVE,
            **KEEP,
        )
        press = _press()
        way = photo_white.ask("photowhite")
    found = _found(digest, photo)
    with picture:
        start = found or [(0.1, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 0.9)]
        white_start, white_labels = photo_white.points(way)
        labels = [*LABELS, *white_labels]
        moved = points_on(
            photo_colour.preview(digest, photo),
            [*start, *white_start],
            labels,
            8 if way == photo_white.CHART else 4,
            f"{digest[:12]} {way}",
        )
        if found is None:
            st.text("No sheet was found by itself: move the four points onto its corners.")
        points = _by_numbers(moved, labels, photo.shape)
    high, wide = photo.shape[:2]
    corners_px = tuple((x * wide, y * high) for x, y in points[:4])
    white_px, chart_px = photo_white.on_photo(way, points[4:], photo.shape)
    sheet, marks = Sheet(length, width, thick, finish), Marks(corners_px, white_px, chart_px)
    return Settings(flakes, sheet, marks, tuple(moves), press)


st.title("From a photo")
st.write(
    "From a photo of a past sheet: which flakes are in it, how much of each, and how often it was folded."
)
shed, own = stock_table.on_hand()
taken = photo_colour.bring("Photo of a sheet", "photofile", session.PHOTO)
if taken is None:
    _begin()
    st.stop()
digest, photo = taken
asked = _settings(digest, photo, shed)
if st.button("Match it", type="primary", on_click=again, args=("match",)):
    with refusals.shown():
        compiling.await_code()
        found = _matched(digest, photo, asked)
        session.MATCHED.put((found, (digest, asked)) if found else None)
if matched := session.MATCHED.get():
    answer, settings = matched
    if settings == (digest, asked):
        show(answer, corners_off(_found(digest, photo), asked, photo.shape))
    else:
        st.text("Something above was changed since the last match: match it again.")
_flake_from_photo(digest, photo)
