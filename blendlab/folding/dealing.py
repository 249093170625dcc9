"""Deal the flakes of the first slab to lays, and those of each lay to kinds, to the volume of each."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ..recipe.lay import SCATTER, Lay
from ..recipe.slab_size import Size
from .places import score, turns

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Labels = npt.NDArray[np.uint8]

CLOSE = 1e-5  # a share this near counts as met: a thousandth of a point
FREE = 255  # label of a cell not yet dealt
BED = ("layer", "throughout")  # places that take what the others leave


def _deal(
    volumes: Floats, shares: Floats, blocks: list[Integers], coarse: Floats, rng: np.random.Generator
) -> Labels:
    """Deal cells to kinds, the coarsest first, each taking blocks in random turn until its share is full.

    `blocks` gives, for every kind, the block each cell belongs to. The last block taken is cut to fit, and
    the finest kind takes what is left.
    """
    labels = np.full(volumes.size, FREE, np.uint8)
    order = np.argsort(-coarse, kind="stable")
    for kind in order[:-1]:
        free = np.flatnonzero(labels == FREE)
        turn = rng.permutation(blocks[kind].max() + 1)
        take(labels, kind, turn[blocks[kind][free]], free, volumes, shares[kind])
    labels[labels == FREE] = order[-1]
    return labels


def take(
    labels: Labels, own: int, scores: npt.NDArray[np.generic], free: Integers, volumes: Floats, wanted: float
) -> None:
    """Label free cells in the order of their scores until a volume is full."""
    queue = free[np.argsort(scores, kind="stable")]
    filled = np.cumsum(volumes[queue]) - 0.5 * volumes[queue]
    labels[queue[filled < wanted]] = own


def even_out(labels: Labels, volumes: Floats, shares: Floats) -> None:
    """Move or swap single flakes between the fullest and the emptiest kind while that helps, in place."""
    for _ in range(64):
        over = np.bincount(labels, volumes, len(shares)) - shares
        rich, poor = int(over.argmax()), int(over.argmin())
        wanted = min(over[rich], -over[poor])
        if wanted < CLOSE:
            return
        give, take = np.flatnonzero(labels == rich), np.flatnonzero(labels == poor)
        give = give[np.argsort(volumes[give], kind="stable")]
        gains = np.concatenate([[0.0], volumes[take]])  # volume that comes back; 0 is a plain move
        at = np.clip(np.searchsorted(volumes[give], gains + wanted), 0, len(give) - 1)
        miss = np.abs(volumes[give[at]] - gains - wanted)
        best = int(miss.argmin())
        if miss[best] >= wanted or (best == 0 and len(give) == 1):
            return
        labels[give[at[best]]] = poor
        if best > 0:
            labels[take[best - 1]] = rich


def _claims(lays: Sequence[Lay]) -> tuple[list[int], set[int]]:
    """Return the order in which lays take their places, and which of them lie under all others.

    Chips lie on top; lays of given width lie over what was laid before, the last on top of all, or under
    what comes later; then those that go through the whole charge; the bed last.
    """
    numbers = range(len(lays))
    deep = [n for n in numbers if lays[n].width_mm is None and lays[n].place != SCATTER]
    under = {n for n in numbers if lays[n].width_mm is not None and n < min(deep, default=0)}
    over = [n for n in numbers if n not in under and n not in deep]
    over.sort(key=lambda n: (lays[n].place != SCATTER, -n))
    deep.sort(key=lambda n: (lays[n].place in BED, lays[n].place == "layer"))
    return [*over, *sorted(under), *deep], under


def deal_lays(
    lays: Sequence[Lay],
    shares: Floats,
    spots: Floats,
    size_mm: Size,
    volumes: Floats,
    blocks: list[Integers],
    thick_mm: Floats,
    chances: Sequence[np.random.Generator],
) -> Labels:
    """Deal flakes to lays.

    Parameters
    ----------
    lays : sequence of Lay
        In the order of laying.
    shares : ndarray, shape (lays, kinds)
        Parts of the slab, summing to 1.
    spots : ndarray, shape (n, 3)
        Middles of the flakes from the middle of the lower face, mm.
    volumes : ndarray, shape (n,)
        Of the flakes, as parts of the slab.
    blocks : list of ndarray, shape (n,)
        For each kind, the piece that each flake would belong to.
    thick_mm : ndarray, shape (kinds,)
        Thickness of one piece of each kind.
    chances : sequence of Generator
        Source of random numbers of each lay.

    Returns
    -------
    ndarray of uint8, shape (n,)
        Number of the lay of each flake. Each lay's volume is right within half a flake.
    """
    found = np.full(len(spots), FREE, np.uint8)
    wanted = shares.sum(axis=1)
    order, under = _claims(lays)
    places = turns(lays, wanted)
    for n in order[:-1]:
        kind = int(shares[n].argmax())
        chance = chances[n].random(blocks[kind].max() + 1)[blocks[kind]]
        scores = score(lays[n], places[n], spots, size_mm, chance, thick_mm[kind], n in under)
        free = np.flatnonzero(found == FREE)
        take(found, n, scores[free], free, volumes, wanted[n])
    found[found == FREE] = order[-1]
    return found


def deal_kinds(
    owners: Labels,
    shares: Floats,
    volumes: Floats,
    blocks: list[Integers],
    coarse: Floats,
    chances: Sequence[np.random.Generator],
) -> Labels:
    """Deal the flakes of each lay to its kinds.

    Parameters
    ----------
    owners : ndarray of uint8, shape (n,)
        Number of the lay of each flake.
    shares, volumes, blocks, chances
        As for `deal_lays`.
    coarse : ndarray, shape (kinds,)
        How coarse each kind is: the coarsest are dealt first.

    Returns
    -------
    ndarray of uint8, shape (n,)
        Kind of each flake; if a lay has too much or too little of a kind, the kind's next lay makes up for
        it.
    """
    labels = np.zeros(len(owners), np.uint8)
    owed = np.zeros(shares.shape[1])
    for n, wanted in enumerate(shares):
        kinds = np.flatnonzero(wanted > 0)
        own = np.flatnonzero(owners == n) if len(shares) > 1 else slice(None)
        if not volumes[own].size:
            owed += wanted
            continue
        asked = np.maximum(wanted[kinds] + owed[kinds], 0.0)
        dealt = _deal(volumes[own], asked, [blocks[kind][own] for kind in kinds], coarse[kinds], chances[n])
        even_out(dealt, volumes[own], asked)
        owed[kinds] = asked - np.bincount(dealt, volumes[own], len(kinds))
        labels[own] = kinds[dealt]
    return labels
