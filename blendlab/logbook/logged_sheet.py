"""One sheet of the log, and the row it is stored as."""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from typing import Any

from .. import checks
from ..recipe.recipe import Recipe, from_toml, to_toml
from . import photos
from .row_reader import Row

MAX_NOTES = 10_000  # characters
MAX_NESTING = 10  # levels of lists and tables in a prediction
MAX_NUMBER = 1e12  # in a prediction
COLUMNS = (
    *("pressed_on", "recipe", "programme", "length_mm", "width_mm", "thickness_mm", "weight_g"),
    *("notes", "rating", "prediction", "photo", "picture", "uid"),
)  # in the order of the fields of `LoggedSheet`
_MEASURED = {"length_mm": 5000, "width_mm": 5000, "thickness_mm": 500, "weight_g": 1e6}


@dataclass(frozen=True)
class LoggedSheet:
    """One sheet in the log.

    Parameters
    ----------
    programme : tuple of str
        The steps as planned, one line each.
    length_mm, width_mm, thickness_mm, weight_g : float, optional
        As measured on the finished sheet.
    notes : str
        What the maker thought of it.
    rating : int, optional
        1 to 5.
    prediction : mapping
        What was predicted that day: numbers, text, lists and tables, as JSON holds them.
    photo, picture : str, optional
        Names of the photo and of the predicted picture, assigned by the log.
    uid : str
        Assigned by the log.
    """

    pressed_on: date
    recipe: Recipe
    programme: tuple[str, ...] = ()
    length_mm: float | None = None
    width_mm: float | None = None
    thickness_mm: float | None = None
    weight_g: float | None = None
    notes: str = ""
    rating: int | None = None
    prediction: Mapping[str, Any] = field(default_factory=dict)
    photo: str | None = None
    picture: str | None = None
    uid: str = ""

    def __post_init__(self) -> None:
        """Check every value."""
        if self.rating is not None:
            checks.whole("rating", self.rating, 1, 5, "leave it out, or give 1 to 5")
        for name, most in _MEASURED.items():
            value = getattr(self, name)
            if value is not None:
                checks.number(f"measured {name}", value, 0, most, "measure the cold sheet, or leave it out")
        _check_text("notes", self.notes, "write them again")
        if len(self.notes) > MAX_NOTES:
            found = checks.Raw(f"{len(self.notes):,} characters")
            checks.refuse(f"notes must be at most {MAX_NOTES:,} characters", found, "shorten them")
        _check_prediction(self.prediction)
        for picture in (self.photo, self.picture):
            if picture is not None and not photos.NAME.fullmatch(picture):
                checks.refuse("a picture must have the name the log gave it", picture, "add it again")
        for line in self.programme:
            checks.label("a programme's line", line, longest=200)


def to_row(sheet: LoggedSheet) -> tuple[object, ...]:
    """Return a sheet as a row of `COLUMNS`."""
    # Sorted, so that the same prediction gives the same text.
    prediction = json.dumps(sheet.prediction, ensure_ascii=False, sort_keys=True, allow_nan=False)
    return (
        *(sheet.pressed_on.isoformat(), to_toml(sheet.recipe), "\n".join(sheet.programme)),
        *(sheet.length_mm, sheet.width_mm, sheet.thickness_mm, sheet.weight_g),
        *(sheet.notes, sheet.rating, prediction, sheet.photo, sheet.picture, sheet.uid),
    )


def from_row(row: Row) -> LoggedSheet:
    """Read a sheet from a row of `COLUMNS`; one that cannot be read raises."""
    found = dict(zip(COLUMNS, row, strict=True))
    found["pressed_on"] = date.fromisoformat(found["pressed_on"])
    found["recipe"] = _recipe(found["recipe"])
    found["programme"] = tuple(found["programme"].splitlines())
    found["prediction"] = json.loads(found["prediction"])
    return LoggedSheet(**found)


@lru_cache(maxsize=4096)
def _recipe(text: str) -> Recipe:
    """Read a recipe, once for each text: a page reads the whole log several times."""
    return from_toml(text)


def describe(row: Row) -> str:
    """Name a sheet that cannot be read: its date, and its recipe's name if that can be found."""
    day, recipe = row[:2]
    name = re.search(r'^name = "(.+)"$', recipe, re.MULTILINE)
    return f"the sheet of {checks.shown(checks.Raw(day))}" + (f", {checks.shown(name[1])}" if name else "")


def searchable(sheet: LoggedSheet) -> str:
    """Return all the text that a search covers, case folded."""
    names = (flake.name for flake in sheet.recipe.flakes)
    return " ".join((sheet.recipe.name, *names, sheet.notes)).casefold()


def _check_prediction(prediction: object) -> None:
    """Refuse a prediction that JSON could not hold, or whose numbers could not be used."""
    rule, remedy = "a prediction must be named numbers, text and lists", "predict it again"
    if not isinstance(prediction, Mapping):
        checks.refuse(rule, prediction, remedy)
    level: list[object] = [prediction]
    for _ in range(MAX_NESTING):
        parts: list[object] = []
        for value in level:
            if isinstance(value, Mapping):
                for key in value:
                    _check_text("a name in a prediction", key, remedy)
                parts += value.values()
            elif isinstance(value, list | tuple):
                parts += value
        for part in parts:
            if isinstance(part, str):
                _check_text("text in a prediction", part, remedy)
            elif isinstance(part, int | float) and not isinstance(part, bool):
                checks.number("a number in a prediction", part, -MAX_NUMBER, MAX_NUMBER, remedy)
            elif part is not None and not isinstance(part, bool | list | tuple | Mapping):
                checks.refuse(rule, part, remedy)
        level = parts
        if not level:
            return
    checks.refuse(rule, checks.Raw(f"more than {MAX_NESTING} of them inside each other"), remedy)


def _check_text(what: str, value: object, remedy: str) -> None:
    """Refuse what is not text, and text that a file could not hold."""
    if not isinstance(value, str):
        checks.refuse(f"{what} must be text", value, remedy)
    if "\0" in value or any("\ud800" <= character <= "\udfff" for character in value):
        checks.refuse(f"{what} must be plain characters", value, remedy)
