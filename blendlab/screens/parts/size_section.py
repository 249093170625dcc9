"""The finished size, entered once, and what it needs beside what the mix weighs."""

from math import sqrt

import streamlit as st

from ... import checks
from ...workshop.order import Order, Plastic
from ...workshop.sheet_size import tile_g
from . import batch_fields, draft, session
from .number_fields import units
from .style import surplus

ALIKE_G, ALIKE = 0.5, 0.01  # grams and parts that make no difference: densities are published no closer


def show() -> None:
    """Show the fields of the size, and the ways to make it agree with the mix."""
    st.subheader("Finished size")
    batch_fields.show_size()
    needed, total = needed_g(), total_g()
    with st.container(key="needs", gap="xsmall"):
        if total is None:
            st.text("What the mix weighs shows once every amount can be read.")
        elif needed is not None:
            mass = units().mass
            st.text(f"Needs {mass.text(needed)} with trim; you have {mass.text(total)}.")
        with st.container(horizontal=True, gap="xsmall"):
            surplus("ways to agree", _agree(needed, total) if needed and total else 0)


def needed_g() -> float | None:
    """Grams that the whole order needs with trim, None where the size cannot be read."""
    try:
        order, plastic = batch_fields.order(), Plastic.published(batch_fields.press().plate_c)
    except checks.InputError:  # said where the field is read
        return None
    return order.tiles[0] * order.tiles[1] * tile_g(order, plastic).usual


def total_g() -> float | None:
    """Grams of the whole mix, None where an amount cannot be read."""
    amounts = [draft.known_grams(row) for row in session.ROWS.get()]
    return None if None in amounts else sum(amount for amount in amounts if amount)


def _agree(needed: float, total: float) -> int:
    """Offer to change grams, thickness or plan where they do not agree; return how many ways."""
    if abs(total - needed) <= max(ALIKE_G, ALIKE * needed):
        return 0
    order = batch_fields.order()
    thick, wider = order.thickness_mm * total / needed, _wider(order, total / needed)
    less, thicker = ("Use less", "Thicker") if total > needed else ("Weigh out", "Thinner")
    mass, length = units().mass.text(needed), units().length.text(thick, 1)
    st.button(f"{less}: {mass}", key="use less", on_click=_scale, args=(needed / total,))
    st.button(f"{thicker}: {length}", key="thicker", on_click=_resize, args=(thick, 1.0))
    sides = units().sides((order.length_mm * wider, order.width_mm * wider), 0)
    st.button(f"Use all: {sides}", key="use all", on_click=_resize, args=(order.thickness_mm, wider))
    return 3


def _wider(order: Order, times: float) -> float:
    """Return how many times longer and wider a sheet of so many times the mass is, its trim the same."""
    (a, b, _), (long, wide, _), trim = order.finished_mm, order.pressed_mm, 2 * order.trim_mm
    half = trim * (a + b) / 2
    return (sqrt(half**2 + a * b * (times * long * wide - trim**2)) - half) / (a * b)


def _scale(times: float) -> None:
    for row in session.ROWS.get():
        grams = draft.known_grams(row) or 0.0
        draft.grams_field(row).put(max(round(grams * times, 1), 0.1))


def _resize(thickness_mm: float, wider: float) -> None:
    order = batch_fields.order()
    sides = {
        "length_mm": order.length_mm * wider,
        "width_mm": order.width_mm * wider,
        "thickness_mm": thickness_mm,
    }
    for name, side in sides.items():
        batch_fields.SIZE[name].put(round(side, 1))
