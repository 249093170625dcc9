"""Dataclasses read from TOML and written to it, with error messages that a maker can act on."""

import re
import tomllib
from collections.abc import Collection, Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from typing import TYPE_CHECKING, Any, TypeVar

import tomlkit

from .. import checks

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

# Python's reader takes hours over a dotted key with very many parts; a recipe's keys have one.
_LONG_KEY = re.compile(r"""(?<![\w"'.-])(?:[\w"'-]+[ \t]*\.[ \t]*){200}""")

KEY = "toml key"  # of a field's metadata: its key where Python has no such name
OMITTED = "toml omitted"  # of a field's metadata: True where its default is not written

_Part = TypeVar("_Part", bound="DataclassInstance")


def parse(what: str, text: str) -> dict[str, Any]:
    """Parse TOML text, which error messages call `what`; InputError with the line where it is not TOML."""
    rule = f"{what} must be well-formed TOML"
    remedy = "correct the file there, or compare it with one of the demo recipes"
    if _LONG_KEY.search(text):
        checks.refuse(rule, checks.Raw("a key of very many parts"), remedy)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        checks.refuse(rule, error, remedy)
    except (ValueError, RecursionError):  # Python's own limits on digits and on nesting
        checks.refuse(rule, checks.Raw("a number or a nest of brackets too long to read"), remedy)


def build(kind: type[_Part], where: str, table: object, needed: Collection[str] | None = None) -> _Part:
    """Build a dataclass from its table.

    InputError where it is not a table, a key is unknown or missing, or a value breaks its rule.

    Parameters
    ----------
    kind : type
        The dataclass; its fields are the allowed keys.
    where : str
        The table's heading in the file.
    needed : collection of str, optional
        Required keys; by default those whose field has no default.
    """
    if not isinstance(table, Mapping):
        checks.refuse(f"{where} must be a table", table, f"head it with {where.split()[0]}")
    if needed is None:
        needed = [_key(each) for each in fields(kind) if each.default is each.default_factory is MISSING]
    checks.keys(where, table, needed, keys(kind))
    names = {_key(each): each.name for each in fields(kind)}
    return kind(**{names[key]: value for key, value in table.items()})


def keys(kind: type[_Part]) -> list[str]:
    """Return the keys of a dataclass in order: its `TOML_KEYS`, or all its fields."""
    return list(getattr(kind, "TOML_KEYS", map(_key, fields(kind))))


def table(part: "DataclassInstance") -> dict[str, Any]:
    """Return a dataclass's values by key, in order, without None and without defaults that are `OMITTED`.

    A dataclass within it that has an ``as_table`` writes itself.
    """
    named = {_key(each): each for each in fields(part)}
    values = {key: getattr(part, named[key].name) for key in keys(type(part))}
    return {
        key: _plain(value)
        for key, value in values.items()
        if value is not None and not (named[key].metadata.get(OMITTED) and value == named[key].default)
    }


def _plain(value: Any) -> Any:
    """Return a value as TOML holds it."""
    if hasattr(value, "as_table"):
        return value.as_table()
    return table(value) if is_dataclass(value) and not isinstance(value, type) else value


def write(document: Mapping[str, Any]) -> str:
    r"""Write keys, tables and lists of tables in order; they read back exactly the same.

    Examples
    --------
    >>> print(write({"name": 'a "fine" tile', "flake": [{"grams": 0.1}]}), end="")
    name = "a \"fine\" tile"
    <BLANKLINE>
    [[flake]]
    grams = 0.1
    """
    return tomlkit.dumps(document)


def _key(each: "Field[Any]") -> str:
    """Return the key of a field."""
    return str(each.metadata.get(KEY, each.name))
