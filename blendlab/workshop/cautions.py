"""The usual cautions for hot work, in one place for the card, the app and the README."""

from dataclasses import dataclass
from functools import cache

from .. import tables
from .properties import hdpe, heat


@dataclass(frozen=True)
class Caution:
    """One caution.

    Attributes
    ----------
    key : str
        Short name, for tests and links.
    title : str
        Its subject, in a few words.
    text : str
        What to do, in one or two sentences.
    """

    key: str
    title: str
    text: str


@cache
def cautions() -> tuple[Caution, ...]:
    """Return all cautions, the overriding one first."""
    limits = {
        "breakdown_c": hdpe()["breakdown_c"]["value"],
        **{f"{name}_c": liner["limit_c"] for name, liner in heat()["liner"].items()},
    }
    rows = tables.read_toml("cautions/cautions.toml")["caution"]
    return tuple(Caution(row["key"], row["name"], row["text"].format(**limits)) for row in rows)
