"""Blends and searches against a plainer way in the same run: ``python tests/bench/bench_colour.py``."""

from collections.abc import Callable
from itertools import combinations
from time import perf_counter

import numpy as np

from blendlab.colour import simplex, spectra
from blendlab.colour.difference import delta_e00
from blendlab.colour.means import as_pigment
from blendlab.colour.pigment import blend, light_of, palette
from blendlab.colour.target import nearest, wanted_colour
from blendlab.recipe.flake_list import Stocked

ROWS = 1_000_000


def seconds(work: Callable[[], object], times: int = 3) -> float:
    """Shortest of a few runs, without the first."""
    work()
    found = []
    for _ in range(times):
        start = perf_counter()
        work()
        found.append(perf_counter() - start)
    return min(found)


def blends() -> None:
    """Compiled blends against the plain ones."""
    rng = np.random.default_rng(1)
    flakes = palette(
        [Stocked(f"{n}", srgb).charged(1) for n, srgb in enumerate(("#f1eee4", "#1d4f8f", "#f0ac2b"))]
    )
    shares = rng.dirichlet([1, 1, 1], ROWS).astype(np.float32)
    part = shares[: ROWS // 20]
    compiled = seconds(lambda: light_of(shares, flakes))
    plain = 20 * seconds(lambda: spectra.xyz1_from_reflectance(blend(flakes, part)))
    print(f"blends: {compiled / ROWS * 1e9:.0f} ns each, {plain / compiled:.0f} times the plain path")


def search() -> None:
    """A search of forty flakes, three at a time, against a plain 1 % grid over the same sets."""
    rng = np.random.default_rng(2)
    shed = [Stocked(f"{n}", "#{:02x}{:02x}{:02x}".format(*rng.integers(10, 240, 3))) for n in range(40)]
    wanted = wanted_colour("#558060")
    found = seconds(lambda: nearest(wanted, shed), times=1)
    average, grid = as_pigment(palette([flake.charged(1) for flake in shed])), simplex.grid(3, 100)
    sets = list(combinations(range(40), 3))
    few = sets[:: len(sets) // 20]

    def plain() -> None:
        for members in few:
            delta_e00(average.lab_of(grid @ average.amounts[list(members)]), wanted.lab)

    whole = seconds(plain, times=1) * len(sets) / len(few)
    print(f"search: {found:.1f} s, {whole / found:.0f} times the plain grid")


if __name__ == "__main__":
    blends()
    search()
