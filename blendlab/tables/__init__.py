"""Published numbers the program uses, each folder with the card of its source.

A folder holds a TOML file of the same name, columns of numbers as CSV where there are any, and SOURCE.md,
which says where the values were published, how they were taken over, and what was checked. An entry of the
TOML has a `name` in plain words, a `topic` and a `source`; keys at the top of a file apply to all its
entries. A key ends in its unit, as everywhere in the program.
"""

import csv
import tomllib
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray


def read_toml(name: str) -> dict[str, Any]:
    """Return the contents of a TOML table, such as ``"folder/values.toml"``."""
    return tomllib.loads(read_text(name))


def read_csv(name: str) -> dict[str, NDArray[np.float64]]:
    """Return the columns of a table such as ``"folder/values.csv"`` by the headings in its first line."""
    headings, *rows = csv.reader(read_text(name).splitlines())
    values = np.array(rows, dtype=np.float64)
    return dict(zip(headings, values.T, strict=True))


def folders() -> tuple[str, ...]:
    """Return the names of all tables, sorted."""
    return tuple(
        sorted(each.name for each in files(__name__).iterdir() if each.joinpath("SOURCE.md").is_file())
    )


def read_text(name: str) -> str:
    """Return the raw text of a file, such as ``"folder/SOURCE.md"``."""
    return files(__name__).joinpath(name).read_text(encoding="utf-8")
