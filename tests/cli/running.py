"""A small recipe, and commands run on it."""

import json
import subprocess
import sys
from collections.abc import Callable
from typing import Any, NamedTuple, NoReturn

import pytest

# A narrow strip pressed evenly: the same arithmetic as a sheet, in a twentieth of the time.
STRIP = """
name = "Drawer pull blank"
[sheet]
length_mm = 80.0
width_mm = 20.0
thickness_mm = 6.0
[[flake]]
name = "chalk white"
srgb = "#f2f0e8"
grams = 30.0
[[flake]]
name = "marigold"
srgb = "#f0ac2b"
grams = 20.0
[[flake]]
name = "harbour blue"
srgb = "#1d4f8f"
grams = 10.0
[folding]
folds = 3
unevenness = 0.0
"""


class Ran(NamedTuple):
    """How a command ended."""

    status: int
    out: str
    err: str

    def only_object(self) -> dict[str, Any]:
        """The one JSON object on standard output, where nothing else is printed anywhere."""

        def no_json(word: str) -> NoReturn:
            pytest.fail(f"{word} is not JSON")

        assert (self.status, self.err) == (0, "")
        assert self.out.count("\n") == 1
        found = json.loads(self.out, parse_constant=no_json)
        assert isinstance(found, dict)
        return found

    def words(self) -> list[str]:
        """The lines on standard output of a command that succeeded."""
        assert (self.status, self.err) == (0, "")
        return self.out.splitlines()

    def refusal(self) -> str:
        """The one line of a refusal, where nothing else is printed anywhere."""
        assert (self.status, self.out) == (2, "")
        line, end = self.err[:-1], self.err[-1:]
        assert line.startswith("blendlab: ")
        assert line.isprintable()  # so it has no line break either
        assert "; " in line  # the remedy
        assert end == "\n"
        return line


Run = Callable[..., Ran]  # from a command's words to how it ended


def process(*words: str, **options: Any) -> Ran:
    """Run a command in a new process; `options` go to `subprocess.run`."""
    command = [sys.executable, "-m", "blendlab", *words]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    done = subprocess.run(command, text=True, timeout=120, check=False, **(pipes | options))
    return Ran(done.returncode, done.stdout or "", done.stderr)
