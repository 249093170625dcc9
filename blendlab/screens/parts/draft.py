"""The recipe being worked on: what the fields hold, and the last recipe that could be pressed.

Fields keep their values in the session under the keys below, on whatever page they stand. The recipe also
travels in the page's address, so a refresh, a bookmark or a second tab opens on the same mix; and what a
session changed is saved, so that one opened without an address goes on where the last one was left.
"""

import base64
import binascii
import zlib
from dataclasses import replace
from typing import Any

import streamlit as st

from ... import checks
from ...io.shipped_files import SWATCHES as SWATCHES
from ...io.text_files import MAX_TEXT_BYTES, read_text
from ...recipe.folding_moves import Folding
from ...recipe.recipe import Flake, Recipe, from_toml, to_toml
from . import autosave, refusals, session, style
from .session import OfRow, Value

ADDRESS = "mix"
PAGE = "mix"  # by which the saved mix is known
LONGEST_ADDRESS = 30_000  # characters; the local server takes no more than twice that

FLAKE_FIELDS: dict[str, OfRow[Any]] = {
    "name": session.ROW_NAME,
    "srgb": session.ROW_SRGB,
    "grams": session.ROW_GRAMS,
}
SHEET_FIELDS = {name: Value(name, 0.0) for name in ("length_mm", "width_mm", "thickness_mm")}
FOLDING_FIELDS: dict[str, Value[Any]] = {name: Value(name, 0.0) for name in ("drag", "unevenness", "seed")}
OWN_LIST = "a list of moves"


def demo() -> Recipe:
    """Return the invented recipe that the app opens on."""
    return from_toml(read_text(SWATCHES / "harbour.toml"))


def _packed(recipe: Recipe) -> str:
    return base64.urlsafe_b64encode(zlib.compress(to_toml(recipe).encode(), 9)).decode()


def _unpacked(text: str) -> Recipe:
    """Recipe of an address, refused where it is none."""
    try:
        packed = base64.b64decode(text.encode(), altchars=b"-_", validate=True)
        unpacker = zlib.decompressobj()
        toml = unpacker.decompress(packed, MAX_TEXT_BYTES).decode()
        if not unpacker.eof:
            raise ValueError("cut short, or too much")  # half a mix can read as a whole one
    except (ValueError, binascii.Error, zlib.error):
        checks.refuse("the page's address must hold a mix", text[:40], "open the page without it")
    return from_toml(toml)


def put(recipe: Recipe) -> None:
    """Fill all fields from a recipe.

    Parameters
    ----------
    recipe : Recipe
        What the fields show from now on.
    """
    session.ROWS.put([])
    for flake in recipe.flakes:
        add_row(flake)
    session.TITLE.put(recipe.name)
    folding = recipe.folding
    for part, fields in ((recipe.sheet, SHEET_FIELDS), (folding, FOLDING_FIELDS)):
        for field, value in fields.items():
            value.put(getattr(part, field))
    session.FOLDS.put(folding.folds)
    session.MOVE.put(folding.move or OWN_LIST)
    session.MOVES.put(", ".join(folding.moves or ("edges-in", "turn", "half", "turn", "half")))
    session.BASE.put(recipe)  # what no field shows is kept from it
    session.RECIPE.put(recipe)


def add_row(flake: Flake) -> None:
    """Add a row of fields for a flake."""
    row = session.LAST_ROW.get() + 1
    session.LAST_ROW.put(row)
    session.ROWS.put([*session.ROWS.get(), row])
    fill_row(row, flake)


def fill_row(row: int, flake: Flake) -> None:
    """Fill a row's fields from a flake."""
    session.ROW_FLAKE(row).put(flake)
    for field, value in FLAKE_FIELDS.items():
        value(row).put(getattr(flake, field))


def remove_row(row: int) -> None:
    """Take a row of fields away."""
    session.ROWS.put([one for one in session.ROWS.get() if one != row])


def names() -> set[str]:
    """Return the names in all rows, as typed."""
    return {session.ROW_NAME(row).get() for row in session.ROWS.get()}


def flake_of(row: int) -> Flake:
    """Flake of a row's fields.

    Raises
    ------
    InputError
        Where a field cannot be used.
    """
    typed = {field: value(row).get() for field, value in FLAKE_FIELDS.items()}
    return replace(session.ROW_FLAKE(row).get(), **typed)


def read() -> Recipe:
    """Recipe of all fields.

    Raises
    ------
    InputError
        Where a field cannot be used.
    """
    base = session.BASE.get()
    sides: dict[str, Any] = {field: value.get() for field, value in SHEET_FIELDS.items()}
    return replace(
        base,
        name=session.TITLE.get(),
        sheet=replace(base.sheet, **sides),
        flakes=tuple(flake_of(row) for row in session.ROWS.get()),
        folding=_folding(base.folding),
    )


def _folding(base: Folding) -> Folding:
    """Folding of the fields; a fold count beyond a shorter list of moves stops at its end."""
    own = session.MOVE.get() == OWN_LIST
    moves = listed(session.MOVES.get()) if own else None
    changes: dict[str, Any] = {"move": None if own else session.MOVE.get(), "moves": moves}
    if changes != {"move": base.move, "moves": base.moves}:
        changes["spacers_mm"] = None  # they belong to the presses of the old moves
    changes |= {field: value.get() for field, value in FOLDING_FIELDS.items()}
    worked = replace(base, folds=0, **changes)
    return replace(worked, folds=min(session.FOLDS.get(), worked.most_folds))


def listed(moves: str) -> tuple[str, ...]:
    """Return the moves of a list as typed, separated by commas."""
    return tuple(move.strip() for move in moves.split(","))


def recipe() -> tuple[Recipe, str]:
    """Return the recipe of the fields, or the last good one and what is wrong.

    Returns
    -------
    tuple of Recipe and str
        The sentence is empty where all is well.
    """
    try:
        session.RECIPE.put(read())
    except checks.InputError as error:
        return session.RECIPE.get(), str(error)
    return session.RECIPE.get(), ""


def last_good(use: str = "shown") -> Recipe:
    """Return the recipe of the fields, or the last good one after showing what is wrong.

    Parameters
    ----------
    use : str
        What the page does with it, in the sentence.
    """
    found, wrong = recipe()
    refusals.show(wrong, f"The last mix that could be pressed is {use}.")
    return found


def start() -> None:
    """Open the session on the mix of the page's address, else on the one saved last, else on the demo."""
    if session.ROWS.is_set():
        return
    found, wrong = None, ""
    if ADDRESS in st.query_params:
        try:
            found = _unpacked(st.query_params[ADDRESS])
        except checks.InputError as error:
            wrong = str(error)
    saved = None if found else _saved()
    if wrong:
        st.warning(style.plain(f"The {'last' if saved else 'demo'} mix is shown: {wrong}."))
    put(found or saved or demo())


def _saved() -> Recipe | None:
    """Return the mix saved last, None where there is none that can be read."""
    try:
        text = autosave.load(PAGE)
        return from_toml(text) if text else None
    except checks.InputError:  # a newer version's
        return None


def remember() -> None:
    """Keep the last good recipe in the page's address and on the disk, or say that neither can."""
    last = recipe()[0]
    unsaved = autosave.save(PAGE, to_toml(last))
    packed = _packed(last)
    if len(packed) <= LONGEST_ADDRESS:
        st.query_params[ADDRESS] = packed
        return
    st.query_params.pop(ADDRESS, None)
    if unsaved:
        trouble = f"The spectra of this mix are too long to survive a refresh: {unsaved}."
        st.warning(style.plain(f"{trouble} Save it on the Shed page."))
