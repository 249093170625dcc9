"""What all commands share: a result in numbers and in words, reading a recipe, lines of text."""

import argparse
import sys
from collections.abc import Callable
from typing import Any

from .. import checks
from ..io.atomic_write import check_place
from ..io.text_files import read_text
from ..recipe.recipe import Recipe, from_toml

Result = tuple[dict[str, Any], str]  # for --json, and in words
# Name, what it runs, what it does in a line, and what its help says more: what comes out, and an example.
Commands = Callable[[str, Callable[[argparse.Namespace], Result], str, str], argparse.ArgumentParser]


def recipe_of(path: str) -> Recipe:
    """Read a recipe file."""
    return from_toml(read_text(path))


def check_picture(path: str) -> None:
    """Refuse a picture's place before time is spent on the picture."""
    if not path.lower().endswith(".png"):  # so that no slip puts a picture in a recipe's place
        checks.refuse("--out must name a PNG", path, "end the name in .png")
    check_place(path)


def wait_for_compiler() -> None:
    """Say so where the first picture waits for the compiler."""
    from ..runtime.compiled import is_warm

    if not is_warm():
        print(
            "blendlab: compiling the folding code, once for this version (some 20 seconds) …", file=sys.stderr
        )


def colour_line(label: str, colour: dict[str, Any]) -> str:
    """Put a colour on a line: hex and CIELAB."""
    lightness, a, b = colour["lab"]
    return f"{label:12} {colour['srgb']}   L* {lightness:6.2f}   a* {a:7.2f}   b* {b:7.2f}"
