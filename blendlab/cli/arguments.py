"""Arguments of commands: numbers that remember how they were typed, recipes, paths for results."""

import argparse
import math
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NoReturn

from .. import checks
from ..io.atomic_write import check_place
from ..io.text_files import Beside, read_text
from ..recipe.recipe import Recipe, from_toml
from .output import Result

# Adds a command from its name, its function, a line about it and the end of its help with an example; with
# `json=False` it has no --json.
AddCommand = Callable[..., argparse.ArgumentParser]
Run = Callable[[argparse.Namespace], Result]

_NEGATIVE = re.compile(r"-(?=[\d.]|inf|nan)")


class HelpWanted(Exception):
    """The user asked for help; the exception's text is the help."""


class Parser(argparse.ArgumentParser):
    """An argument parser that leaves printing to its caller and refuses like the rest of the program."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(formatter_class=argparse.RawDescriptionHelpFormatter, **settings)

    def error(self, message: str) -> NoReturn:
        """Refuse the arguments in one line."""
        raise checks.InputError(f"{' '.join(message.split())}; see {self.prog} --help")

    def print_help(self, file: Any = None) -> NoReturn:
        """Hand the help to the caller."""
        raise HelpWanted(self.format_help().rstrip())


def number(text: str) -> checks.Typed:
    """Parse a number."""
    try:
        return checks.Typed(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"a number must be given, got {checks.shown(text)}") from None


def whole(text: str) -> int:
    """Parse a whole number."""
    if not re.fullmatch(r"[+-]?\d{1,9}", text.strip(), re.ASCII):
        raise argparse.ArgumentTypeError(f"a whole number must be given, got {checks.shown(text)}")
    return int(text)


def joined(words: Sequence[str]) -> list[str]:
    """Join options with values that begin with a minus sign, which argparse would mistake for options.

    Examples
    --------
    >>> joined(["sheet", "--at-mm", "-5,3", "--json"])
    ['sheet', '--at-mm=-5,3', '--json']
    """
    found: list[str] = []
    for word in words:
        after_option = bool(found) and re.fullmatch(r"--[a-z][\w-]*", found[-1])
        if after_option and _NEGATIVE.match(word):
            found[-1] += f"={word}"
        else:
            found.append(word)
    return found


def numbers(what: str, text: str, count: int, unit: str = "millimetres") -> list[checks.Typed]:
    """Parse exactly `count` numbers separated by commas."""
    try:
        found = [checks.Typed(part) for part in text.split(",")]
    except ValueError:
        found = []
    if len(found) != count or not all(map(math.isfinite, found)):
        wanted = "a number" if count == 1 else f"{count} numbers separated by commas"
        checks.refuse(f"{what} must be {wanted}", text, f"give it in {unit}")
    return found


def read_recipe(path: str) -> Recipe:
    """Read a recipe file, and those that its offcuts name."""
    return from_toml(read_text(path), Beside(Path(path)))


def check_output_path(option: str, path: str, ending: str) -> None:
    """Refuse a path that cannot take the result, before the work begins."""
    if not path.lower().endswith(ending):  # so that a slip cannot overwrite a recipe
        checks.refuse(f"{option} must name a {ending[1:].upper()}", path, f"end the name in {ending}")
    check_place(path)
