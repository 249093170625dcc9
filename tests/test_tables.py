"""The tables of published numbers: one form, nothing left out, every key on its card."""

import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from blendlab import tables
from blendlab.tables.entries import DOUBTS, PUBLISHED, UNITS, entries, unit_and_label

ROOT = Path(str(files("blendlab.tables")))
TABLES = [path for path in sorted(ROOT.iterdir()) if path.is_dir() and path.name != "__pycache__"]


def raw(folder: Path) -> dict[str, Any]:
    return tomllib.loads((folder / f"{folder.name}.toml").read_text("utf-8"))


def numbers(found: Any) -> list[float]:
    """Every number anywhere within, in order."""
    if isinstance(found, dict):
        return [number for value in found.values() for number in numbers(value)]
    if isinstance(found, list):
        return [number for value in found for number in numbers(value)]
    return [float(found)] if isinstance(found, int | float) else []


@pytest.mark.parametrize("folder", TABLES, ids=lambda folder: folder.name)
def test_the_entries_of_a_table_hold_all_its_numbers(folder: Path) -> None:
    of_table = [entry for entry in entries() if entry.table == folder.name]
    found = [number for entry in of_table for figure in entry.figures for number in figure.numbers]
    assert sorted(found) == sorted(numbers(raw(folder)))
    assert all(entry.figures or entry.text or entry.columns for entry in of_table)


@pytest.mark.parametrize("folder", TABLES, ids=lambda folder: folder.name)
def test_the_card_of_a_table_names_its_files_and_keys(folder: Path) -> None:
    card = (folder / "SOURCE.md").read_text("utf-8")
    files_beside = {path.name for path in folder.iterdir()} - {"SOURCE.md", f"{folder.name}.toml"}
    keys = {key for key, value in raw(folder).items() if not isinstance(value, str)}
    assert [name for name in (f"{folder.name}.toml", *files_beside, *keys) if f"`{name}`" not in card] == []


def test_every_column_of_a_file_of_numbers_is_an_entrys() -> None:
    for path in ROOT.glob("*/*.csv"):
        of_file = [entry for entry in entries() if (entry.table, entry.file) == (path.parent.name, path.name)]
        first, *columns = tables.read_csv(f"{path.parent.name}/{path.name}")
        assert unit_and_label(first)[1] == "" or first == "nm"  # a row is known by what stands first
        assert [column for entry in of_file for column in entry.columns] == columns


def test_every_entry_is_distinct_within_its_topic() -> None:
    known = [(entry.topic, entry.name) for entry in entries()]
    assert len(set(known)) == len(known) > 60


def test_what_is_not_published_is_marked_so() -> None:
    """A handful whose standing is known for certain, one of each kind."""
    standing = {(entry.table, entry.key): entry.known_by for entry in entries()}
    assert standing["eye", "opponents"] == PUBLISHED
    assert standing["hdpe", "safe_core_c"] == "from memory"
    assert standing["pieces", "piece_g"] == "common practice"
    assert standing["hiding", "stock_mm"] == "estimate"
    assert set(standing.values()) == {PUBLISHED, *DOUBTS}


def test_a_source_that_is_not_a_publication_says_what_it_is() -> None:
    """What nobody printed has no year, standard, table or data sheet to name."""
    named = ("19", "20", "ISO", "IEC", "ASTM", "Table", "tables", "data sheets", "Handbook", "NETZSCH")
    for entry in entries():
        assert entry.known_by in DOUBTS or any(word in entry.source for word in named), entry


@pytest.mark.parametrize("key", ["conductivity_w_mk", "air_film_w_m2k", "breakdown_c", "piece_g", "stock_mm"])
def test_a_key_ends_in_its_unit(key: str) -> None:
    unit, label = unit_and_label(key)
    assert unit
    assert key == f"{label.replace(' ', '_')}_{next(end for end, shown in UNITS.items() if shown == unit)}"


def test_a_missing_table_raises_as_usual() -> None:
    with pytest.raises(FileNotFoundError):
        tables.read_text("none/none.toml")
