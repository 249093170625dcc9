"""The fields of the batch page: the finished sheet, the press, the boards; values are kept for next time."""

import json
from dataclasses import asdict, replace
from typing import Any

import streamlit as st

from ... import checks
from ...logbook import drafts
from ...workshop.order import Order, Plastic, fitting_tiles
from ...workshop.press_setup import BOARDS, LINERS, PressSetup
from ...workshop.properties import heat
from . import autosave, session
from .session import KEEP

PAGE = "press"  # by which the saved values are known
USUAL = Order(170.0, 170.0, 6.0)  # one load of a small press
_SIZE = (("length_mm", "Length, mm"), ("width_mm", "Width, mm"), ("thickness_mm", "Thickness, mm"))
_HELP = {
    "thickness_mm": "Cold and finished. The page says how high the spacers must be for it.",
    "trim_mm": "Cut off along every edge once the sheet is cold: it is pressed that much larger.",
    "tiles_long": "A sheet too large for the plates is pressed as several tiles. This many along its length.",
    "tiles_wide": "This many across its width.",
    "largest_load_g": "The most that is melted and folded at once; a heavier sheet takes several loads.",
    "plate_c": "Measured on the plates with a thermometer: a dial may be far off.",
    "liner": "The non-stick sheets between plate and plastic. The plates must stay below their limit.",
    "heated_plates": "1 for a press that heats from one side only: the slab is then turned over.",
    "board": "Flat boards, clamped above and below the sheet while it cools.",
    "release_c": "Wait until the hottest point inside has fallen to this: sooner, a sheet may warp.",
}
_PRESS = (
    ("plate_length_mm", "Plates, length, mm", 10.0),
    ("plate_width_mm", "Plates, width, mm", 10.0),
    ("largest_load_g", "Largest load, g", 10.0),
    ("plate_c", "Plates, °C", 5.0),
)
_FIELDS = (
    *("length_mm", "width_mm", "thickness_mm", "trim_mm", "tiles_long", "tiles_wide"),
    *(name for name, _, _ in _PRESS),
    *("heated_plates", "liner", "board", "board_mm", "release_c"),
)


def start() -> None:
    """Fill the fields with what was saved last, else with the usual values."""
    if session.press("length_mm").is_set():
        return
    values = {**asdict(USUAL), "tiles_long": 1, "tiles_wide": 1, **asdict(PressSetup())}
    saved = autosave.load(PAGE)
    try:
        known = drafts.values(saved) if saved else {}
        kept = {name: type(values[name])(known.get(name, values[name])) for name in _FIELDS}
        _order(kept)
        _press(kept)
    except (ValueError, TypeError):  # another version's, or what is refused by now
        kept = values
    for name in _FIELDS:
        session.press(name).put(kept[name])


def show() -> tuple[Order, PressSetup]:
    """Show the fields and return the order and the press they describe.

    Returns
    -------
    tuple of Order and PressSetup

    Raises
    ------
    InputError
        Where a value breaks its rule.
    """
    with st.container(horizontal=True):
        for name, label in _SIZE:
            _number(name, label, 1.0)
    with st.container(horizontal=True):
        _number("trim_mm", "Trim per edge, mm", 1.0)
        _number("tiles_long", "Tiles long", 1)
        _number("tiles_wide", "Tiles wide", 1)
    with st.expander("The press and the boards"):
        with st.container(horizontal=True):
            for name, label, step in _PRESS:
                _number(name, label, step)
        with st.container(horizontal=True):
            _choice("liner", "Liners", LINERS)
            _choice("heated_plates", "Heated plates", (2, 1))
        with st.container(horizontal=True):
            _choice("board", "Boards", BOARDS)
            _number("board_mm", "Board thickness, mm", 1.0)
            _number("release_c", "Unclamp at, °C", 1.0)
    values = _values()
    found = _order(values), _press(values)
    autosave.save(PAGE, json.dumps(values))
    return found


def offer_tiles() -> None:
    """Offer a button for the fewest tiles that fit the plates, where the sheet as asked does not."""
    values = _values()
    try:
        order, press = _order(values), _press(values)
    except checks.InputError:
        return
    tiles = fitting_tiles(order, press, Plastic.published(press.plate_c))
    if tiles and tiles != order.tiles:
        length, width, _ = replace(order, tiles=tiles).finished_mm
        words = f"Make it of {tiles[0]} × {tiles[1]} tiles, {length:.0f} × {width:.0f} mm each"
        st.button(words, on_click=_set_tiles, args=tiles)


def _set_tiles(long: int, wide: int) -> None:
    session.press("tiles_long").put(long)
    session.press("tiles_wide").put(wide)


def _values() -> dict[str, Any]:
    return {name: session.press(name).get() for name in _FIELDS}


def _order(values: dict[str, Any]) -> Order:
    length, width, thickness = (values[name] for name, _ in _SIZE)
    tiles = values["tiles_long"], values["tiles_wide"]
    return Order(length, width, thickness, values["trim_mm"], tiles)


def _press(values: dict[str, Any]) -> PressSetup:
    names = set(_FIELDS) & asdict(PressSetup()).keys()
    return PressSetup(**{name: values[name] for name in names})


def _number(name: str, label: str, step: float) -> None:
    shape: dict[str, Any] = {"format": "%g"} if isinstance(step, float) else {}
    st.number_input(
        label,
        min_value=type(step)(0),
        step=step,
        key=session.press(name).key,
        width=150,
        help=_HELP.get(name),
        **shape,
        **KEEP,
    )


def _choice(name: str, label: str, options: tuple[Any, ...]) -> None:
    known = heat().get(name, {})
    st.selectbox(
        label,
        options,
        key=session.press(name).key,
        width=220,
        help=_HELP.get(name),
        format_func=lambda option: str(known.get(option, {}).get("name", option)),
        **KEEP,
    )
