"""How stiff a melt is, from its melt index or from what the flakes were made from.

The melt index test presses melt through a die under a known weight, which gives one point of the flow curve:
the stress at the die's wall and the rate at which the melt comes out. A power law extends it to the gentler
shear of a press, and an activation energy to its temperature.
"""

from dataclasses import dataclass
from math import exp, pi

from .. import checks
from ..recipe.recipe import Recipe
from .conduction import KELVIN
from .press_setup import PACES, Pace, melt_density_g_cm3
from .properties import flow
from .squeeze_flow import Melt

GAS_CONSTANT = 8.314462618  # J/(mol·K)
GRAVITY = 9.80665  # m/s²
STOCKS = tuple(flow()["stock"])
UNKNOWN_STOCK = "mixed"
_RUNNIER: dict[Pace, str] = {"quick": "high", "usual": "usual", "slow": "low"}  # end of a range, by pace
_STIFFER: dict[Pace, str] = {"quick": "low", "usual": "usual", "slow": "high"}


@dataclass(frozen=True)
class Stock:
    """What the flakes were made from, as far as flow is concerned.

    Parameters
    ----------
    kind : str
        One of `STOCKS`.
    melt_index_g_10min : float, optional
        Known to the maker, at 190 °C and 2.16 kg, 0.01-100 g in ten minutes; overrides the kind's range.
    """

    kind: str = UNKNOWN_STOCK
    melt_index_g_10min: float | None = None

    def __post_init__(self) -> None:
        """Check both."""
        checks.one_of("stock", self.kind, STOCKS)
        if self.melt_index_g_10min is not None:
            remedy = "take it from a data sheet, or name what the flakes were"
            checks.number("melt index in g/10 min", self.melt_index_g_10min, 0.01, 100, remedy)

    def melt_index(self, pace: Pace) -> float:
        """Melt index at a pace, g/10 min: quick is the runniest."""
        if self.melt_index_g_10min is not None:
            return self.melt_index_g_10min
        return float(flow()["stock"][self.kind][f"{_RUNNIER[pace]}_g_10min"])


def stock_of(recipe: Recipe) -> Stock:
    """Return the one stock that all flakes of a recipe were cut from, else mixed stock."""
    kinds = {flake.stock for flake in recipe.flakes}
    return Stock(next(iter(kinds)) or UNKNOWN_STOCK if len(kinds) == 1 else UNKNOWN_STOCK)


def stress_of_test_pa() -> float:
    """Shear stress at the wall of the die in the melt index test, Pa: ΔP · r / 2L, without entrance losses.

    Examples
    --------
    >>> round(stress_of_test_pa() / 1000, 1)
    19.7
    """
    test = flow()["melt_index_test"]
    pressure = test["load_kg"] * GRAVITY / (pi / 4 * (1e-3 * test["piston_mm"]) ** 2)
    return float(pressure * test["die_mm"] / 2 / (2 * test["die_length_mm"]))


def rate_of_test_1_s(melt_index_g_10min: float, index: float) -> float:
    """Shear rate at that wall, 1/s: 4Q/πr³, with Rabinowitsch's correction (3n + 1)/4n for shear thinning.

    Parameters
    ----------
    melt_index_g_10min : float
        g in ten minutes, above 0.
    index : float
        Power-law index, above 0.
    """
    test = flow()["melt_index_test"]
    density = 1e3 * melt_density_g_cm3(test["temperature_c"])
    flow_m3_s = 1e-3 * melt_index_g_10min / 600 / density
    apparent = 4 * flow_m3_s / (pi * (5e-4 * test["die_mm"]) ** 3)
    return float(apparent * (3 * index + 1) / (4 * index))


def from_melt_index(
    melt_index_g_10min: float, temperature_c: float, *, index: float, activation_kj_mol: float
) -> Melt:
    """Return the melt with a given melt index, at a temperature.

    InputError where the melt index is not above 0.

    Parameters
    ----------
    melt_index_g_10min : float
        At 190 °C and 2.16 kg, g in ten minutes, above 0.
    index : float
        Power-law index below the stress of the test, 0.1-1.

    Returns
    -------
    Melt
        With m = τ/γ̇ⁿ of the test · a_Tⁿ and a_T = exp(E/R (1/T − 1/T₀)): time and temperature superpose.
    """
    remedy = "take it from a data sheet, or name what the flakes were"
    checks.positive("melt index in g/10 min", melt_index_g_10min, remedy)
    rate = rate_of_test_1_s(melt_index_g_10min, index)
    reference_k, here_k = (c + KELVIN for c in (flow()["melt_index_test"]["temperature_c"], temperature_c))
    shift = exp(1e3 * activation_kj_mol / GAS_CONSTANT * (1 / here_k - 1 / reference_k))
    return Melt(stress_of_test_pa() * (shift / rate) ** index, index)


def melt(stock: Stock, temperature_c: float, pace: Pace) -> Melt:
    """Return a stock's melt at a temperature, °C, at one end of the published ranges or between them."""
    checks.one_of("pace", pace, PACES)
    table = flow()
    warmer = temperature_c >= table["melt_index_test"]["temperature_c"]
    return from_melt_index(
        stock.melt_index(pace),
        temperature_c,
        index=table["slow_thinning"][_RUNNIER[pace]],
        activation_kj_mol=table["activation_kj_mol"][(_RUNNIER if warmer else _STIFFER)[pace]],
    )
