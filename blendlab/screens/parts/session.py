"""What a session remembers: every key of its state, with the type of its value.

Fields that other code reads too keep their values under these keys; a field whose value only its own page
takes has its key beside it.
"""

from collections.abc import Sequence
from typing import Any, Generic, TypeVar

import streamlit as st

from ...photo.answer import PhotoMatch
from ...recipe.recipe import Flake, Recipe
from ...units import METRIC, Units
from ...workshop.batch_plan import Batch
from ...workshop.press_clock import PressClock

T = TypeVar("T")

KEEP: dict[str, Any] = {"persist_state": "session"}  # for fields: their value outlives a look at another page


class Value(Generic[T]):
    """One value of the session.

    Parameters
    ----------
    key : str
        Under which the state holds it; the key of its field where it has one.
    start : Any
        What it is until it is set.
    """

    def __init__(self, key: str, start: T) -> None:
        self.key, self.start = key, start

    def get(self) -> T:
        """Return the value."""
        found: T = st.session_state.get(self.key, self.start)
        return found

    def put(self, value: T) -> None:
        """Set the value; that of a field only before the field is drawn."""
        st.session_state[self.key] = value

    def pop(self) -> T:
        """Return the value and forget it."""
        found = self.get()
        self.forget()
        return found

    def forget(self) -> None:
        """Go back to the start."""
        st.session_state.pop(self.key, None)

    def is_set(self) -> bool:
        """Whether it was ever set."""
        return self.key in st.session_state


class OfRow(Generic[T]):
    """A value of each row of flakes."""

    def __init__(self, key: str, start: T) -> None:
        self.key, self.start = key, start

    def __call__(self, row: int) -> Value[T]:
        """Return the value of that row."""
        return Value(f"{self.key}{row}", self.start)


_DEMO: Any = None  # filled by draft.start before anything reads it

# The mix: its rows of flakes, the fields beside them, and the last recipe that could be pressed.
ROWS: Value[list[int]] = Value("ids", [])
LAST_ROW = Value("next_id", 0)
ROW_FLAKE: OfRow[Flake] = OfRow("flake", _DEMO)
ROW_NAME, ROW_SRGB, ROW_GRAMS = OfRow("name", ""), OfRow("srgb", ""), OfRow("grams", "")  # as typed
ROW_SLIDES = OfRow("slides", 0)  # how many sliders a row has had
ROW_BEFORE: OfRow[Flake | None] = OfRow("before", None)  # the flake before its colour was changed
ROW_REFUSED = OfRow("refused", "")
TITLE, MOVE, MOVES = Value("title", ""), Value("move", ""), Value("moves", "")
SIZE = {name: Value(name, "") for name in ("length_mm", "width_mm", "thickness_mm")}  # finished, as typed
FINISH = Value("finish", "")
DRAG, UNEVENNESS, SEED = Value("drag", 0.0), Value("unevenness", 0.0), Value("seed", 0)
FOLDS: Value[int] = Value("folds", 0)
BASE: Value[Recipe] = Value("base", _DEMO)
EXAMPLE = Value("example", False)  # whether the mix is still an invented example, but for its grams
LOCKED = Value("locked", False)  # whether all amounts follow one that is changed
BEFORE: Value[tuple[Recipe, ...]] = Value("recipes before", ())  # for undo, the latest last
OTHERS: Value[tuple[int, ...]] = Value("others", ())  # chances of the further sheets that are shown
ASKED: Value[Recipe | None] = Value("asked", None)  # the mix of which more sheets are to be looked at
WANTED_LOOK = Value("look taken", False)  # whether the fold count of a look just chosen is to be taken
OPENED, OPENINGS = Value("below", ""), Value("openings", 0)  # what stands open below the mix
NUMBERS = Value("numbers", False)  # whether figures are shown
UNITS: Value[Units] = Value("units", METRIC)
NEW_REFUSED = Value("new flake wrong", "")
BASE_SIZE: Value[tuple[Any, ...]] = Value("base size", ())  # the recipe's own, as it stands in the fields
RECIPE: Value[Recipe] = Value("recipe", _DEMO)
LAYS_REFUSED, STEPS_REFUSED = Value("lays wrong", ""), Value("steps wrong", "")
CALIBRATION_BEFORE: Value[tuple[float, float, float] | None] = Value("hand before", None)

# The batch and the log.
BATCH: Value[Batch | None] = Value("batch", None)
CLOCK: Value[PressClock | None] = Value("clock", None)
PRESSED: Value[tuple[str, str]] = Value("pressed uid", ("", ""))
PRESSED_REFUSED = Value("pressed wrong", "")
PRESSED_UNDONE, PRESSED_KEPT = Value("pressed undone", ""), Value("pressed kept", "")

SHED_REFUSED = Value("shed wrong", "")
ENTERED = Value("flakes entered", 0)  # by hand in this session
MIX_REFUSED = Value("mix wrong", "")
MIX_REMOVED: Value[Recipe | None] = Value("mix removed", None)
ENTRY_REFUSED, ENTRY_DONE = Value("entry wrong", ""), Value("entry said", "")
LOG_OPEN = Value("log open", "")
LOG_SHOWN = Value("log shown", 0)
LOG_DONE, LOG_REFUSED = Value("log said", ""), Value("log wrong", "")
LOG_NOTES: Value[tuple[str, ...]] = Value("log notes", ())
LOG_ZIP: Value[bytes] = Value("log zip", b"")

# The photo and its match.
PHOTO: Value[tuple[str, bytes, str] | None] = Value("photo", None)
PICTURE: Value[tuple[str, bytes, str] | None] = Value("picture", None)
LIKE: Value[Any] = Value("like asked", None)  # the picture and settings that likenesses were asked for
MATCHED: Value[tuple[PhotoMatch, Any] | None] = Value("matched", None)  # and the settings it was made with

NOTE, TOKEN = Value("note", ""), Value("token", "")  # what the page itself remembers, and of which session
REJOINED = Value("rejoined", False)  # in the first run for a page that an earlier server had drawn
LANDED = Value("landed", "")  # where the mix was just taken from
NOTICE = Value("notice", "")  # a sentence that stays until it is read


def offered(value: Value[Any], choices: Sequence[Any] = ()) -> dict[str, Any]:
    """Return the option by which a field starts, in the first run for a page from before a restart.

    There the browser's own value, edited since, must come before ours, which would not be so were ours set
    beforehand. In all other runs there is no such option.

    Parameters
    ----------
    value : Value
        Of the field.
    choices : sequence
        Of a field that offers some.
    """
    if not (REJOINED.get() and value.is_set()):
        return {}
    start = value.pop()
    return {"index": choices.index(start)} if choices else {"value": start}


def slide(row: int, number: int) -> Value[float]:
    """Return the value of a row's slider, of those it has had."""
    return Value(f"slide{row} {number}", 0.0)


def saved(page: str) -> Value[str | None]:
    """Return what this session last saved of a page, or found saved."""
    return Value(f"saved {page}", None)


def press(field: str) -> Value[Any]:
    """Return the value of a field of the finished sheet, the press or the boards."""
    return Value(f"press {field}", None)


def stopped(task: str) -> Value[tuple[Any, ...] | None]:
    """Return the key of the long task of a kind that the maker stopped."""
    return Value(f"stopped {task}", None)
