"""How much of a melt's life the hot work uses: time at temperature, counted as minutes at one temperature.

Oxygen degrades a hot melt once its stabilisers are used up. How long they last is measured on thin samples in
pure oxygen (oxidation induction time). Time at other temperatures is converted by Arrhenius' law, with the
end of the activation energy's range that counts more. In a press air reaches only the edges, so the count is
on the safe side.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from ..tables.ranges import Range
from .conduction import KELVIN, Array
from .heat import Timetable
from .melt_flow import GAS_CONSTANT
from .properties import hdpe, range_of


@dataclass(frozen=True)
class Ageing:
    """How much of the known life of a recycled melt the hot work uses.

    Attributes
    ----------
    used_minutes : float
        Equivalent minutes at `at_c` of the hottest point.
    lasts_minutes : Range
        How long recycled stock lasted there.
    at_c : float
        Reference temperature, °C.
    """

    used_minutes: float
    lasts_minutes: Range
    at_c: float

    @property
    def within(self) -> bool:
        """Whether even the shortest-lived stock would last."""
        return self.used_minutes <= self.lasts_minutes.low

    def as_json(self) -> dict[str, Any]:
        """Return the numbers for JSON."""
        used, lasts = round(self.used_minutes, 2), list(self.lasts_minutes)
        return {"used_minutes": used, "lasts_minutes": lasts, "at_c": self.at_c, "within": self.within}


def ageing_rate(temperature_c: Array) -> Array:
    """Equivalent minutes for each minute at a temperature, °C; 1 at the temperature of the test.

    Notes
    -----
    exp(−E/R (1/T − 1/T₀)), with the low end of E below T₀ and the high end above it.
    """
    table = hdpe()
    energy, reference_c = table["oxidation_kj_mol"], table["oxidation_at_c"]["value"]
    cooler = 1 / (np.asarray(temperature_c) + KELVIN) - 1 / (reference_c + KELVIN)
    kj_mol = np.where(cooler > 0, energy["low"], energy["high"])
    return np.asarray(np.exp(-1e3 * kj_mol / GAS_CONSTANT * cooler))


def ageing(table: Timetable) -> Ageing:
    """Add up the ageing of one load over the hot work and the cooling."""
    hottest = np.max([table.core_c, table.bottom_c, table.top_c], axis=0)
    used = float(np.trapezoid(ageing_rate(hottest), table.seconds)) / 60
    return Ageing(used, range_of(hdpe()["oxidation_minutes"]), hdpe()["oxidation_at_c"]["value"])
