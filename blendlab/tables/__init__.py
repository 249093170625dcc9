"""Published numbers the program uses, each folder with the card of its source.

A folder holds the data (CSV or TOML) and SOURCE.md, which says where the values
were published, how they got here, and what was checked.
"""

import csv
import tomllib
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray


def read_toml(name: str) -> dict[str, Any]:
    """Return the contents of a TOML table, such as ``"folder/values.toml"``."""
    return tomllib.loads(_text(name))


def read_csv(name: str) -> dict[str, NDArray[np.float64]]:
    """Return the columns of a numeric CSV table by their headings.

    Parameters
    ----------
    name : str
        Path below this folder, such as ``"folder/values.csv"``. The first line
        holds the headings, unit included.

    Returns
    -------
    dict of str to ndarray, shape (rows,)
        In the order of the file.
    """
    headings, *rows = csv.reader(_text(name).splitlines())
    values = np.array(rows, dtype=np.float64)
    return dict(zip(headings, values.T, strict=True))


def _text(name: str) -> str:
    return files(__name__).joinpath(name).read_text(encoding="utf-8")
