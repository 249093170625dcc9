"""Rolling a slab up into a log, twisting the log, and squaring it for the press.

The cross-section is a disc of the strip's area, radius R, filled by K turns of the strip, each a pitch
p = R/K thick, K being the whole number that brings p nearest the strip's height h. A turn runs round as a
ring and climbs to the next ring within the last part LAP of each turn, where the strip's two ends taper under
and over their neighbours. With x counting turns and the climb G(x) = floor(x) + c, c rising evenly
from 0 at 1 - LAP to 1 at the full turn, the strip at x lies between

    r_in = p*G(x)      r_out = p*min(G(x + 1), K)      from x = -LAP to K

and the length used up is l = (1/h) * integral of (r_out**2 - r_in**2)/2 over the angle 2*pi*x, a cubic by
pieces. Depth is shared out by area, (r**2 - r_in**2)/(r_out**2 - r_in**2): the map keeps volume exactly.
A twist turns each cross-section about the log's axis. The disc is then pressed square by the concentric
map of Shirley & Chiu (1997, J. Graphics Tools 2(3):45), whose Jacobian is constant.
"""

import math

from ..runtime.compiled import compiled
from .step_tables import Step

TURN = 2.0 * math.pi
LAP = 0.2  # part of a turn in which the strip climbs onto the previous turn


@compiled()
def square_to_disc(u: float, v: float, half: float, radius: float) -> tuple[float, float]:
    """Radius and angle of a point of the square |u|, |v| <= half, which has the disc's area."""
    if abs(u) > abs(v):
        return radius / half * abs(u), 0.25 * math.pi * (v / u) + (math.pi if u < 0.0 else 0.0)
    if v == 0.0:
        return 0.0, 0.0
    return radius / half * abs(v), math.pi * (0.5 - 0.25 * (u / v)) + (math.pi if v < 0.0 else 0.0)


@compiled()
def turns_of(length: float, h: float) -> float:
    """How many turns K a strip of that length and height makes, at least one."""
    return max(math.floor(math.sqrt(length / (math.pi * h)) + 0.5), 1.0)


@compiled()
def _climb(x: float) -> float:
    """G(x) for x from -1 on: rings passed, counted in pitches."""
    whole = math.floor(x)
    return max(whole + max((x - whole - 1.0) / LAP + 1.0, 0.0), 0.0)


@compiled()
def _swept(x: float) -> float:
    """Integral of G**2 from 0 to x; 0 below 0."""
    if x <= 0.0:
        return 0.0
    k = math.floor(x)
    # A whole turn at ring i gives i**2 + LAP*(i + 1/3); their sum over the rings below k.
    whole = k * ((k - 1.0) * (2.0 * k - 1.0) / 6.0 + LAP * (0.5 * (k - 1.0) + 1.0 / 3.0))
    part = max((x - k - 1.0) / LAP + 1.0, 0.0)
    return whole + k * k * (x - k) + LAP * part * part * (k + part / 3.0)


@compiled(allocates=False)
def band(x: float, turns: float) -> tuple[float, float, float]:
    """Squares of the strip's inner and outer radius, and the area it has used up; counted in pitches."""
    inner, outer = _climb(x), min(_climb(x + 1.0), turns)
    beyond = max(x + 1.0 - turns, 0.0)
    used = math.pi * (_swept(x + 1.0 - beyond) + beyond * turns * turns - _swept(x))
    return inner * inner, outer * outer, used


@compiled(allocates=False)
def unroll(r: float, phi: float, length: float, h: float) -> tuple[float, float, int]:
    """Find a point of the rolled disc on the strip.

    Parameters
    ----------
    r, phi : float
        Polar position, mm and radians; r at most the disc's radius.
    length, h : float
        Length and height of the strip, mm.

    Returns
    -------
    tuple
        Length from the inner end, height above the inward face, and a whole number for the turn and whether
        the strip climbs there.
    """
    turns = turns_of(length, h)
    pitch = math.sqrt(length * h / math.pi) / turns
    part = phi / TURN - math.floor(phi / TURN)
    ring, climbed = r / pitch, max((part - 1.0) / LAP + 1.0, 0.0)
    x = min(max(math.floor(ring - climbed) + part, -LAP), turns)
    inner, outer, used = band(x, turns)
    wide = max(outer - inner, 1e-300)
    depth = min(max((ring * ring - inner) / wide, 0.0), 1.0)
    turn = 2 * math.floor(ring - climbed) + (climbed > 0.0)
    return min(used * pitch * pitch / h, length), h * depth, turn


@compiled(allocates=False)
def roll_back(t: float, w: float, z: float, a: float, step: Step) -> tuple[float, float, int]:
    """Untwist and unroll a point of the squared log.

    Parameters
    ----------
    t, w, z : float
        Position in the log, mm: t across it and z up, w along it from its middle.
    a : float
        Half length of the slab before, mm; it was rolled from -a on, upper face inward.
    step : Step
        The roll: heights before and folded, twist and phase.

    Returns
    -------
    tuple
        t and z in the slab before, and a whole number for the turn and the quarter of the log.
    """
    h = step.h0
    half = 0.5 * step.h_folded
    radius = step.h_folded / math.sqrt(math.pi)
    v = z - half
    r, phi = square_to_disc(t, v, half, radius)
    along, up, turn = unroll(r, phi - step.phase - step.twist * w, 2.0 * a, h)
    quarter = (abs(t) > abs(v)) + 2 * (t + v < 0.0)
    return along - a, h - up, 4 * turn + quarter
