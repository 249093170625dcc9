"""A melt squeezed between two plates: how fast it closes under a force, and the force that a speed takes.

A power-law melt, shear stress m γ̇ⁿ, lies between plates h apart that close at V. Of its mean speed outward
`drag` goes into shear across the gap and the rest into slip on the liners, as in the recipe's press. The plan
counts as a disc of the same area, of radius R. Where it sticks, lubrication holds (Stefan 1874; Scott 1931,
Trans. Inst. Rubber Ind. 7:169); where it slips, it is stretched alike both ways:

    F = drag^n · 2π m/(n + 3) · ((2n + 1)/n)^n · V^n · R^(n+3) / h^(2n+1)
      + (1 − drag) · π m · 3^((n+1)/2) · V^n · R² / h^n

Both ends are exact. Between them the sum leaves out parts of the order (h/R)² of the first term. A square
counted as a disc takes 13 % longer than it should.
"""

from dataclasses import dataclass

import numpy as np

from .. import checks
from .conduction import Array

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(32)  # exact to 1e-12 here: powers of h, in ln h


@dataclass(frozen=True)
class Melt:
    """A power-law melt at one temperature.

    Parameters
    ----------
    consistency_pa_sn : float
        m in τ = m γ̇ⁿ, Pa·sⁿ, above 0; the viscosity where n is 1.
    index : float
        n, above 0 and at most 1: 1 keeps its viscosity, less thins with shear.
    """

    consistency_pa_sn: float
    index: float = 1.0

    def __post_init__(self) -> None:
        """Check both."""
        checks.positive("consistency_pa_sn of a melt", self.consistency_pa_sn, "give it in Pa·sⁿ")
        checks.number("power-law index", self.index, 0.1, 1, "take 1 for a melt that does not thin")


@dataclass(frozen=True)
class Squeeze:
    """A charge between two plates.

    Parameters
    ----------
    area_m2 : float
        Plan of the charge once pressed, m².
    start_m, end_m : float
        Height before and at the spacers, m.
    drag : float
        Grip of the liners, from 0 (slips) to 1 (sticks).
    filled : bool
        True: the plates are full from the start and melt is pressed out over their edge, so the area stays.
        False: the charge spreads at constant volume and has that area at the end.
    """

    area_m2: float
    start_m: float
    end_m: float
    drag: float = 1.0
    filled: bool = False

    def __post_init__(self) -> None:
        """Check every value."""
        checks.positive("area_m2 of a charge", self.area_m2, "give the plan in m²")
        checks.positive("end_m of a press", self.end_m, "give the spacers' height in m")
        checks.number("start_m of a press", self.start_m, self.end_m, 10, "start no lower than the spacers")
        checks.number("drag", self.drag, 0, 1, "choose 0 where the liners slip and 1 where they stick")

    def area(self, height_m: Array) -> Array:
        """Plan at a height, m²."""
        return self.area_m2 * (np.ones_like(height_m) if self.filled else self.end_m / height_m)

    def resistance(self, melt: Melt, height_m: Array) -> Array:
        """Force over Vⁿ at a height, N·(s/m)ⁿ."""
        m, n = melt.consistency_pa_sn, melt.index
        area = self.area(height_m)
        radius = np.sqrt(area / np.pi)
        sheared = (
            2 * np.pi * m / (n + 3) * ((2 * n + 1) / n) ** n * radius ** (n + 3) / height_m ** (2 * n + 1)
        )
        stretched = 3 ** ((n + 1) / 2) * m * area / height_m**n
        return np.asarray(self.drag**n * sheared + (1 - self.drag) * stretched)

    def seconds(self, melt: Melt, force_n: float) -> float:
        """Time from the first height to the spacers under a constant force, s.

        InputError where the force is not above 0.

        Parameters
        ----------
        melt : Melt
            At the temperature of the press.
        force_n : float
            On the plates, N, above 0; the lid's weight counts.

        Returns
        -------
        float
            ∫ dh/V; 0 where the charge is no higher than the spacers.
        """
        checks.positive("force on the press in N", force_n, "say what holds the press shut")
        span = np.log(self.start_m / self.end_m)
        height = self.end_m * np.exp(span * (_NODES + 1) / 2)
        slowness = (self.resistance(melt, height) / force_n) ** (1 / melt.index)
        return float(span / 2 * np.sum(_WEIGHTS * slowness * height))
