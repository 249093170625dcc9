"""Page: from any picture to mixes whose predicted sheets look like it."""

import numpy as np
import numpy.typing as npt
import streamlit as st

from blendlab.io.pictures import png_bytes
from blendlab.photo.light import Box
from blendlab.photo.likeness import GRAMS, USUAL_GRAMS, Likeness, Proposal, like
from blendlab.photo.shortlist import MAX_ON_HAND
from blendlab.recipe.flake_list import Stocked
from blendlab.runtime.progress import ProgressCallback
from blendlab.screens.pages import file_of
from blendlab.screens.parts import (
    compiling,
    draft,
    number_fields,
    photo_colour,
    refusals,
    session,
    stock_table,
)
from blendlab.screens.parts.long_task import again, worked
from blendlab.screens.parts.picker import points_on
from blendlab.screens.parts.session import KEEP
from blendlab.screens.parts.style import swatch

CORNERS = (("1", "upper left corner of the part"), ("2", "lower right corner of the part"))
ACROSS = 3  # pictures side by side


def _part(digest: str, picture: npt.NDArray[np.uint8]) -> Box | None:
    """Show the picture, and let a part of it be chosen."""
    only = st.toggle("Only a part of it", key="picturepart", **KEEP)
    if not only:
        st.image(photo_colour.preview(digest, picture), width=420, output_format="PNG", alt="The picture")
        return None
    high, wide = picture.shape[:2]
    (x1, y1), (x2, y2) = points_on(
        photo_colour.preview(digest, picture), [(0.25, 0.25), (0.75, 0.75)], CORNERS, 0, f"part {digest[:12]}"
    )
    left, top = round(min(x1, x2) * wide), round(min(y1, y2) * high)
    return left, top, round(abs(x2 - x1) * wide), round(abs(y2 - y1) * high)


def _found(
    digest: str, picture: npt.NDArray[np.uint8], stock: tuple[Stocked, ...], grams: float, part: Box | None
) -> Likeness | None:
    """Look for sheets like the picture, or None where that was stopped."""

    def work(on_progress: ProgressCallback) -> Likeness:
        return like(picture, stock, grams, part, on_progress)

    words = (
        "Pressing sheets to compare with the picture; this takes half a minute to two minutes, by machine …"
    )
    return worked("like", (digest, stock, grams, part), words, work)


def _show(rank: int, one: Proposal) -> None:
    """Show a proposal and offer it as the mix."""
    recipe, units = one.recipe, number_fields.units()
    st.image(
        png_bytes(one.srgb8, one.px_per_mm),
        width="stretch",
        output_format="PNG",
        alt=f"Predicted sheet of proposal {rank}",
    )
    swatch(f"Proposal {rank}", one.seen.mean)
    st.text("\n".join(f"{units.mass.text(flake.grams, 1)} {flake.name}" for flake in recipe.flakes))
    laid = "laid in stripes" if recipe.lays else "stirred"
    st.text(f"Flakes of {units.sides(recipe.flakes[0].size_mm[:1])}, {laid}; {one.way}.")
    if session.NUMBERS.get():
        st.caption(one.alike)
    if st.button(
        "Use this mix",
        key=f"use proposal {rank}",
        on_click=draft.land,
        args=(recipe, "The mix is now one that looks like the picture."),
        type="primary" if rank == 1 else "secondary",
    ):
        st.switch_page(file_of("make"))


def _results(found: Likeness) -> None:
    """Show the picture and the predicted sheets beside it."""
    shown = [None, *enumerate(found.proposals, 1)]
    for start in range(0, len(shown), ACROSS):
        for column, item in zip(st.columns(ACROSS), shown[start : start + ACROSS], strict=False):
            with column:
                if item is None:
                    alt = "The picture as it was compared"
                    st.image(png_bytes(found.srgb8, 1.0), width="stretch", output_format="PNG", alt=alt)
                    swatch("The picture", found.picture.mean)
                else:
                    _show(*item)
    for remark in found.remarks:
        st.text(remark)


st.title("From a picture")
st.write("Show a stone, a cloth, the sea: mixes of your flakes whose sheets come near its colours and grain.")
st.text(
    "Colours are taken as the picture shows them, dim where it is dim. A photo of a pressed sheet belongs to "
    "the page From a photo, which corrects them for its light."
)
stock, own = stock_table.on_hand()
brought = photo_colour.bring("A picture", "picturefile", session.PICTURE)
if brought is None:
    st.caption("The picture stays on this machine, and its place and time are never kept.")
    st.stop()
digest, picture = brought
part = _part(digest, picture)
grams = number_fields.number("Mass of the sheet, g", "picturegrams", USUAL_GRAMS, *GRAMS)
asked = (digest, stock, grams, part)
if st.button("Find sheets like it", type="primary", on_click=again, args=("like",)):
    session.LIKE.put(asked)
if len(stock) > MAX_ON_HAND:
    st.text(f"Of your {len(stock)} flakes the first {MAX_ON_HAND} are tried.")
if session.LIKE.get() == asked:
    with refusals.shown():
        compiling.await_code()
        answer = _found(digest, picture, stock[:MAX_ON_HAND], grams, part)
        if answer:
            _results(answer)
elif session.LIKE.get():
    st.text("Something above was changed since: look again.")
