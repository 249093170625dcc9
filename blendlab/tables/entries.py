"""Every entry of every table in one form, so that a page can show them all."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from . import folders, read_toml

# Units by the end of a key; the longest match counts.
UNITS = {
    "c": "°C",
    "cm3_g": "cm³/g",
    "deg": "°",
    "delta_e00": "ΔE00",
    "delta_e_ab": "ΔE*ab",
    "g": "g",
    "g_10min": "g/10 min",
    "g_cm3": "g/cm³",
    "j_g": "J/g",
    "j_gk": "J/(g·K)",
    "j_kgk": "J/(kg·K)",
    "kg": "kg",
    "kg_m3": "kg/m³",
    "kj_mol": "kJ/mol",
    "minutes": "min",
    "mm": "mm",
    "n": "N",
    "per_k": "1/K",
    "percent": "%",
    "w_m2k": "W/(m²·K)",
    "w_mk": "W/(m·K)",
}
# How far an entry can be trusted, by the words of its source; the weakest of them counts.
DOUBTS = ("estimate", "common practice", "from memory")
PUBLISHED = "published"


@dataclass(frozen=True)
class Figure:
    """Numbers of one kind within an entry.

    Attributes
    ----------
    key : str
        As in the table: low, usual, high and value are the entry's own, others a property of it.
    numbers : tuple of float
        One, or a row of them.
    """

    key: str
    numbers: tuple[float, ...]


@dataclass(frozen=True)
class Entry:
    """One entry of a table.

    Attributes
    ----------
    key : str
        Its key in the table; the entries of a list share one.
    topic : str
        The heading a reader would look it up under.
    name : str
        What it is, in plain words.
    source : str
        Where it was published, or a note that it was not.
    figures : tuple of Figure
        Its numbers; empty for text and columns.
    text : str
        Its words, empty for numbers.
    file : str
        The CSV of its columns, empty where there is none.
    """

    table: str
    key: str
    topic: str
    name: str
    source: str
    figures: tuple[Figure, ...]
    text: str = ""
    file: str = ""
    columns: tuple[str, ...] = ()

    @property
    def known_by(self) -> str:
        """How far to trust it: `PUBLISHED`, or the weakest of `DOUBTS` that its source names."""
        return next((doubt for doubt in DOUBTS if doubt in self.source), PUBLISHED)


def unit_and_label(key: str) -> tuple[str, str]:
    """Unit at the end of a key, empty where it has none, and the rest of the key as words.

    Examples
    --------
    >>> unit_and_label("conductivity_w_mk"), unit_and_label("emissivity")
    (('W/(m·K)', 'conductivity'), ('', 'emissivity'))
    """
    parts = key.split("_")
    ends = ("_".join(parts[at:]) for at in range(len(parts)))
    end = next((end for end in ends if end in UNITS), "")
    return UNITS.get(end, ""), key[: len(key) - len(end)].replace("_", " ").strip()


def entries() -> tuple[Entry, ...]:
    """Return all entries of all tables, in their order there."""
    return tuple(entry for table in folders() for entry in _of_table(table))


def _of_table(table: str) -> Iterator[Entry]:
    """Entries of one table; text at the top of its file applies to all of them."""
    found = read_toml(f"{table}/{table}.toml")
    shared = {key: value for key, value in found.items() if isinstance(value, str)}
    for key, entry in _within(found, ""):
        yield _entry(table, key, shared | entry)


def _within(found: Mapping[str, Any], above: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Keys and values of the entries under a key: a table with a name is an entry."""
    for key, value in found.items():
        for each in value if isinstance(value, list) else [value]:
            if isinstance(each, dict):
                yield from [(above + key, each)] if "name" in each else _within(each, f"{above}{key}.")


def _entry(table: str, key: str, found: Mapping[str, Any]) -> Entry:
    rows = {name: value if isinstance(value, list) else [value] for name, value in found.items()}
    numeric = {name: row for name, row in rows.items() if not isinstance(row[0], str)}
    return Entry(
        table,
        key,
        topic=found["topic"],
        name=found["name"],
        source=found["source"],
        figures=tuple(Figure(name, tuple(map(float, row))) for name, row in numeric.items()),
        text=found.get("text", ""),
        file=found.get("file", ""),
        columns=tuple(found.get("columns", ())),
    )
