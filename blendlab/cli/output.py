"""What all commands share: the type of a result, reading a recipe, checking a picture's path."""

import argparse
import sys
from collections.abc import Callable
from typing import Any

from .. import checks
from ..io.atomic_write import check_place
from ..io.text_files import read_text
from ..recipe.recipe import Recipe, from_toml

Result = tuple[dict[str, Any], str]  # for --json, and in words
# Adds a command: its name, its function, one line about it, and the end of its help with an example.
AddCommand = Callable[[str, Callable[[argparse.Namespace], Result], str, str], argparse.ArgumentParser]


def read_recipe(path: str) -> Recipe:
    """Read a recipe file."""
    return from_toml(read_text(path))


def check_png_path(path: str) -> None:
    """Refuse a path that cannot take the picture before it is drawn."""
    if not path.lower().endswith(".png"):  # so that no slip overwrites a recipe
        checks.refuse("--out must name a PNG", path, "end the name in .png")
    check_place(path)


def announce_compiling() -> None:
    """Say so on standard error where the first picture waits for the compiler."""
    from ..runtime.compiled import is_warm

    if not is_warm():
        print(
            "blendlab: compiling the folding code, once for this version (some 20 seconds) …", file=sys.stderr
        )


def colour_line(label: str, colour: dict[str, Any]) -> str:
    """Format a colour as a line: hex and CIELAB."""
    lightness, a, b = colour["lab"]
    return f"{label:12} {colour['srgb']}   L* {lightness:6.2f}   a* {a:7.2f}   b* {b:7.2f}"
