"""The finished sheet and the hot one: how much it shrinks and whether it fits the plates.

The cold sheet sets the mass, so flakes and sheet weigh the same. The hot sheet is larger: its plan by the
in-plane shrinkage, its thickness, set by the spacers, by the rest of the extra volume.
"""

from dataclasses import dataclass, replace
from itertools import product
from math import ceil, floor

from .. import checks
from ..recipe.slab_size import SIDES_MM, THICKNESS_MM
from ..tables.ranges import Range
from .press_setup import PressSetup, melt_density_g_cm3
from .properties import hdpe, range_of

MAX_TILES_A_SIDE = 20


@dataclass(frozen=True)
class Order:
    """The finished sheet, cold.

    Parameters
    ----------
    length_mm, width_mm, thickness_mm : float
        Finished size, mm.
    trim_mm : float
        Cut off along every edge, mm.
    tiles : tuple of int
        Tiles along the length and the width, each pressed and trimmed separately.
    """

    length_mm: float
    width_mm: float
    thickness_mm: float
    trim_mm: float = 5.0
    tiles: tuple[int, int] = (1, 1)

    def __post_init__(self) -> None:
        """Check every value."""
        for name, low, high in (("length_mm", 10, 5000), ("width_mm", 10, 5000), ("thickness_mm", 1, 90)):
            remedy = "give the finished, cold size in millimetres"
            checks.number(f"finished {name}", getattr(self, name), low, high, remedy)
        checks.number("trim_mm", self.trim_mm, 0, 50, "give what is cut off at each edge")
        for count in self.tiles:
            checks.whole("tiles a side", count, 1, MAX_TILES_A_SIDE, "press fewer, larger tiles")

    @property
    def finished_mm(self) -> tuple[float, float, float]:
        """Finished size of one tile, mm."""
        return self.length_mm / self.tiles[0], self.width_mm / self.tiles[1], self.thickness_mm

    @property
    def pressed_mm(self) -> tuple[float, float, float]:
        """Cold size of one tile before it is trimmed, mm."""
        length, width, thickness = self.finished_mm
        return length + 2 * self.trim_mm, width + 2 * self.trim_mm, thickness


@dataclass(frozen=True)
class Plastic:
    """Density of the plastic, and how it shrinks as it cools: in the plane, in percent of the hot length."""

    density_cold_g_cm3: Range
    shrinkage_percent: Range
    density_ratio: Range

    @classmethod
    def published(cls, plate_c: float) -> "Plastic":
        """Return the published ranges for HDPE pressed at a plate temperature, °C."""
        cold, factor = range_of(hdpe()["density_cold_g_cm3"]), range_of(hdpe()["melt_volume_factor"])
        hot = melt_density_g_cm3(plate_c)
        ratio = Range(
            hot / factor.high / cold.high, hot / factor.usual / cold.usual, hot / factor.low / cold.low
        )
        return cls(cold, range_of(hdpe()["shrinkage_in_plane_percent"]), ratio)

    def hot(self, cold_mm: float) -> Range:
        """Hot length that shrinks to a cold length, mm."""
        return Range(*(cold_mm / (1 - percent / 100) for percent in self.shrinkage_percent))

    def spacer(self, cold_mm: float) -> Range:
        """Spacer height that shrinks to a cold thickness, mm: t (1 − s)² / ratio."""
        s, ratio = self.shrinkage_percent, self.density_ratio
        ends = ((s.high, ratio.high), (s.usual, ratio.usual), (s.low, ratio.low))
        return Range(*(cold_mm * (1 - percent / 100) ** 2 / r for percent, r in ends))


def hot_per_cold() -> float:
    """Return how many times longer and wider a hot sheet usually is than a cold one; plates hardly matter."""
    return Plastic.published(PressSetup().plate_c).hot(1.0).usual


def check_fit(order: Order, press: PressSetup, plastic: Plastic) -> None:
    """Refuse an order whose hot sheet the press cannot make, and say what it could make.

    InputError where the hot sheet is thicker than a slab may be, or a tile too small for a slab or too large
    for the plates in either direction; the message names the thickest sheet, or the fewest tiles that fit.
    """
    _check_thickness(order, plastic)
    length, width = order.pressed_mm[:2]
    smallest = SIDES_MM[0] * length / plastic.hot(length).usual  # cold
    if min(length, width) < smallest:
        asked = f"{_plan(*order.finished_mm[:2])} with {order.trim_mm:.10g} mm of trim"
        rule = f"a sheet or tile must be at least {smallest:.1f} mm long and wide before it is trimmed"
        checks.refuse(rule, checks.Raw(asked), "make fewer tiles, or a larger sheet")
    if _fits(order, press, plastic):
        return
    remedy, tiles = "press a smaller sheet, or on larger plates", fitting_tiles(order, press, plastic)
    if tiles:
        each = _plan(*replace(order, tiles=tiles).finished_mm[:2])
        remedy = f"make it of {tiles[0]} x {tiles[1]} tiles of {each}, or take larger plates"
    limits = (min(side, SIDES_MM[1]) for side in (press.plate_length_mm, press.plate_width_mm))
    hot = _plan(*(ceil(10 * plastic.hot(side).usual) / 10 for side in (length, width)))
    found = checks.Raw(f"{hot} hot for {_plan(*order.finished_mm[:2])} finished")
    checks.refuse(f"the hot sheet must fit the plates, up to {_plan(*limits)}", found, remedy)


def _check_thickness(order: Order, plastic: Plastic) -> None:
    """Refuse a sheet that would be thicker than a slab may be while it is hot."""
    expansion = plastic.spacer(order.thickness_mm).usual / order.thickness_mm
    thickest = floor(10 * THICKNESS_MM[1] / expansion) / 10
    if order.thickness_mm > thickest:
        rule = f"the finished thickness must be at most {thickest:g} mm, as it is thicker while hot"
        found = checks.Raw(f"{order.thickness_mm:.10g} mm")
        checks.refuse(rule, found, f"order {thickest:g} mm or less, or press two thinner sheets")


def _plan(length_mm: float, width_mm: float) -> str:
    """Return length and width in words, to a hundredth of a millimetre."""
    return f"{round(length_mm, 2):g} x {round(width_mm, 2):g} mm"


def fitting_tiles(order: Order, press: PressSetup, plastic: Plastic) -> tuple[int, int] | None:
    """Return the fewest tiles along length and width that fit the plates; None where none fit."""
    counts = range(1, MAX_TILES_A_SIDE + 1)
    # For the same number of tiles, the squarest division first.
    ways = sorted(product(counts, counts), key=lambda ways: (ways[0] * ways[1], abs(ways[0] - ways[1])))
    return next((tiles for tiles in ways if _fits(replace(order, tiles=tiles), press, plastic)), None)


def _fits(order: Order, press: PressSetup, plastic: Plastic) -> bool:
    """Tell whether the hot plan of a tile fits the plates in either direction."""
    hot = sorted(plastic.hot(side).usual for side in order.pressed_mm[:2])
    plates = sorted((press.plate_length_mm, press.plate_width_mm))
    return hot[0] <= plates[0] and hot[1] <= plates[1] and SIDES_MM[0] <= hot[0] and hot[1] <= SIDES_MM[1]
