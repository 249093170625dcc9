"""Published ranges that the workshop reads from the tables."""

from collections.abc import Mapping
from functools import cache
from typing import Any

from .. import tables
from ..tables.ranges import Range


@cache
def hdpe() -> Mapping[str, Any]:
    """Return the properties of HDPE, each entry with its source."""
    return tables.read_toml("hdpe/hdpe.toml")


@cache
def heat() -> Mapping[str, Any]:
    """Return contacts, liners, boards and air, each entry with its source."""
    return tables.read_toml("heat/heat.toml")


@cache
def flow() -> Mapping[str, Any]:
    """Return how the melt flows and what holds a press shut, each entry with its source."""
    return tables.read_toml("flow/flow.toml")


@cache
def practice() -> Mapping[str, Any]:
    """Return what makers commonly report; it has no published source."""
    return tables.read_toml("practice/practice.toml")


def range_of(entry: Mapping[str, Any]) -> Range:
    """Return the range of a table's entry."""
    return Range(entry["low"], entry["usual"], entry["high"])


@cache
def pieces() -> Mapping[str, Mapping[str, float]]:
    """Return the mass of collected pieces, g, by kind of piece."""
    return {row["name"]: row for row in tables.read_toml("pieces/pieces.toml")["piece_g"]}
