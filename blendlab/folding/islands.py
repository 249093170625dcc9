"""A stiff flake in a runnier melt: it stretches less than the melt around it and stays an island.

One flake is an ellipse of viscosity ratio λ to the melt, firmly joined to it and far from others, in a melt
that is drawn out and pressed thin. Its strain rate is even within it (Eshelby 1957; Bilby, Eshelby & Kundu
1975, Tectonophysics 28:265): with R, its length over its thickness,

    d ln R = 2 dε (R + 1)² / (R² + 2λR + 1)

so that ε, the strain of the melt around it, and R keep

    2 ε = ln(R/R₀) + (λ − 1) [(R − 1)/(R + 1) − (R₀ − 1)/(R₀ + 1)]

The two bracketed terms never differ by more than 1: once long and thin, a flake follows the melt, behind it
by a strain of at most (λ − 1)/2. Taylor's small drop (1934, Proc. R. Soc. A 146:501) has the same λ in its
strain rate but is held round by the tension of its surface, which two HDPEs do not have. The equation is of
a lone flake: where stiff flakes touch or are the greater part, they carry the melt and not the melt them. So
the melt around a flake counts as the mean of all flakes, itself included, by the logarithm of their viscosity
(Arrhenius 1887, from memory), and only flakes stiffer than that stay behind; runnier ones would run ahead by
half a strain at most, which is left out.

How far that carries: where two melts are both continuous, their volumes are about as their viscosities,
φ₁/φ₂ = η₁/η₂ (Jordhamo, Manson & Sperling 1986, Polym. Eng. Sci. 26:517), so bottle flakes count as islands
among crates up to some 86 % of the sheet, among caps up to 75 %. That rule is of blends with a surface
tension, and not generally valid there either (Willemse et al. 1998, Polymer 39:5879); here it only says where
lone flakes stop. Grace's limit (1982, Chem. Eng. Commun. 14:225, from memory), past which a drop some four
times as viscous merely spins, is of simple shear: folds and presses draw out, and any flake goes along.

A picture is followed back into the first slab by the strain of the melt. A flake that stays behind by a
strain δ ends e^δ thicker than that strain would leave it, so it is laid e^δ as thick there. What it falls
short of in length, and that stiff flakes push the melt aside, is left out. Shares stay as they are.
"""

from math import exp, log

import numpy as np
import numpy.typing as npt

from .. import checks
from ..recipe.recipe import Flake, Recipe
from ..tables import read_toml

MAX_RATIO = 1e3
ENDLESS = 100.0  # strain after which no flake stays further behind

_FLOW = read_toml("flow/flow.toml")
_UNSAID = "mixed"


def stretched(viscosity_ratio: float, strain: float, aspect: float = 1.0) -> float:
    """Strain of a flake once its melt has been strained, by the closed form above.

    Parameters
    ----------
    viscosity_ratio : float
        Flake over melt, 0-1000.
    strain : float
        ε of the melt, ln of how many times longer it has become, 0 or more; a half fold with its press is
        ln 2.
    aspect : float
        Length over thickness of the flake at first, 1 or more.

    Returns
    -------
    float
        ln of how many times longer the flake is, 0 or more; at most `strain` where the flake is stiffer.
    """
    ratio, first = _checked(viscosity_ratio, aspect)
    checks.number(
        "strain", strain, 0, ENDLESS, "give the logarithm of how many times longer the melt becomes"
    )
    start = (first - 1) / (first + 1)

    def short_of(own: float) -> float:
        """How much more strain the melt needs for the flake to come so far."""
        long = first * exp(2 * own)
        return own + (ratio - 1) / 2 * ((long - 1) / (long + 1) - start) - strain

    low, high = 0.0, strain + 0.5
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if short_of(middle) < 0 else (low, middle)
    return (low + high) / 2


def folds_behind(viscosity_ratio: float, folds: int, aspect: float = 1.0) -> float:
    """How many half folds behind the melt around it a stiffer flake looks.

    Parameters
    ----------
    viscosity_ratio : float
        Flake over melt, 1-1000.
    folds : int
        Half folds with their presses, 0 or more.
    aspect : float
        Length over thickness of the flake at first, 1 or more.

    Returns
    -------
    float
        0 to `folds`.
    """
    strain = folds * log(2)
    return max(0.0, (strain - stretched(viscosity_ratio, strain, aspect)) / log(2))


def viscosity_ratio(melt_index: float, of_other: float) -> float:
    """How many times as stiff one melt is as another, at any one temperature and stress.

    Parameters
    ----------
    melt_index, of_other : float
        g in ten minutes, above 0.

    Returns
    -------
    float
        (of_other / melt_index)ⁿ: at the stress of the test, shear rates are as the melt indices, and both
        thin alike, with the power-law index n of ``tables/flow``.
    """
    return float((of_other / melt_index) ** _FLOW["slow_thinning"]["usual"])


def melt_index_of(stock: str | None) -> float:
    """Usual melt index of a class of stock, g in ten minutes; of mixed stock where it is not said."""
    return float(_FLOW["stock"][stock or _UNSAID]["usual_g_10min"])


def _melt_index(flake: Flake) -> float:
    """Melt index of a flake, g in ten minutes; of an offcut, as of the mixture that it is."""
    if flake.cut_from is None:
        return melt_index_of(flake.stock)
    recipe = flake.cut_from.recipe
    return float(np.exp(recipe.shares @ np.log([_melt_index(each) for each in recipe.flakes])))


def lags(recipe: Recipe, strain: float) -> npt.NDArray[np.float64]:
    """Strain by which each flake stays behind the melt around it.

    Parameters
    ----------
    recipe : Recipe
        Without a `stock` in any flake nothing stays behind.
    strain : float
        ε of the melt, 0-100.

    Returns
    -------
    ndarray of float64, shape (flakes,)
        0 or more.
    """
    flakes = recipe.flakes
    if not any(flake.stock for flake in flakes):
        return np.zeros(len(flakes))
    melts = np.array([_melt_index(flake) for flake in flakes])
    around = float(np.exp(recipe.shares @ np.log(melts)))
    ratios = [max(1.0, viscosity_ratio(melt, around)) for melt in melts]
    behind = [
        strain - stretched(ratio, strain, max(1.0, flake.size_mm[0] / flake.size_mm[2]))
        for ratio, flake in zip(ratios, flakes, strict=True)
    ]
    return np.maximum(behind, 0.0)


def pieces_mm(recipe: Recipe, strain: float) -> npt.NDArray[np.float64]:
    """Size at which each flake lies in the first slab for a picture after a strain, by the module's rule.

    Parameters
    ----------
    recipe, strain
        As for `lags`.

    Returns
    -------
    ndarray of float64, shape (flakes, 3)
        Length, width and thickness, mm; none thicker than the slab.
    """
    sizes = np.array([flake.size_mm for flake in recipe.flakes])
    thicker = np.minimum(
        np.exp(lags(recipe, strain)), np.maximum(1.0, recipe.sheet.thickness_mm / sizes[:, 2])
    )
    sizes[:, 2] *= thicker
    return sizes


def _checked(viscosity_ratio: float, aspect: float) -> tuple[float, float]:
    remedy = "divide the flake's viscosity by the melt's"
    return (
        checks.number("viscosity ratio", viscosity_ratio, 0, MAX_RATIO, remedy),
        checks.number("aspect of a flake", aspect, 1, 1e4, "divide its length by its thickness"),
    )
