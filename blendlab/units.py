"""Units that quantities are shown and typed in. Everything else is in grams and millimetres.

Both factors are exact by definition: the inch is 25.4 mm, and the ounce, avoirdupois, is a sixteenth of the
pound of 0.45359237 kg (International Yard and Pound Agreement of 1959; NIST Special Publication 811, 2008,
appendix B.8).
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

MM_PER_INCH = 25.4
G_PER_OUNCE = 28.349523125


@dataclass(frozen=True)
class Unit:
    """A unit of mass, length or anything else.

    Parameters
    ----------
    symbol, name : str
        As it stands behind a number, and in a sentence; both empty for a count.
    metric : float
        Grams or millimetres in one.
    finer : int
        Decimals shown beyond those of grams or millimetres.
    decimals : int
        Most that a field shows: a kitchen scale has one of grams.
    """

    symbol: str
    name: str
    metric: float = 1.0
    finer: int = 0
    decimals: int = 3

    def of(self, metric: float) -> float:
        """Return how many of this unit so many grams or millimetres are."""
        return metric / self.metric

    def number(self, metric: float, digits: int = 0) -> str:
        """Return a quantity without its unit; `digits` are the decimals of grams or millimetres."""
        return f"{self.of(metric):.{digits + self.finer}f}"

    def fine(self, metric: float) -> str:
        """Return a small quantity with its unit, to two significant digits."""
        return f"{self.of(metric):.2g} {self.symbol}"

    def text(self, metric: float, digits: int = 0) -> str:
        """Return a quantity with its unit.

        Examples
        --------
        >>> METRIC.mass.text(196.2), OZ_IN.mass.text(196.2), OZ_IN.length.text(6.9, 1)
        ('196 g', '6.92 oz', '0.272 in')
        """
        return f"{self.number(metric, digits)} {self.symbol}"


@dataclass(frozen=True)
class Units:
    """A unit of mass and one of length."""

    mass: Unit
    length: Unit

    def of(self, symbol: str) -> Unit:
        """Return the unit in which a quantity counted in ``g``, ``mm`` or anything else is shown."""
        return {"g": self.mass, "mm": self.length}.get(symbol) or Unit(symbol, symbol)

    def grams(self, grams: float) -> str:
        """Return a mass as a kitchen scale shows it.

        Examples
        --------
        >>> METRIC.grams(99.94), METRIC.grams(123.4), OZ_IN.grams(123.4)
        ('99.9 g', '123 g', '4.35 oz')
        """
        return self.mass.text(grams, digits=grams < 100)

    def sides(self, sides_mm: Iterable[float], digits: int = 1) -> str:
        """Return sides, without the decimals that are 0.

        Examples
        --------
        >>> METRIC.sides((180.0, 150.04, 6.25)), OZ_IN.sides((152.4, 101.6, 6.35))
        ('180 × 150 × 6.2 mm', '6 × 4 × 0.25 in')
        """
        rounded = (float(self.length.number(side, digits)) for side in sides_mm)
        return f"{' × '.join(f'{side:g}' for side in rounded)} {self.length.symbol}"

    def sentence(self, refusal: str) -> str:
        """Return a refusal with its grams and millimetres in these units; one that has these stays as it is.

        Examples
        --------
        >>> OZ_IN.sentence("blanks must lie within 70 x 10 mm, got 90 x 40 mm; saw smaller ones")
        'blanks must lie within 2.756 x 0.3937 in, got 3.543 x 1.575 in; saw smaller ones'
        >>> OZ_IN.sentence("thickness_mm must be a number from 1 to 60, got 127; press thinner")
        'thickness must be from 0.03937 to 2.362 in, got 5 in; press thinner'
        """
        mine = {self.mass.symbol, self.length.symbol}
        if mine & {"g", "mm"} or mine & set(re.findall(r"\d ([a-z]+)", refusal)):
            return refusal
        plain = _KEYED.sub(r"\1\3 must be from \4 to \5 \2, got \6 \2", refusal)
        plain = plain.replace("in millimetres", f"in {self.length.name}")
        return _AMOUNTS.sub(self._converted, plain)

    def _converted(self, amounts: re.Match[str]) -> str:
        unit = self.of(amounts[2])
        numbers = re.sub(r"[\d.]+", lambda number: f"{unit.of(float(number[0])):.4g}", amounts[1])
        return f"{numbers} {unit.symbol}"


# ``thickness_mm of the sheet must be a number from 1 to 60, got 95``, and ``180 x 150 mm``.
_KEYED = re.compile(r"(\w+)_(mm|g)\b(.*?) must be a number from (\S+) to (\S+), got ([\d.]+)")
_AMOUNTS = re.compile(r"(\d+(?:\.\d+)?(?:(?: x | × | to | and )\d+(?:\.\d+)?)*) (mm|g)\b(?!/)")

COUNT = Unit("", "")
METRIC = Units(Unit("g", "grams", decimals=1), Unit("mm", "millimetres"))
OZ_IN = Units(Unit("oz", "ounces", G_PER_OUNCE, 2), Unit("in", "inches", MM_PER_INCH, 2))
SYSTEMS = {"g-mm": METRIC, "oz-in": OZ_IN}

TYPED = {  # by a unit's name, what else may be typed behind a number, and how much of g or mm it is
    "g": {"g": 1.0, "kg": 1000.0, "oz": G_PER_OUNCE, "lb": 16 * G_PER_OUNCE},
    "mm": {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH, '"': MM_PER_INCH},
}


def percent(part: float) -> str:
    """Return a part of 1 in whole percent.

    Examples
    --------
    >>> percent(0.333)
    '33 %'
    """
    return f"{100 * part:.0f} %"


def some(count: int, thing: str) -> str:
    """Return a count with its noun.

    Examples
    --------
    >>> some(1, "fold"), some(0, "fold")
    ('1 fold', '0 folds')
    """
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"
