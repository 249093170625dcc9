"""A lay in a maker's words."""

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


def lay_words(lay: Lay) -> str:
    """Say where a lay goes.

    Examples
    --------
    >>> lay_words(Lay(("white",), "stripes", count=3, width_mm=20))
    'in 3 stripes along the length, 20 mm wide'
    >>> lay_words(Lay(("gold",), "scatter", before_press=2))
    'strewn on fold 2 before its press'
    """
    wide = "" if lay.width_mm is None else f", {lay.width_mm:.3g} mm wide"
    return _place(lay) + wide


def _place(lay: Lay) -> str:
    """Say where a lay goes, without its width."""
    angle = lay.angle_deg or 0.0
    if lay.place == "stripes":
        way = _ALONG.get(angle % 180, f"at {angle:g}° to the length")
        return f"in {lay.count} stripes {way}" if lay.count != 1 else f"in a stripe {way}"
    if lay.place == "heaps":
        return _heaps(lay)
    if lay.place == "quarters":
        return "in quarters" if lay.count == 2 else f"in a chequer of {lay.count} × {lay.count} fields"
    if lay.place == "gradient":
        if angle in _SIDES:
            return "thinning from the {} to the {}".format(*_SIDES[angle])
        return f"thinning at {angle:g}° to the length"
    if lay.place == SCATTER:
        return f"strewn on fold {lay.before_press} before its press" if lay.before_press else "strewn on top"
    return {
        "throughout": "stirred through all of it",
        "layer": "in a level layer",
        "border": "along all four edges",
    }[lay.place]


def _heaps(lay: Lay) -> str:
    """Say where heaps go."""
    if lay.where_mm is None:
        return "in a heap in the middle" if lay.count == 1 else f"in {lay.count} heaps"
    spots = " and ".join(f"{x:.3g}, {y:.3g}" for x, y in lay.where_mm)
    return f"in {'a heap' if lay.count == 1 else 'heaps'} at {spots} mm from the middle"
