"""A stiffer flake in a runnier melt: it is stretched less than the melt around it, and stays an island.

One flake is an ellipse of viscosity ratio λ to the melt, firmly joined to it and far from others, in a melt
that is drawn out and pressed thin. Its strain rate is even within it (Eshelby 1957; Bilby, Eshelby & Kundu
1975, Tectonophysics 28:265): with R, its length over its thickness,

    d ln R = 2 dε (R + 1)² / (R² + 2λR + 1)

so that ε, the strain of the melt around it, and R keep

    2 ε = ln(R/R₀) + (λ − 1) [(R − 1)/(R + 1) − (R₀ − 1)/(R₀ + 1)]

The two bracketed terms never differ by more than 1: once long and thin, a flake follows the melt, behind it
by a strain of at most (λ − 1)/2. Taylor's small drop (1934, Proc. R. Soc. A 146:501) has the same λ in its
strain rate but is held round by the tension of its surface, which two HDPEs do not have. The equation is of
a lone flake: where stiff flakes touch or are the greater part, they carry the melt and not the melt them.
"""

from math import exp, log

from .. import checks

LARGEST_RATIO = 1e3


def stretched(viscosity_ratio: float, strain: float, aspect: float = 1.0) -> float:
    """Strain of a flake after its melt has been strained, by the closed form of the module.

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
        ln of how many times longer the flake is, 0 or more; at most `strain` where the flake is the stiffer.
    """
    ratio, first = _checked(viscosity_ratio, aspect)
    checks.number("strain", strain, 0, 100, "give the logarithm of how many times longer the melt becomes")
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
    """How many half folds a stiffer flake looks younger than the melt around it.

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
        0 to `folds`: the hook for a ladder, which shows such a flake at `folds` less this.
    """
    strain = folds * log(2)
    return max(0.0, (strain - stretched(viscosity_ratio, strain, aspect)) / log(2))


def _checked(viscosity_ratio: float, aspect: float) -> tuple[float, float]:
    remedy = "divide the flake's viscosity by the melt's"
    return (
        checks.number("viscosity ratio", viscosity_ratio, 0, LARGEST_RATIO, remedy),
        checks.number("aspect of a flake", aspect, 1, 1e4, "divide its length by its thickness"),
    )
