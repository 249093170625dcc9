"""What a photo's match says, shown: the recipe with its bands, both faces, fold counts, advice."""

from dataclasses import replace

import altair as alt
import streamlit as st

from ...colour.spaces import Colour
from ...io.pictures import png_bytes
from ...look.render import srgb8
from ...photo.answer import Part, PhotoMatch
from ...units import percent
from ..pages import file_of
from . import draft, number_fields, session, stock_table
from .charts import INK, draw
from .style import some, swatch


def _chances(found: PhotoMatch) -> alt.Chart:
    rows = [{"folds": n, "chance": 100 * float(p)} for n, p in enumerate(found.folds.probability)]
    bars = alt.Chart(alt.Data(values=rows)).mark_bar(color=INK)
    x = alt.X("folds:O", axis=alt.Axis(labelAngle=0))
    y = alt.Y("chance:Q", title="probability, %")
    shown = alt.Tooltip("chance:Q", format=".0f", title="probability, %")
    return bars.encode(x=x, y=y, tooltip=["folds:O", shown]).properties(height=190)


def _curves(found: PhotoMatch) -> alt.Chart:
    length = number_fields.units().length
    rows = [
        {"blur": length.of(mm), "contrast": value, "of": of}
        for mm, seen, predicted in found.curve
        for of, value in (("photo", seen), ("prediction", predicted))
    ]
    line = alt.Chart(alt.Data(values=rows)).mark_line(color=INK, point=alt.OverlayMarkDef(color=INK))
    x = alt.X("blur:Q", scale=alt.Scale(type="log"), title=f"blurred over, {length.symbol}")
    y = alt.Y("contrast:Q", title="contrast, ΔE*ab")
    return line.encode(x=x, y=y, strokeDash=alt.StrokeDash("of:N", title=None)).properties(height=190)


def _take(found: PhotoMatch, total_g: float) -> None:
    flakes = tuple(
        replace(part.flake, grams=max(round(part.share * total_g, 1), 0.1)) for part in found.parts
    )
    recipe = replace(found.recipe, flakes=flakes).with_folding(seed=draft.fresh_seed())
    draft.land(recipe, "The mix is now what the photo shows.")


def _faces(found: PhotoMatch) -> None:
    photo, predicted = st.columns(2)
    scale = 1 / found.mm_per_px
    folded = some(found.folds.best, "fold")
    for column, words, xyz1, mean in (
        (photo, "The photo, straightened and corrected", found.face_xyz1, found.mean),
        (predicted, f"Predicted after {folded}", found.predicted_xyz1, found.predicted_mean),
    ):
        with column:
            st.image(png_bytes(srgb8(xyz1), scale), width="stretch", output_format="PNG", alt=words)
            swatch(words, mean)


def band(part: Part) -> str:
    """Return a flake's share with the range it is 80 % sure to be in."""
    return f"{percent(part.share)} ({100 * part.low:.0f} to {percent(part.high)})"


def show(found: PhotoMatch, doubt: str) -> None:
    """Show a match and offer its recipe to the other pages.

    Parameters
    ----------
    doubt : str
        Why its certainty is not to be trusted; empty where it is.
    """
    if found.note:
        st.subheader("One even colour: the number of folds cannot be seen")
        st.info(found.note)
    else:
        sure = "" if doubt else f"; 80 % sure of {', '.join(map(str, found.folds.likely()))}"
        st.subheader(f"{some(found.folds.best, 'fold')}, most likely{sure}")
    if doubt:
        st.warning(doubt)
    if found.laid:
        st.info(found.charge_words)
    elif not found.note:
        st.caption(found.charge_words)
    if found.paper == "none":
        st.warning("No white paper was found in the shot, so colours are known only roughly.")
    _faces(found)
    if session.NUMBERS.get():
        st.text(
            f"The two means are {found.delta_e00:.1f} ΔE00 apart. Nine times in ten the photo's is within "
            f"{found.band90_delta_e00:.0f} ΔE00 of the sheet's own."
        )
    st.text("Shares, and in brackets the range that is 80 % sure:")
    with st.container(horizontal=True, gap="medium"):
        for part in found.parts:
            with st.container(width=240):
                new = "; unlike any flake on the list" if part.is_new else ""
                swatch(part.flake.name, Colour.from_hex(part.flake.srgb), band(part) + new)
                if part.is_new:
                    st.button(
                        "Add it to the list",
                        key=f"new {part.flake.name}",
                        on_click=stock_table.enter,
                        args=(part.flake,),
                        type="tertiary",
                    )
    left, right = st.columns(2)
    chances = ", ".join(f"{n}: {percent(p)}" for n, p in enumerate(found.folds.probability) if p >= 0.005)
    draw(
        lambda: _chances(found),
        found.folds.probability.tolist(),
        f"Probability of each fold count: {chances}",
        left,
    )
    left.caption("How likely each number of folds is.")
    if session.NUMBERS.get():
        unit = number_fields.units().length.symbol
        draw(
            lambda: _curves(found), (found.curve, unit), "Contrast of photo and prediction over scale", right
        )
        right.caption(
            "The contrast that photo and prediction keep as they are blurred more and more: the closer the "
            "curves, the better the match."
        )
    for line in found.advice:
        st.text(f"For a better match: {line}")
    with st.container(horizontal=True, vertical_alignment="bottom"):
        total = number_fields.number("Mass of the sheet, g", "photograms", 200.0, 1.0, 1e6)
        if st.button("Use this recipe", type="primary", on_click=_take, args=(found, total)):
            st.switch_page(file_of("make"))
