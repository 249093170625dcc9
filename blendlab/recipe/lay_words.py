"""A lay in a maker's words."""

from ..units import METRIC, Unit, Units
from .lay import SCATTER, Lay

_ALONG: dict[float, str] = {
    0: "along the length",
    90: "across the length",
}  # stripes, by their angle from 0 to 179
_SIDES: dict[float, tuple[str, str]] = {
    0: ("left", "right"),
    90: ("front", "back"),
    180: ("right", "left"),
    -180: ("right", "left"),
    -90: ("back", "front"),
}


def lay_words(lay: Lay, units: Units = METRIC) -> str:
    """Say where a lay goes.

    Examples
    --------
    >>> lay_words(Lay(("white",), "stripes", count=3, width_mm=20))
    'in 3 stripes along the length, 20 mm wide'
    >>> lay_words(Lay(("gold",), "scatter", before_press=2))
    'strewn on fold 2 before its press'
    """
    length = units.length
    wide = "" if lay.width_mm is None else f", {length.of(lay.width_mm):.3g} {length.symbol} wide"
    return _place(lay, length) + wide


def _place(lay: Lay, length: Unit) -> str:
    """Say where a lay goes, without its width."""
    angle = lay.angle_deg or 0.0
    if lay.place == "stripes":
        way = angle_words(lay.place, angle)
        return f"in {lay.count} stripes {way}" if lay.count != 1 else f"in a stripe {way}"
    if lay.place == "heaps":
        return _heaps(lay, length)
    if lay.place == "quarters":
        return "in quarters" if lay.count == 2 else f"in a chequerboard of {lay.count} × {lay.count} fields"
    if lay.place == "gradient":
        return f"thinning {angle_words(lay.place, angle)}"
    if lay.place == SCATTER:
        return f"strewn on fold {lay.before_press} before its press" if lay.before_press else "strewn on top"
    return {
        "throughout": "stirred through all of it",
        "layer": "in a level layer",
        "border": "along all four edges",
    }[lay.place]


def angle_words(place: str, angle_deg: float) -> str:
    """Say which way stripes or a gradient run.

    Examples
    --------
    >>> angle_words("stripes", -90.0), angle_words("gradient", 180.0), angle_words("gradient", 30.0)
    ('across the length', 'from the right to the left', 'at 30° to the length')
    """
    slanting = f"at {angle_deg:g}° to the length"
    if place == "stripes":
        return _ALONG.get(angle_deg % 180, slanting)
    return "from the {} to the {}".format(*_SIDES[angle_deg]) if angle_deg in _SIDES else slanting


def _heaps(lay: Lay, length: Unit) -> str:
    """Say where heaps go."""
    if lay.where_mm is None:
        return "in a heap in the middle" if lay.count == 1 else f"in {lay.count} heaps"
    spots = " and ".join(f"{length.of(x):.3g}, {length.of(y):.3g}" for x, y in lay.where_mm)
    return f"in {'a heap' if lay.count == 1 else 'heaps'} at {spots} {length.symbol} from the middle"
