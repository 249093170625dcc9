"""How one colour differs from another, in plain words."""

import numpy as np

from .spaces import Colour

_MIN_PART = 0.35  # of the whole difference: smaller parts are not mentioned


def describe(wanted: Colour, got: Colour, delta_e00: float, in_reach: float, figures: bool = True) -> str:
    """Say in one sentence whether a colour is reached, and if not, how the nearest one differs.

    Parameters
    ----------
    in_reach : float
        Largest difference that counts as reached.
    figures : bool
        Whether the difference is also given as a number.

    Examples
    --------
    >>> describe(Colour.from_lab((50, 60, 0)), Colour.from_lab((55, 30, 0)), 12.3, 1.0)
    'These flakes cannot reach this colour: the nearest recipe is 12.3 away (CIEDE2000), duller and lighter.'
    """
    away = f" {delta_e00:.1f} away (CIEDE2000)," if figures else ""
    reach = "reach" if delta_e00 <= in_reach else "cannot reach"
    how = difference_words(wanted, got, delta_e00, in_reach)
    return f"These flakes {reach} this colour: the nearest recipe is{away} {how}."


def difference_words(wanted: Colour, got: Colour, delta_e00: float, in_reach: float) -> str:
    """Say how a colour differs; as `describe`, in a few words."""
    if delta_e00 <= in_reach:
        return "hard to tell apart"
    *first, last = _ways(wanted, got)
    return f"{', '.join(first)} and {last}" if first else last


def _ways(wanted: Colour, got: Colour) -> list[str]:
    """Words for the parts of the difference that matter, largest first."""
    (light, *hue_plane), (light_got, *plane_got) = wanted.lab, got.lab
    here, there = np.array(hue_plane), np.array(plane_got)
    chroma, chroma_got = float(np.hypot(*here)), float(np.hypot(*there))
    # CIEDE2000 weighs chroma and hue less, the more vivid a colour is: its S_C, and S_H without its T.
    middle = (chroma + chroma_got) / 2
    along_l = light_got - light
    along_c = (chroma_got - chroma) / (1 + 0.045 * middle)
    turned = there - here * (chroma_got / chroma if chroma else 1.0)  # the difference left at equal chroma
    along_h = float(np.hypot(*turned)) / (1 + 0.015 * middle)
    parts = [
        (abs(along_l), "lighter" if along_l > 0 else "darker"),
        (abs(along_c), "more vivid" if along_c > 0 else "duller"),
        (along_h, _towards(turned)),
    ]
    whole = float(np.sqrt(sum(size**2 for size, _ in parts)))
    return [word for size, word in sorted(parts, reverse=True) if size >= _MIN_PART * whole]


def _towards(turned: np.ndarray) -> str:
    """Name the hue that a shift in a* and b* leads towards."""
    a, b = turned
    if abs(a) >= abs(b):
        return "redder" if a > 0 else "greener"
    return "yellower" if b > 0 else "bluer"
