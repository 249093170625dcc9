"""Uncertainty of a mean colour, from what was declared and from the theory itself.

Every input is drawn many times, the mean is computed for each draw, and the spread is read off: Monte Carlo
propagation (ISO/IEC Guide 98-3, supplement 1). The draws are the same for every recipe and come in mirrored
pairs, so that answers are steady and repeat to the byte.

A strength is drawn as a factor on K and S, one for all bands and one each for the short, the middle and the
long end of the spectrum. Its spread depends on what the strength rests on and includes the error of the
theory, which a flake by itself does not have and a flake mixed with itself hardly has (``usual_error`` in
``tables/strength``).
"""

from dataclasses import dataclass
from itertools import product

import numpy as np

from ..recipe.flake import Flake, LetDown
from ..recipe.recipe import Recipe
from ..tables import read_toml
from . import film, let_down, saunderson, spectra, strength
from .means import as_light, as_pigment
from .pigment import leaf_palette_of
from .spaces import Colour, Floats, lab_from_xyz1, srgb1_from_hex, xyz1_from_lab

HELD = 0.9  # part of the draws within the band
COLOUR, WEIGHING, STRENGTH = INPUTS = ("colour", "weighing", "strength")

_DRAWS = 400  # in mirrored pairs
_SEED = 1942
_USUAL_ERROR = read_toml("strength/strength.toml")["usual_error"]
_ENDS_NM = np.array([450.0, 550.0, 650.0])
# How much of the factor at each end applies in a band, shape (ends, bands).
_ENDS: Floats = np.stack([np.interp(spectra.WAVELENGTH_NM, _ENDS_NM, unit) for unit in np.eye(len(_ENDS_NM))])
# Columns of the draws: colour of a flake, its mass, its strength, that at the ends, colour of its let-down.
_COLUMNS = np.split(np.arange(11), (3, 4, 5, 8))


@dataclass(frozen=True)
class Declared:
    """Standard deviations of what goes into a recipe.

    Parameters
    ----------
    colour_delta_e : float
        Of a colour, as root-mean-square ΔE*ab, equal in L*, a* and b*.
    gamut_delta_e : float
        Of the chroma of a hex colour with a channel at 00, added to that: the flake may be more vivid than
        any colour of sRGB.
    spectrum_delta_e : float
        The same of a measured spectrum.
    weighing_g : float
        Of each weighing, g.
    strength : float
        Scale of the logarithm of every strength's usual error: 1 as tabulated, 0 for exact strengths.
    """

    colour_delta_e: float = 2.0
    gamut_delta_e: float = 7.0
    spectrum_delta_e: float = 1.0
    weighing_g: float = 1.0
    strength: float = 1.0

    def colour_errors(self, source: Flake | LetDown) -> Floats:
        """Standard deviations of a colour as a matrix: normal draws, shape (..., 3), times it move L*a*b*."""
        errors: Floats
        if source.spectrum is not None:
            errors = np.eye(3) * self.spectrum_delta_e / np.sqrt(3)
            return errors
        srgb = source.srgb or ""
        _, a, b = Colour.from_hex(srgb).lab
        chroma = max(float(np.hypot(a, b)), 1e-9)
        vivid = self.gamut_delta_e if srgb1_from_hex(srgb).min() == 0 and chroma > 1 else 0.0
        along = np.array([0, a, b]) / chroma
        errors = np.eye(3) * self.colour_delta_e / np.sqrt(3) + vivid * np.outer(along, along)
        return errors


@dataclass(frozen=True)
class Cause:
    """Contribution of one input to the uncertainty of a full blend.

    Parameters
    ----------
    what : str
        One of `INPUTS`.
    delta_e : float
        Root-mean-square ΔE*ab of the blend from this cause alone.
    """

    flake: str
    what: str
    delta_e: float


@dataclass(frozen=True)
class Uncertainty:
    """Uncertainty of a mean colour.

    Parameters
    ----------
    lab : tuple of float
        Standard deviations of L*, a* and b*.
    delta_e : float
        Root-mean-square ΔE*ab between the predicted and the true mean.
    band90_delta_e_ab : float
        Distance in CIELAB from the predicted mean that holds the true one nine times in ten.
    """

    lab: tuple[float, float, float]
    delta_e: float
    band90_delta_e_ab: float


def of_area_mean(recipe: Recipe, declared: Declared | None = None) -> Uncertainty:
    """Uncertainty of `means.area_mean`; strength does not enter it."""
    return _Draws(recipe, declared or Declared()).of_area_mean()


def of_full_blend(recipe: Recipe, declared: Declared | None = None) -> Uncertainty:
    """Uncertainty of `means.full_blend`."""
    return _Draws(recipe, declared or Declared()).of_full_blend(INPUTS)


def causes(recipe: Recipe, declared: Declared | None = None) -> tuple[Cause, ...]:
    """What each input alone contributes to the uncertainty of the full blend, largest first."""
    draws = _Draws(recipe, declared or Declared())
    found = (
        Cause(flake.name, what, draws.of_full_blend((what,), row).delta_e)
        for (row, flake), what in product(enumerate(recipe.leaves.flakes), INPUTS)
    )
    return tuple(sorted(found, key=lambda cause: -cause.delta_e))


def _spread(predicted: Floats, drawn: Floats) -> Uncertainty:
    """Read the spread of draws, shape (draws, 3), about the predicted mean, shape (3,)."""
    squares = (drawn - predicted) ** 2
    distance = np.sqrt(squares.sum(axis=-1))
    lightness, a, b = (float(value) for value in np.sqrt(squares.mean(axis=0)))
    rms = float(np.sqrt((distance**2).mean()))
    return Uncertainty((lightness, a, b), rms, float(np.quantile(distance, HELD)))


class _Draws:
    """All inputs of a recipe, drawn many times.

    Rows of flakes are those of `strength.Known`: its leaves, then partners that let-downs bring along.
    """

    def __init__(self, recipe: Recipe, declared: Declared) -> None:
        self.recipe, self.declared = recipe, declared
        self.palette = leaf_palette_of(recipe)
        self.known = strength.known(recipe.leaves.flakes, self.palette.inner_reflection)
        flakes = self.known.flakes
        shape = (_DRAWS // 2, len(flakes), _COLUMNS[-1][-1] + 1)
        half = np.random.default_rng(_SEED).standard_normal(shape)
        by_name = np.argsort(np.argsort([flake.name for flake in flakes], kind="stable"))
        self.normal = np.concatenate([half, -half])[:, by_name]
        self.colour, self.mass, self.overall, self.ends, self.mixture = (
            self.normal[..., columns] for columns in _COLUMNS
        )

    def of_area_mean(self) -> Uncertainty:
        count = len(self.recipe.leaves.flakes)
        average = as_light(self.palette)
        seen = self._reflectance(self._drawn((COLOUR,), COLOUR, None))[:, :count]
        light = self.palette.seen(spectra.xyz1_from_reflectance(seen))
        shares = self._shares(self._drawn((WEIGHING,), WEIGHING, None))
        return _spread(
            average.lab(self.recipe.leaf_shares), average.lab_of(np.einsum("df,dfc->dc", shares, light))
        )

    def of_full_blend(self, inputs: tuple[str, ...], row: int | None = None) -> Uncertainty:
        """Uncertainty from some inputs; of one flake alone where its row is given."""
        count = len(self.recipe.leaves.flakes)
        average = as_pigment(self.palette)
        coloured, weighed, strong = (self._drawn(inputs, what, row) for what in INPUTS)
        k, s = self._strengths(self._reflectance(coloured), coloured, strong)
        amounts = np.concatenate([k, s], axis=-1)[:, :count]
        drawn = average.lab_of(np.einsum("df,dfq->dq", self._shares(weighed), amounts))
        return _spread(average.lab(self.recipe.leaf_shares), drawn)

    def _drawn(self, inputs: tuple[str, ...], what: str, row: int | None) -> Floats:
        """1 for each flake of which an input is drawn, else 0, shape (flakes,)."""
        rows = np.arange(len(self.known.flakes))
        drawn: Floats = np.where((row is None) | (rows == row), float(what in inputs), 0.0)
        return drawn

    def _reflectance(self, drawn: Floats) -> Floats:
        """Seen reflectance of each flake, shape (draws, flakes, bands)."""
        errors = np.array([self.declared.colour_errors(flake) for flake in self.known.flakes])
        moved = np.einsum("dfc,fcl->dfl", self.colour, errors * drawn[:, None, None])
        return _recoloured(self.known.reflectance, moved)

    def _shares(self, drawn: Floats) -> Floats:
        """Shares by volume, shape (draws, leaves of the recipe)."""
        shares, grams = self.recipe.leaf_shares, self.recipe.leaves.weighed_g
        error = self.mass[:, : len(grams), 0] * drawn[: len(grams)] * self.declared.weighing_g / grams
        weighed = shares * np.maximum(1 + error, 0.001)  # not grams, whose sum may overflow
        found: Floats = weighed / weighed.sum(axis=-1, keepdims=True)
        return found

    def _strengths(self, seen: Floats, coloured: Floats, drawn: Floats) -> tuple[Floats, Floats]:
        """K and S per mm, each of shape (draws, flakes, bands)."""
        known, k2 = self.known, self.palette.inner_reflection
        factor = self._factors(drawn)
        s = known.s_per_mm * factor
        for row, partner in known.partners:
            if not known.usable[row].any():
                continue
            made = strength.made_as(known.flakes[row])
            error = self.mixture[:, row] @ (coloured[row] * self.declared.colour_errors(made))
            mixture = _recoloured(strength.declared_reflectance(made), error)
            part = made.percent / 100
            read = let_down.Readings(seen[:, row], mixture, seen[:, partner], s[:, partner], part, k2)
            s[:, row] = let_down.scattering_per_mm(read, known.usable[row]) * factor[:, row]
        return film.k_over_s(saunderson.inside_from_seen(seen, k2)) * s, s

    def _factors(self, drawn: Floats) -> Floats:
        """Factor on the strength of each flake, shape (draws, flakes, bands)."""
        known = self.known
        errors = [_USUAL_ERROR[basis] for basis in known.basis]
        overall, shape = (np.log([error[key] for error in errors]) for key in ("overall", "shape"))
        scale = drawn * self.declared.strength
        log = self.overall * (scale * overall)[:, None] + (self.ends * (scale * shape)[:, None]) @ _ENDS
        factor: Floats = np.exp(log)
        return factor


def _recoloured(reflectance: Floats, lab_change: Floats) -> Floats:
    """Reflectance whose L*, a* and b* are moved, shape (..., bands); light below 0 is mirrored."""
    xyz1 = spectra.xyz1_from_reflectance(reflectance)
    lab = lab_from_xyz1(xyz1) + lab_change
    lab[..., 0] = np.abs(lab[..., 0])
    return spectra.tinted(reflectance, xyz1_from_lab(lab) - xyz1)
