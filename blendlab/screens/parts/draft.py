"""The recipe being worked on: what the fields hold, and the last recipe that could be pressed.

Fields keep their values in the session under the keys below, on every page. The recipe is also part of the
page's address, so a refresh, a bookmark or a second tab opens on the same mix; changes are saved, so a
session opened without an address continues where the last one ended.
"""

import base64
import binascii
import re
import secrets
import zlib
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from itertools import zip_longest
from math import inf
from typing import Any
from uuid import uuid4

import streamlit as st

from ... import checks
from ...io.shipped_files import SWATCHES as SWATCHES
from ...io.text_files import MAX_TEXT_BYTES, Beside, read_text
from ...recipe.flake import with_partners
from ...recipe.folding_moves import MAX_SEED, Folding
from ...recipe.recipe import Flake, Recipe, from_toml, to_toml
from ...workshop.order import Plastic
from ...workshop.sheet_size import as_pressed
from . import autosave, batch_fields, refusals, session, style
from .number_fields import Quantity
from .session import Value

ADDRESS = "mix"
PAGE = "mix"  # by which the saved mix is known
MAX_ADDRESS_LENGTH = 30_000  # characters; the local server takes no more than twice that

FOLDING_FIELDS: dict[str, Value[Any]] = {
    "drag": session.DRAG,
    "unevenness": session.UNEVENNESS,
    "seed": session.SEED,
}
OWN_LIST = "a list of moves"
NOTE = r"[0-9a-f]{32}( [0-9]{1,6}){1,12}( card| pressed)?"
UNDOS = 40  # recipes kept
LAST_SHOWN = "The last mix that could be pressed is shown."
REJOINED = (
    "blendlab was started again while this page was open. What its fields hold was kept; "
    "if you had just pressed a button, press it again."
)


@st.cache_resource(show_spinner=False)
def examples() -> dict[str, Recipe]:
    """Return the invented recipes by the names of their files."""
    return {path.stem: from_toml(read_text(path), Beside(path)) for path in sorted(SWATCHES.glob("*.toml"))}


def demo() -> Recipe:
    """Return the invented recipe that the app opens on."""
    return examples()["harbour"]


def _packed(recipe: Recipe) -> str:
    return _packed_text(to_toml(recipe))


def _packed_text(toml: str) -> str:
    return base64.urlsafe_b64encode(zlib.compress(toml.encode(), 9)).decode()


def _unpacked(text: str) -> Recipe:
    """Recipe of an address; refuse any other text."""
    try:
        packed = base64.b64decode(text.encode(), altchars=b"-_", validate=True)
        unpacker = zlib.decompressobj()
        toml = unpacker.decompress(packed, MAX_TEXT_BYTES).decode()
        if not unpacker.eof:
            raise ValueError("cut short, or too much")  # half a mix can read as a whole one
    except (ValueError, binascii.Error, zlib.error):
        checks.refuse("the page's address must hold a mix", text[:40], "open the page without it")
    return from_toml(toml)


def put(recipe: Recipe, rows: Sequence[int] = ()) -> None:
    """Fill all fields from a recipe.

    Parameters
    ----------
    rows : sequence of int
        Numbers for the rows, and for more of them than it has flakes; new ones unless given.
    """
    if session.RECIPE.get() != recipe:
        _keep_last()
    session.ROWS.put([])
    for flake, row in zip_longest(recipe.flakes, rows):
        add_row(flake or Flake(f"flake {row}", "#808080", 20.0), row)
    session.TITLE.put(recipe.name)
    folding = recipe.folding
    for field, value in FOLDING_FIELDS.items():
        value.put(getattr(folding, field))
    batch_fields.put_size(recipe)
    session.FINISH.put(recipe.sheet.finish)
    session.FOLDS.put(folding.folds)
    session.MOVE.put(folding.move or OWN_LIST)
    session.MOVES.put(", ".join(folding.moves or ("edges-in", "turn", "half", "turn", "half")))
    session.BASE.put(recipe)  # what no field shows is kept from it
    session.RECIPE.put(recipe)
    session.EXAMPLE.put(any(_subject(recipe) == _subject(example) for example in examples().values()))
    session.OTHERS.forget()


def _subject(recipe: Recipe) -> tuple[Any, ...]:
    """Return what makes a recipe another one: all but grams and folding, and its chances."""
    flakes = tuple((flake.name, flake.srgb) for flake in recipe.flakes)
    return recipe.name, recipe.sheet, flakes, recipe.folding.seed


def fresh_seed() -> int:
    """Return a random seed."""
    return secrets.randbelow(MAX_SEED + 1)


def other_sheets() -> None:
    """Draw chances for three more of the sheets that the recipe can give."""
    session.OTHERS.put(tuple(fresh_seed() for _ in range(3)))


def take_sheet(seed: int) -> None:
    """Go on with another sheet of the same recipe."""
    session.SEED.put(seed)
    session.EXAMPLE.forget()
    session.OTHERS.forget()


def undo() -> None:
    """Go back to the recipe before the last change."""
    *others, last = session.BEFORE.get()
    put(last, session.ROWS.get()[: len(last.flakes)])
    session.BEFORE.put(tuple(others))
    session.LANDED.forget()


def _keep_last() -> None:
    """Keep the present recipe for undo, before another one takes its place."""
    if session.RECIPE.is_set():
        session.BEFORE.put((*session.BEFORE.get()[-UNDOS:], session.RECIPE.get()))


def land(recipe: Recipe, said: str) -> None:
    """Put a recipe found elsewhere into the fields, with a notice from which it can be undone."""
    put(recipe)
    session.LANDED.put(said)


def add_row(flake: Flake, row: int | None = None) -> None:
    """Add a row of fields for a flake, with a new number unless one is given."""
    row = row or session.LAST_ROW.get() + 1
    session.LAST_ROW.put(max(row, session.LAST_ROW.get()))
    session.ROWS.put([*session.ROWS.get(), row])
    fill_row(row, flake)


def fill_row(row: int, flake: Flake) -> None:
    """Fill a row's fields from a flake."""
    session.ROW_FLAKE(row).put(flake)
    session.ROW_NAME(row).put(flake.name)
    session.ROW_SRGB(row).put(flake.srgb)
    grams_field(row).put(flake.grams)


def remove_row(row: int) -> None:
    """Take a row of fields away; let-downs made in its flake keep it as their partner."""
    rest = [one for one in session.ROWS.get() if one != row]
    session.ROWS.put(rest)
    flakes = [session.ROW_FLAKE(one).get() for one in (*rest, row)]
    for one, flake in zip(rest, with_partners(flakes[:-1], flakes), strict=True):
        session.ROW_FLAKE(one).put(flake)


def renamed(row: int) -> None:
    """Follow a row's new name in the let-downs that were made in its flake, and in the lays."""
    flake, name = session.ROW_FLAKE(row).get(), session.ROW_NAME(row).get().strip()
    with suppress(checks.InputError):  # shown where the row is read
        renamed = replace(flake, name=name)
        for one in session.ROWS.get():
            other = session.ROW_FLAKE(one).get()
            session.ROW_FLAKE(one).put(renamed if one == row else other.renamed(flake.name, name))
        session.BASE.put(session.BASE.get().renamed(flake.name, name))


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
    known, name = session.ROW_FLAKE(row).get(), session.ROW_NAME(row).get()
    return replace(known, name=name, srgb=session.ROW_SRGB(row).get(), grams=grams_of(row))


def grams_field(row: int) -> Quantity:
    """Return the field of a row's grams."""
    return Quantity(session.ROW_GRAMS(row), "g")


def grams_of(row: int) -> float:
    """Grams of a row's field; raises as `flake_of`."""
    field = grams_field(row)
    return field.read(f"{field.unit.name} for {checks.shown(session.ROW_NAME(row).get())}", 0, inf)


def known_grams(row: int) -> float | None:
    """Grams of a row, None where its field cannot be read."""
    try:
        return grams_of(row)
    except checks.InputError:
        return None


def _read() -> Recipe:
    """Recipe of all fields; raises where one cannot be used."""
    base = session.BASE.get()
    found = replace(
        base.with_flakes(flake_of(row) for row in session.ROWS.get()),
        name=session.TITLE.get(),
        sheet=replace(base.sheet, finish=session.FINISH.get()),
        folding=_folding(base.folding),
    )
    if batch_fields.size_is_the_recipes():
        return found
    return as_pressed(found, batch_fields.order(), Plastic.published(batch_fields.press().plate_c))


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
        found = _read()
    except checks.InputError as error:
        return session.RECIPE.get(), str(error)
    if session.EXAMPLE.get() and _subject(found) != _subject(session.BASE.get()):
        session.EXAMPLE.forget()  # by now the maker's own recipe, with its own seed
        session.SEED.put(fresh_seed())
        found = found.with_folding(seed=session.SEED.get())
    if found != session.RECIPE.get():
        _keep_last()
    session.RECIPE.put(found)
    return found, ""


def last_good() -> Recipe:
    """Return the recipe of the fields, or the last good one after showing what is wrong."""
    found, wrong = recipe()
    refusals.show(wrong, LAST_SHOWN)
    return found


def start() -> None:
    """Open the session on the mix of the page's address, else on the one saved last, else on the demo.

    A page that was open while the server was restarted starts a new session at its next edit, without being
    redrawn. What it remembers in a hidden field gives it away; its fields then keep what they hold.
    """
    if session.ROWS.is_set():
        session.NOTE.put(_note(session.ROWS.get()))
        _remembered()
        with st.container():  # whether there is a notice or not, so that nothing below shifts
            _notice()
        return
    session.TOKEN.put(uuid4().hex)
    opened = _opened()
    token, *rows = _remembered(value=_note(range(1, len(opened.flakes) + 1))).split()
    if rows[-1].isalpha():
        session.OPENED.put(rows.pop())
    session.REJOINED.put(token != session.TOKEN.get())
    batch_fields.start()
    put(opened, [int(row) for row in rows])


def _notice() -> None:
    if notice := session.NOTICE.get():
        with st.container(horizontal=True, vertical_alignment="center"):
            st.info(notice)
            st.button("OK", key="notice read", on_click=session.NOTICE.forget)


def _note(rows: Iterable[int]) -> str:
    """Return what a page remembers: the session that drew it, its rows of flakes, what stands open."""
    return " ".join([session.TOKEN.get(), *map(str, rows), session.OPENED.get()]).rstrip()


def _remembered(**start: str) -> str:
    """Draw the hidden field, and return what it holds."""
    options: dict[str, Any] = {"label_visibility": "collapsed", **start}
    found = st.text_input("This page", key=session.NOTE.key, **options)
    return found if found and re.fullmatch(NOTE, found) else start.get("value", "")


def _opened() -> Recipe:
    """Return the recipe to open on; where an address is refused, say so."""
    found, wrong = None, ""
    if ADDRESS in st.query_params:
        try:
            found = _unpacked(st.query_params[ADDRESS])
        except checks.InputError as error:
            wrong = str(error)
    saved = None if found else _saved()
    if wrong:
        st.warning(style.plain(f"The {'last' if saved else 'demo'} mix is shown: {wrong}."))
    return found or saved or demo()


def rejoin() -> None:
    """Run again after the first run for a page from before a restart: now its fields are known."""
    if session.REJOINED.pop():
        session.NOTICE.put(REJOINED)
        st.rerun()


def _saved() -> Recipe | None:
    """Return the mix saved last, None where there is none that can be read."""
    try:
        text = autosave.load(PAGE)
        return from_toml(text) if text else None
    except checks.InputError:  # a newer version's
        return None


def remember() -> None:
    """Keep the last good recipe in the page's address and on the disk, or say that neither can."""
    toml = to_toml(recipe()[0])
    unsaved = autosave.save(PAGE, toml)
    packed = _packed_text(toml)
    if len(packed) <= MAX_ADDRESS_LENGTH:
        st.query_params[ADDRESS] = packed
        return
    st.query_params.pop(ADDRESS, None)
    if unsaved:
        trouble = f"The spectra of this mix are too long to survive a refresh: {unsaved}."
        st.warning(style.plain(f"{trouble} Save it as a file, under Start from."))
