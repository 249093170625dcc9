"""Measured mixtures of oil paints, as flakes and recipes of this program; run it to print the README's table.

    python -m tests.colour.measured_mixtures

Source and licence: ``tests/reference/mixtures/SOURCE.md``.
"""

import csv
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np

from blendlab.colour import spectra
from blendlab.colour.difference import delta_e00
from blendlab.colour.means import cielab_mean, full_blend
from blendlab.colour.spaces import Colour
from blendlab.colour.uncertainty import Declared, of_full_blend
from blendlab.recipe.flake import Flake, LetDown
from blendlab.recipe.recipe import Recipe, Sheet

FOLDER = Path(__file__).parents[1] / "reference" / "mixtures"
INDEX = 1.5  # of dried oil, and of the glossy face in every reading
GLOSS = 0.04
WHITE, BLACK = "07A", "BoneBlack"
COLOURS = {
    "01": "Eosin1Wax",
    "04": "Cochineal",
    "05": "Minium",
    "10": "EmeraldGreen",
    "12": "CobaltBlue",
    "14": "ChromeYellow",
}
KINDS = {"01A": "tinted", "16A": "natural", WHITE: "opaque"}  # white and black show through the first two
TRANSLUCENT = ("01", "16")
GRAMS = 1e4  # so that weighing counts for nothing


@cache
def ratios() -> dict[str, dict[str, float]]:
    """Part of each paint in each sample, 0 to 1."""
    found: dict[str, dict[str, float]] = {}
    with (FOLDER / "ratios.csv").open(encoding="utf-8") as text:
        for row in csv.DictReader(text):
            found.setdefault(row["sample"], {})[row["paint"]] = float(row["percent"]) / 100
    return found


@cache
def readings() -> dict[tuple[str, str], np.ndarray]:
    """Seen reflectance, gloss taken off, by sample and backing."""
    with (FOLDER / "spectra.csv").open(encoding="utf-8") as text:
        rows = list(csv.reader(text))[1:]
    return {(row[0], row[1]): (np.array(row[2:], dtype=float) / 100 - GLOSS) / (1 - GLOSS) for row in rows}


def spectrum(sample: str) -> tuple[tuple[float, float], ...]:
    """Film of a sample over white, as thick as the data have it."""
    values = np.clip(readings()[sample, "film over white"], 0, 1.2)
    return tuple(zip(np.arange(400.0, 701.0, 10.0).tolist(), values.tolist(), strict=True))


def colour(sample: str) -> Colour:
    """Colour of a sample."""
    return Colour.from_xyz1(
        spectra.xyz1_from_reflectance(spectra.reflectance_from_spectrum(spectrum(sample)))
    )


class Task(NamedTuple):
    """One prediction: a part of one sample in another gives a third; perhaps with a let-down."""

    group: str
    first: str
    second: str
    mixed: str
    part: float
    let_down: tuple[str, float] | None = None

    def recipe(self, spectral: bool, classes: bool = True) -> Recipe:
        """The two samples as flakes, known by spectrum or by colour."""
        made = None
        if self.let_down is not None:
            sample, part = self.let_down
            known = {"spectrum": spectrum(sample)} if spectral else {"srgb": colour(sample).srgb}
            made = LetDown("second", 100 * part, **known)
        flakes = (
            _flake("first", self.first, self.part, spectral, classes, made),
            _flake("second", self.second, 1 - self.part, spectral, classes, None),
        )
        return Recipe("mixture", Sheet(), flakes, refractive_index=INDEX)

    def misses(self, spectral: bool, classes: bool = True) -> tuple[float, float]:
        """CIEDE2000 and distance in CIELAB between the full blend and the mixture as measured."""
        predicted, true = full_blend(self.recipe(spectral, classes)).lab, colour(self.mixed).lab
        return float(delta_e00(predicted, true)), float(np.linalg.norm(np.subtract(predicted, true)))

    def averaged(self) -> float:
        """CIEDE2000 between the mean in CIELAB and the mixture as measured."""
        return float(delta_e00(cielab_mean(self.recipe(True)).lab, colour(self.mixed).lab))

    def band(self, spectral: bool, scale: float = 1.0) -> float:
        """Band for nine in ten, ΔE*ab."""
        return of_full_blend(self.recipe(spectral), Declared(strength=scale)).band90_delta_e_ab


def _flake(name: str, sample: str, part: float, spectral: bool, classes: bool, made: LetDown | None) -> Flake:
    known = {"spectrum": spectrum(sample)} if spectral else {}
    kind = KINDS.get(sample) if classes else None
    return Flake(name, colour(sample).srgb, GRAMS * part, kind=kind, let_down=made, **known)


def _chains() -> Iterator[tuple[str, dict[str, float]]]:
    """Samples of one colour with zinc white, by group: part of the darkest of them in each."""
    for group, paint in COLOURS.items():
        parts = {s: found[paint] for s, found in ratios().items() if s.startswith(group) and paint in found}
        with_white = {s: part for s, part in parts.items() if BLACK not in ratios()[s]}
        yield group, dict(sorted(with_white.items(), key=lambda each: -each[1]))
    blacks = {s: ratios()[s][BLACK] for s in ("07F", "07E", "07D", "07C")}  # 07F stands for the masstone
    yield "07", {s: part / blacks["07F"] for s, part in blacks.items()}


def guesses() -> list[Task]:
    """Mixtures from their two parts alone: paints of one colour with white or with each other."""
    found = [
        Task("16", "16A", "04A", "16D", ratios()["16D"]["BariumSulphate"]),
        Task("16", "16A", "12A", "16F", ratios()["16F"]["BariumSulphate"]),
    ]
    for group, parts in _chains():
        for first, high in parts.items():
            for second, low in (*parts.items(), (WHITE, 0.0)):
                found += [
                    Task(group, first, second, mixed, (part - low) / (high - low))
                    for mixed, part in parts.items()
                    if low < part < high
                ]
    return found


def let_downs() -> list[Task]:
    """Mixtures with white from masstone, white and each other mixture with white."""
    found = []
    for group, parts in _chains():
        masstone, *mixtures = parts
        found += [
            Task(group, masstone, WHITE, mixed, parts[mixed], (made, parts[made]))
            for made in mixtures
            for mixed in mixtures
            if mixed != made
        ]
    return found


def held_leaving_out(tasks: list[Task], spectral: bool) -> float:
    """Part of the tasks whose band holds, each colour with the scale that holds nine in ten of the others.

    The scale multiplies the logarithm of every usual error; the whole table thus depends on the colours left.
    """
    scales = np.array([0.5, 0.7, 0.85, 1.0, 1.15, 1.3, 1.5])
    miss = np.array([task.misses(spectral)[1] for task in tasks])
    holds = np.array([[task.band(spectral, scale) for scale in scales] for task in tasks]) >= miss[:, None]
    group = np.array([task.group for task in tasks])
    held = []
    for out in np.unique(group):
        enough = holds[group != out].mean(axis=0) >= 0.9
        scale = int(np.argmax(enough)) if enough.any() else len(scales) - 1
        held += holds[group == out, scale].tolist()
    return float(np.mean(held))


def main() -> None:
    """Print the table of the measured test."""
    hiding = [task for task in guesses() if task.group not in TRANSLUCENT]
    through = [task for task in guesses() if task.group in TRANSLUCENT]
    let_down = [task for task in let_downs() if task.group not in TRANSLUCENT]
    for name, tasks in (("hiding", hiding), ("translucent", through), ("let-down, hiding", let_down)):
        print(
            f"{name}: {len(tasks)} predictions; mean in CIELAB {np.median([t.averaged() for t in tasks]):.1f}"
        )
        for spectral in (False, True):
            miss = np.array([task.misses(spectral) for task in tasks])
            held = np.mean([task.band(spectral) >= ab for task, (_, ab) in zip(tasks, miss, strict=True)])
            how = "spectrum" if spectral else "colour"
            print(f"  by {how}: median ΔE00 {np.median(miss[:, 0]):.1f}, band held {held:.0%}")
    for name, tasks in (("guessed", guesses()), ("let-down", let_downs())):
        for spectral in (False, True):
            held = held_leaving_out(tasks, spectral)
            print(f"{name}, spectral {spectral}: held {held:.0%} leaving each colour out")


if __name__ == "__main__":
    main()
