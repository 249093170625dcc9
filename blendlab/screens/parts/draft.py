"""The recipe being worked on: what the fields hold, and the last recipe that could be pressed.

Fields keep their values in the session under the keys below, on whatever page they stand. The recipe also
travels in the page's address, so a refresh, a bookmark or a second tab opens on the same mix; and what a
session changed is saved, so that one opened without an address goes on where the last one stood.
"""

import base64
import binascii
import zlib
from dataclasses import replace
from pathlib import Path
from typing import Any

import streamlit as st

from ... import checks
from ...io.text_files import MAX_TEXT_BYTES, read_text
from ...recipe.folding_moves import Folding
from ...recipe.recipe import Flake, Recipe, from_toml, to_toml
from . import autosave, style

ADDRESS = "mix"
PAGE = "mix"  # by which the saved mix is known
LONGEST_ADDRESS = 30_000  # signs; the local server takes no more than twice that

FLAKE_FIELDS = ("name", "srgb", "grams")
SHEET_FIELDS = ("length_mm", "width_mm", "thickness_mm")
FOLDING_FIELDS = ("drag", "unevenness", "seed")
OWN_LIST = "a list of moves"

SWATCHES = Path(__file__).parents[3] / "swatches"  # stands beside the app in every clone


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
    state = st.session_state
    state["ids"] = []
    for flake in recipe.flakes:
        add_row(flake)
    state["title"] = recipe.name
    folding = recipe.folding
    for part, fields in ((recipe.sheet, SHEET_FIELDS), (folding, FOLDING_FIELDS)):
        for key in fields:
            state[key] = getattr(part, key)
    state["folds"] = folding.folds
    state["move"] = folding.move or OWN_LIST
    state["moves"] = ", ".join(folding.moves or ("edges-in", "turn", "half", "turn", "half"))
    state["base"] = state["recipe"] = recipe  # what no field shows is kept from the base


def add_row(flake: Flake) -> None:
    """Add a row of fields for a flake."""
    state = st.session_state
    state["next_id"] = row = state.get("next_id", 0) + 1
    state["ids"].append(row)
    fill_row(row, flake)


def fill_row(row: int, flake: Flake) -> None:
    """Fill a row's fields from a flake."""
    state = st.session_state
    state[f"flake{row}"] = flake
    for key in FLAKE_FIELDS:
        state[f"{key}{row}"] = getattr(flake, key)


def remove_row(row: int) -> None:
    """Take a row of fields away."""
    st.session_state["ids"].remove(row)


def flake_of(row: int) -> Flake:
    """Flake of a row's fields.

    Raises
    ------
    InputError
        Where a field cannot be used.
    """
    state = st.session_state
    return replace(state[f"flake{row}"], **{key: state[f"{key}{row}"] for key in FLAKE_FIELDS})


def read() -> Recipe:
    """Recipe of all fields.

    Raises
    ------
    InputError
        Where a field cannot be used.
    """
    state = st.session_state
    base: Recipe = state["base"]
    return replace(
        base,
        name=state["title"],
        sheet=replace(base.sheet, **{key: state[key] for key in SHEET_FIELDS}),
        flakes=tuple(flake_of(row) for row in state["ids"]),
        folding=_folding(base.folding),
    )


def _folding(base: Folding) -> Folding:
    """Folding of the fields; a fold count beyond a shorter list of moves stops at its end."""
    state = st.session_state
    own = state["move"] == OWN_LIST
    moves = tuple(part.strip() for part in state["moves"].split(",")) if own else None
    changes: dict[str, Any] = {"move": None if own else state["move"], "moves": moves}
    if changes != {"move": base.move, "moves": base.moves}:
        changes["spacers_mm"] = None  # they belong to the presses of the old moves
    worked = replace(base, folds=0, **changes, **{key: state[key] for key in FOLDING_FIELDS})
    return replace(worked, folds=min(state["folds"], worked.most_folds))


def recipe() -> tuple[Recipe, str]:
    """Return the recipe of the fields, or the last good one and what is wrong.

    Returns
    -------
    tuple of Recipe and str
        The sentence is empty where all is well.
    """
    try:
        st.session_state["recipe"] = read()
    except checks.InputError as error:
        return st.session_state["recipe"], str(error)
    return st.session_state["recipe"], ""


def start() -> None:
    """Open the session on the mix of the page's address, else on the one saved last, else on the demo."""
    if "ids" in st.session_state:
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
