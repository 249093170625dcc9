"""The fields of an order, and of the press and boards that are kept for next time."""

import json
from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any

import streamlit as st

from ... import checks
from ...logbook import drafts
from ...recipe.recipe import Recipe
from ...workshop.cautions import cautions
from ...workshop.closing import CLOSINGS, Closing
from ...workshop.fused_block import MAX_SHEETS
from ...workshop.melt_flow import STOCKS, UNKNOWN_STOCK, Stock
from ...workshop.order import MAX_TILES_A_SIDE, Order, Plastic, fitting_tiles
from ...workshop.press_setup import BOARDS, LINERS, PressSetup
from ...workshop.properties import flow, heat
from ...workshop.sheet_size import finished_mm
from . import autosave, number_fields, session
from .number_fields import Quantity, units
from .session import KEEP

PAGE = "press"  # the name under which the values are saved
USUAL_TRIM_MM = 5.0
_SIZE = {
    "length_mm": ("Length, mm", 10.0, 5000.0),
    "width_mm": ("Width, mm", 10.0, 5000.0),
    "thickness_mm": ("Thickness, mm", 1.0, 90.0),
}
_NUMBERS = {  # label, limits, whether whole
    "trim_mm": ("Trim per edge, mm", 0.0, 50.0, False),
    "tiles_long": ("Tiles long", 1.0, MAX_TILES_A_SIDE, True),
    "tiles_wide": ("Tiles wide", 1.0, MAX_TILES_A_SIDE, True),
    "plate_length_mm": ("Plate length, mm", 20.0, 5000.0, False),
    "plate_width_mm": ("Plate width, mm", 20.0, 5000.0, False),
    "largest_load_g": ("Largest load, g", 5.0, 1e5, False),
    "plate_c": ("Plates, °C", -273.0, 1e4, False),
    "board_mm": ("Board thickness, mm", 1.0, 100.0, False),
    "release_c": ("Unclamp at, °C", -273.0, 1e4, False),
}
_CHOICES: dict[str, tuple[str, tuple[Any, ...]]] = {
    "liner": ("Liners", LINERS),
    "heated_plates": ("Heated plates", (2, 1)),
    "board": ("Boards", BOARDS),
}
_UNSAID = ""  # of a choice or a number that nobody has to give
_CHOICES_OR_NONE = {
    "closing": ("Held shut by", (_UNSAID, *CLOSINGS)),
    "stock": ("Flakes were", (_UNSAID, *STOCKS)),
}
_NUMBERS_OR_NONE = {  # label, limits, whether whole
    "force_n": ("Force of your own, N", 1.0, 1e6, False),
    "melt_index": ("Melt index, g/10 min", 0.01, 100.0, False),
    "sheets": ("Sheets to a block", 2.0, MAX_SHEETS, True),
}
_FIELDS = (*_NUMBERS, *_CHOICES, *_CHOICES_OR_NONE, *_NUMBERS_OR_NONE)
_HELP = {
    "length_mm": "Cold and trimmed. The [sheet] of a recipe file is the hot slab: shrinkage and trim larger.",
    "trim_mm": "Cut off along every edge once the sheet is cold: it is pressed that much larger.",
    "tiles_long": "A sheet too large for the plates is pressed as several tiles. This many along its length.",
    "tiles_wide": "This many across its width.",
    "largest_load_g": "The most that is melted and folded at once; a heavier sheet takes several loads.",
    "plate_c": "Measured on the plates with a thermometer: a dial may be far off.",
    "liner": "The non-stick sheets between plate and plastic. The plates must stay below their limit.",
    "heated_plates": "1 for a press that heats from one side only: the slab is then turned over.",
    "board": "Flat boards, clamped above and below the sheet while it cools.",
    "closing": "What presses the plates together: the plan then says how long each press takes to close.",
    "force_n": "On the plates, the lid's weight included. Left empty, the usual range counts.",
    "stock": "Bottles melt stiffly, crates run. Mixed also says how much coarser the stiff flakes stay.",
    "melt_index": "At 190 °C and 2.16 kg, from a data sheet. Left empty, the usual range counts.",
    "sheets": "Stack and fuse this many such sheets: the plan then says how long that takes. May stay empty.",
    "release_c": "Wait until the hottest point inside has fallen to this: sooner, a sheet may warp.",
}


SIZE = {name: Quantity(value, "mm") for name, value in session.SIZE.items()}


def start() -> None:
    """Fill the fields with what was saved last, else with the usual values."""
    usual = {"trim_mm": USUAL_TRIM_MM, "tiles_long": 1, "tiles_wide": 1, **asdict(PressSetup())}
    usual |= dict.fromkeys((*_CHOICES_OR_NONE, *_NUMBERS_OR_NONE), _UNSAID)
    saved = autosave.load(PAGE)
    try:
        known = drafts.values(saved) if saved else {}
        fill({name: type(usual[name])(known.get(name, usual[name])) for name in _FIELDS})
        press()
        _tiles()
        closing()
        stock()
    except (ValueError, TypeError):  # another version's, or what is refused by now
        fill({name: usual[name] for name in _FIELDS})


def fill(values: Mapping[str, Any]) -> None:
    """Fill fields of the press and boards by their names."""
    for name, value in values.items():
        (_quantity(name) if name in _NUMBERS else session.press(name)).put(value)


def values() -> dict[str, Any]:
    """Return what the fields of the press and boards hold, by their names; raises as `order`."""
    return {name: _read(name) for name in _FIELDS}


def _quantity(name: str) -> Quantity:
    label = str({**_NUMBERS, **_NUMBERS_OR_NONE}[name][0])
    return Quantity(session.press(name), label.rpartition(", ")[2] if ", " in label else "")


def put_size(recipe: Recipe) -> None:
    """Fill in the finished size of the sheet that a recipe gives; trim leaves something of a narrow one."""
    try:
        plastic, trim, (long, wide) = Plastic.published(press().plate_c), _read("trim_mm"), _tiles()
    except checks.InputError:  # a field that is being filled in
        plastic, trim, (long, wide) = Plastic.published(PressSetup().plate_c), USUAL_TRIM_MM, (1, 1)
    least = min(finished_mm(recipe, 0.0, plastic)[:2]) - _SIZE["length_mm"][1]
    if trim > least / 2:
        trim = max(0.0, least // 1 / 2)
        fill({"trim_mm": trim})
    length, width, thickness = finished_mm(recipe, trim, plastic)
    exact = length * long, width * wide, thickness
    for field, side in zip(SIZE.values(), exact, strict=True):
        field.put(side)
    session.BASE_SIZE.put(_typed())
    if not session.saved(PAGE).is_set():
        session.saved(PAGE).put(_as_json())  # what is changed from here on is saved


def _typed() -> tuple[Any, ...]:
    """Everything that the size of the hot slab depends on, as typed."""
    beside = ("trim_mm", "tiles_long", "tiles_wide", "plate_c")
    values = (*session.SIZE.values(), *map(session.press, beside))
    return tuple(value.get() for value in values)


def size_is_the_recipes() -> bool:
    """Tell whether the size is still that of the recipe it was filled in from."""
    return _typed() == session.BASE_SIZE.get()


def order() -> Order:
    """Return the finished sheet that the fields ask for.

    Raises
    ------
    InputError
        Where a value breaks its rule.
    """
    length, width, thickness = (
        SIZE[name].read(f"the finished {name[:-3]}", low, high) for name, (_, low, high) in _SIZE.items()
    )
    return Order(length, width, thickness, _read("trim_mm"), _tiles())


def press() -> PressSetup:
    """Return the press and boards that the fields describe; raises as `order`."""
    names = set(_FIELDS) & asdict(PressSetup()).keys()
    return PressSetup(**{name: _read(name) for name in names})


def closing() -> Closing | None:
    """Return what holds the press shut, None where it is not given; raises as `order`."""
    kind, force_n = session.press("closing").get(), _number_or_none("force_n")
    return Closing(kind or None, force_n) if kind or force_n else None


def stock() -> Stock | None:
    """Return what the flakes were, None where it is not given; raises as `order`."""
    kind, melt_index = session.press("stock").get(), _number_or_none("melt_index")
    return Stock(kind or UNKNOWN_STOCK, melt_index) if kind or melt_index else None


def sheets_to_block() -> int | None:
    """Return how many such sheets are fused to a block, None where it is not given; raises as `order`."""
    found = _number_or_none("sheets")
    return None if found is None else int(found)


def _number_or_none(name: str) -> float | None:
    typed = session.press(name).get()
    return _number(name, *_NUMBERS_OR_NONE[name]) if (typed or "").strip() else None


def show_size() -> None:
    """Show the fields of the finished size."""
    with st.container(key="size", horizontal=True, wrap=False, gap="small"):
        for name, (label, _, _) in _SIZE.items():
            number_fields.draw(label, session.SIZE[name], 104, help=_HELP.get(name))


def show() -> tuple[Order, PressSetup]:
    """Show the other fields, save them, and return the order and the press they describe.

    Raises
    ------
    InputError
        Where a value breaks its rule.
    """
    with st.container(horizontal=True):
        _draw("trim_mm", "tiles_long", "tiles_wide", "sheets")
    with st.expander("The press and the boards"):
        with st.container(horizontal=True):
            _draw("plate_length_mm", "plate_width_mm", "largest_load_g", "plate_c")
        with st.container(horizontal=True):
            _draw("liner", "heated_plates")
        with st.container(horizontal=True):
            _draw("board", "board_mm", "release_c")
    with st.expander("What holds it shut, and what the flakes were"):
        with st.container(horizontal=True):
            _draw("closing", "force_n", "stock", "melt_index")
        st.caption(next(caution.text for caution in cautions() if caution.key == "crush"))
    found = order(), press()
    autosave.save(PAGE, _as_json())
    return found


def _as_json() -> str:
    return json.dumps(values())


def offer_tiles() -> None:
    """Offer a button for the fewest tiles that fit the plates, where the sheet as asked does not."""
    try:
        asked, plates = order(), press()
    except checks.InputError:
        return
    tiles = fitting_tiles(asked, plates, Plastic.published(plates.plate_c))
    if tiles and tiles != asked.tiles:
        sides = units().sides(replace(asked, tiles=tiles).finished_mm[:2], 0)
        words = f"Make it of {tiles[0]} × {tiles[1]} tiles, {sides} each"
        st.button(words, on_click=_set_tiles, args=tiles)


def _set_tiles(long: int, wide: int) -> None:
    fill({"tiles_long": long, "tiles_wide": wide})


def _tiles() -> tuple[int, int]:
    return int(_read("tiles_long")), int(_read("tiles_wide"))


def _read(name: str) -> Any:
    """Return the value of a field."""
    if name in _NUMBERS:
        return _number(name, *_NUMBERS[name])
    return session.press(name).get()


def _number(name: str, label: str, low: float, high: float, whole: bool) -> float:
    return _quantity(name).read(label.partition(", ")[0].lower(), low, high, whole)


def _option(option: Any, entries: Mapping[str, Any]) -> str:
    """Name of a choice: what its entry says before a colon."""
    return "not said" if option == _UNSAID else str(entries.get(option, {}).get("name", option)).split(":")[0]


def _draw(*names: str) -> None:
    known = {**heat(), **flow()}
    labels = {each: str(row[0]) for each, row in (*_NUMBERS.items(), *_NUMBERS_OR_NONE.items())}
    for name in names:
        value = session.press(name)
        if name in labels:
            number_fields.draw(labels[name], value, help=_HELP.get(name))
            continue
        label, options = {**_CHOICES, **_CHOICES_OR_NONE}[name]
        words = known.get(name, {})
        st.selectbox(
            label,
            options,
            key=value.key,
            width=220,
            help=_HELP.get(name),
            format_func=lambda option, words=words: _option(option, words),
            **session.offered(value, options),
            **KEEP,
        )
