"""The flakes of one colour that a recipe comes down to, through all offcuts.

A flake with the same name and the same measurements counts as one, wherever it is.
"""

from collections.abc import Container, Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import chain, count
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .. import checks
from .flake import MEASURES, Flake, with_partners

Floats = NDArray[np.float64]
_MEASURES = tuple(key for key in MEASURES if key != "stock")


class Leaves(NamedTuple):
    """Flakes of one colour, and where they are.

    Attributes
    ----------
    flakes : tuple of Flake
        Each with its own name: another flake of the same name takes that of its offcut along.
    parts : ndarray, shape (given flakes, leaves)
        Share of each in every flake given, rows summing to 1; 1 of themselves in those of one colour.
    weighed_g : ndarray, shape (leaves,)
        Grams whose weighing leaves the same relative error as all weighings that decide how much there is of
        each, taken as independent.
    columns : tuple of ndarray of int
        For every flake given, where its leaves are: itself, or the leaves of its sheet in their order.
    plain : bool
        Whether none of the flakes given is an offcut.
    """

    flakes: tuple[Flake, ...]
    parts: Floats
    weighed_g: Floats
    columns: tuple[NDArray[np.int64], ...]
    plain: bool


def shares_of(flakes: Sequence[Flake]) -> Floats:
    """Volume share of each flake, shape (flakes,), as `Recipe.shares`."""
    grams = np.array([flake.grams for flake in flakes])
    parts = grams / grams.max()  # so that no sum of masses overflows
    shares: Floats = parts / parts.sum()
    return shares


def leaves_of(flakes: Iterable[Flake]) -> Leaves:
    """Return what flakes come down to.

    Examples
    --------
    >>> [flake.name for flake in leaves_of([Flake("chalk", "#f2f0e8", 50)]).flakes]
    ['chalk']
    """
    return _leaves_of(tuple(flakes))


@lru_cache(maxsize=64)
def _leaves_of(flakes: tuple[Flake, ...]) -> Leaves:
    own = [n for n, flake in enumerate(flakes) if flake.cut_from is None]
    grams = np.array([flake.grams for flake in flakes])
    if len(own) == len(flakes):
        return Leaves(flakes, np.eye(len(flakes)), grams, tuple(np.arange(len(flakes))[:, None]), True)
    found = [flakes[n] for n in own]
    columns = {_measured(flakes[n], flakes): column for column, n in enumerate(own)}
    held = [(n, column, 1.0, grams[n]) for column, n in enumerate(own)]
    for n, flake in enumerate(flakes):
        for leaf, part, weighed_g in _held(flake):
            column = columns.setdefault(leaf, len(found))
            if column == len(found):
                name = _free_name(leaf.name, flake.name, {each.name for each in found})
                found.append(leaf.renamed(leaf.name, name))
            held.append((n, column, part, weighed_g))
    columns_of = tuple(np.array([at for row, at, *_ in held if row == n]) for n in range(len(flakes)))
    parts, error = np.zeros((len(flakes), len(found))), np.zeros(len(found))
    shares = shares_of(flakes)
    for n, column, part, weighed_g in held:
        parts[n, column] += part
        error[column] += (shares[n] * part / weighed_g) ** 2
    return Leaves(tuple(found), parts, shares @ parts / np.sqrt(error), columns_of, False)


def _held(flake: Flake) -> Iterator[tuple[Flake, float, float]]:
    """Yield each leaf of an offcut as `_measured`, its share, and the grams of both weighings as one."""
    if flake.cut_from is None:
        return
    flakes = flake.cut_from.recipe.flakes
    of = leaves_of(flakes)
    for leaf, part, grams in zip(of.flakes, shares_of(flakes) @ of.parts, of.weighed_g, strict=True):
        yield _measured(leaf, of.flakes), float(part), float(1 / np.hypot(1 / grams, 1 / flake.grams))


def _measured(flake: Flake, among: Iterable[Flake]) -> Flake:
    """Return a flake without its amount, its cut and its source, its let-down with its partner."""
    (alone,) = with_partners([flake], among)
    return Flake(**{key: getattr(alone, key) for key in ("name", "srgb", *_MEASURES)}, grams=1.0)


def _free_name(name: str, of: str, taken: Container[str]) -> str:
    """Return a name for a leaf that no other has: its own, or with that of its offcut, or with a number."""
    longest = checks.MAX_LABEL
    numbered = (f"{name[: longest - 6]} ({n})" for n in count(2))
    return next(
        each for each in chain((name, f"{name} in {of}"[:longest].strip()), numbered) if each not in taken
    )
