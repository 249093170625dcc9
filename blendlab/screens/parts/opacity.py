"""On demand, under a flake: how opaque it is, how that is known, and what light does in it."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import altair as alt
import streamlit as st

from ... import checks
from ...colour import hiding_power, pigment, spectra, strength, uncertainty
from ...colour.spaces import Colour
from ...io.text_files import text_from_bytes
from ...recipe.flake import PERCENT, Flake, LetDown, with_partners
from ...recipe.measurements import Chip, spectrum_from_csv
from ...recipe.offcut import Offcut
from ...recipe.recipe import Recipe
from . import draft, number_fields, opacity_words, refusals, session
from .charts import INK, draw
from .style import label, plain, some

LET_DOWN = (
    "1. Weigh a known part of this flake and of a known white one, such as 1 g in 10 g: 10 %.\n"
    "2. Melt them in a corner of the press; fold and press ten times or more, until no streak is left.\n"
    "3. Press it about 5 mm thick, or lay it on more of itself, so that nothing shows through.\n"
    "4. When it is cold, read its colour in the same light as the two flakes, away from any gloss.\n\n"
    "5 to 20 % tells most of a strong or dark colour, 30 to 50 % of a pale or weak one."
)
PRINTED_LINE = (
    "Lay pieces of increasing thickness on a printed line, with a drop of water in between. The thinnest one "
    "that hides the line gives the thickness. Typical, from memory:"
)
CHIP = (
    "Press a thin even chip, lay it on black card and on white paper with a drop of water between, and read "
    "its colour on each."
)
SPECTRUM = (
    "Of a thick piece, without its gloss (specular excluded): from 420 nm or below to 680 nm or above, in "
    "steps of 20 nm or less."
)
UNMEASURED: dict[str, Any] = dict.fromkeys(("hide_mm", "chip", "spectrum", "let_down", "source"))
K_AND_S = "K: light absorbed per millimetre. S: light scattered per millimetre. Both over wavelength, nm."


def drop_measured(row: int) -> None:
    """Leave out what was measured on the colour that the row's flake had before, and remember it."""
    before = session.ROW_FLAKE(row).get()
    bare = replace(before, **UNMEASURED)
    if bare != before:
        session.ROW_BEFORE(row).put(before)
        session.ROW_FLAKE(row).put(bare)


def _restore(row: int, before: Flake) -> None:
    """Give a row back the colour and measurements it had."""
    session.ROW_BEFORE(row).forget()
    session.ROW_FLAKE(row).put(before)
    session.ROW_SRGB(row).put(before.srgb)


def say_dropped(row: int) -> bool:
    """Say what a change of colour left out, if any, and offer to undo it; return whether it did."""
    before = session.ROW_BEFORE(row).get()
    if before is None:
        return False
    known = strength.known_by(before)
    with st.container(horizontal=True, vertical_alignment="center", gap="small"):
        words = f"New colour, so what was measured on {before.srgb} no longer counts ({known})."
        st.caption(plain(words), width="content")
        st.button("Undo", key=f"undo{row}", type="tertiary", on_click=_restore, args=(row, before))
    return True


def _set(row: int, what: str = "", measured: Callable[[], dict[str, Any]] = dict) -> None:
    """Put a measurement into the row's flake; a refusal is kept for the next run."""
    with refusals.kept(session.ROW_REFUSED(row)):
        found = measured()
        session.ROW_BEFORE(row).forget()
        flake = replace(draft.flake_of(row), **{**UNMEASURED, "source": what or None, **found})
        if flake.chip or flake.spectrum:
            light = spectra.xyz1_from_reflectance(pigment.palette([flake]).reflectance[0])
            flake = replace(flake, srgb=Colour.from_xyz1(light).srgb)
        draft.fill_row(row, flake)


def _offer(thing: str, row: int, what: str, measured: Callable[[], dict[str, Any]]) -> None:
    """Show the button that puts a measurement into the row's flake."""
    st.button(f"Use {thing}", key=f"use {thing} {row}", on_click=_set, args=(row, what, measured))


def _printed_line(row: int, flake: Flake) -> None:
    st.caption(PRINTED_LINE)
    length = number_fields.units().length
    lines = (
        f"- {stock.name}: {length.of(stock.low):.3g} to {length.of(stock.high):.3g} {length.symbol}"
        for stock in hiding_power.typical()
    )
    st.markdown("\n".join(lines))
    hides = number_fields.number("The line is hidden at, mm", f"hide{row}", flake.hide_mm or 1.0, 0.01, 200.0)
    _offer("this thickness", row, "printed-line test", lambda: {"hide_mm": hides})


def _chip(row: int, flake: Flake) -> None:
    st.caption(CHIP)
    known = flake.chip
    with st.container(horizontal=True):
        over_black = st.color_picker(
            "Over black", known.over_black if known else "#33302c", key=f"black{row}"
        )
        over_white = st.color_picker(
            "Over white", known.over_white if known else flake.srgb, key=f"white{row}"
        )
    thick = number_fields.number(
        "Chip thickness, mm", f"thick{row}", known.thickness_mm if known else 0.5, 0.05, 20.0
    )
    what = "chip over black and white"
    _offer("these readings", row, what, lambda: {"chip": Chip(thick, over_black, over_white)})


def _spectrum(row: int, flake: Flake) -> None:
    given = st.file_uploader(
        "Spectrum, CSV with nm and reflectance or percent", "csv", key=f"spectrum{row}", help=SPECTRUM
    )
    if given is None:
        return
    with refusals.shown():
        spectrum = spectrum_from_csv(text_from_bytes(given.getvalue(), given.name))
        found = {"spectrum": spectrum, "hide_mm": flake.hide_mm}
        _offer("this spectrum", row, "spectrum file", lambda: found)


def _chart(flake: Flake, refractive_index: float) -> alt.Chart:
    """Reflectance, K and S of a flake over wavelength, in three small panels of their own scale."""
    palette = pigment.palette([flake], refractive_index)
    panels: dict[str, Any] = {
        "reflectance": palette.reflectance[0],
        "K, 1/mm": palette.k_per_mm[0],
        "S, 1/mm": palette.s_per_mm[0],
    }
    rows = [
        {"nm": float(nm), "what": what, "value": float(value)}
        for what, values in panels.items()
        for nm, value in zip(spectra.WAVELENGTH_NM, values, strict=True)
    ]
    line = alt.Chart(alt.Data(values=rows)).mark_line(color=INK)
    return (
        line.encode(x=alt.X("nm:Q", scale=alt.Scale(zero=False), title=None), y=alt.Y("value:Q", title=None))
        .properties(height=70, width=230)
        .facet(row=alt.Row("what:N", title=None, sort=list(panels)))
        .resolve_scale(y="independent")
    )


def _let_down(row: int, flake: Flake) -> None:
    st.markdown(LET_DOWN)
    others = [name for one in session.ROWS.get() if (name := session.ROW_NAME(one).get()) != flake.name]
    if not others:
        st.text("Add the flake that it is mixed with to the mix first, such as a white cap.")
        return
    known = flake.let_down
    start = others.index(known.partner_name) if known and known.partner_name in others else 0
    partner = st.selectbox("Mixed with", others, start, key=f"partner{row}")
    percent = number_fields.number(
        f"Percent of {flake.name} in it", f"percent{row}", known.percent if known else 10.0, *PERCENT
    )
    srgb = st.color_picker(
        "Colour of the piece", known.srgb if known and known.srgb else flake.srgb, key=f"letdown{row}"
    )
    what = f"let-down in {partner}"[:200]
    _offer("this let-down", row, what, lambda: {"let_down": LetDown(partner, percent, srgb)})


WAYS: dict[str, Callable[[int, Flake], None]] = {
    "Printed line": _printed_line,
    "Let-down": _let_down,
    "Chip": _chip,
    "Spectrum": _spectrum,
}


def _say_cut(offcut: Offcut, flake: Flake) -> None:
    """Say what an offcut is; nothing about it is measured by itself."""
    units, folded = number_fields.units(), some(offcut.folds, "fold")
    sides = units.sides(flake.size_mm)
    st.text(f"Pieces of {sides}, cut from {offcut.recipe.name} after {folded}:")
    for one in offcut.recipe.flakes:
        st.text(f"{units.grams(one.grams)} {one.name}")
    st.caption("How opaque they are, and their colour, follow from these flakes.")


def popover(row: int, recipe: Recipe) -> None:
    """Offer a flake's opacity and measurements behind a small button.

    Parameters
    ----------
    recipe : Recipe
        The last good one of the fields.
    """
    name = session.ROW_NAME(row).get()
    box = st.popover(label(f"How opaque {name} is"), key=f"opacity{row}", on_change="rerun")
    if not box.open:
        return
    with box:
        try:
            flake = draft.flake_of(row)
        except checks.InputError:
            st.text("Fix this row first.")
            return
        if flake.cut_from is not None:
            _say_cut(flake.cut_from, flake)
            return
        if not strength.must_choose(flake):  # asked in the row itself
            opacity_words.ask(row, flake)
        st.text(f"Known by: {strength.known_by(flake)}.")
        refusals.show(session.ROW_REFUSED(row).pop())
        with st.expander("Measured another way"):
            way = st.segmented_control("Measured by", list(WAYS), default="Printed line", key=f"way{row}")
            if way:
                WAYS[way](row, flake)
        if flake.hide_mm is not None or flake.chip or flake.spectrum or flake.let_down:
            st.button("Forget measurements", key=f"forget{row}", on_click=_set, args=(row,))
        if session.NUMBERS.get():
            _figures(flake, recipe)


def _figures(flake: Flake, recipe: Recipe) -> None:
    """Show what light does in a flake, and how far a wrong strength would move the blend."""
    for cause in uncertainty.causes(recipe):
        if (cause.flake, cause.what) == (flake.name, "strength"):
            st.text(
                f"A usual error in its strength moves the fully mixed colour by {cause.delta_e:.1f} ΔE*ab."
            )
    st.caption(K_AND_S)
    (alone,) = with_partners([flake], recipe.flakes)
    draw(
        lambda: _chart(alone, recipe.refractive_index),
        (alone, recipe.refractive_index),
        f"Spectrum, K and S of {flake.name} from 400 to 700 nm",
    )
