"""Pressing a slab thinner between two hot plates: drag on the liners and an edge that rolls outward.

A slab of half sizes a0, b0 and height h0 is pressed to a1, b1, h1 of the same volume. Positions are
given relative to the current slab: xi = x/a and eta = y/b from -1 to 1, s = 2z/h - 1 from -1
(lower face) to 1 (upper face).

The melt's velocity over the height is f(s) = (1 - drag) + drag * 3/2 * (1 - s**2): at drag 0 each layer
just widens (lubricated squeeze flow), at drag 1 it sticks to the liners (Stefan 1874). With the strain
E = exp(drag * ln(h0/h1)), w = s**2 and D = 1 - w + w*E, the flow integrates to

    s0 = s * sqrt(E/D)      xi0 = xi * (E**(-1/2) * D**(3/2))**p_x      eta0 likewise with p_y

going back, where p_x and p_y = 1 - p_x share the widening between the two sides. The middle of the
melt runs faster than the edge moves, so it meets the edge, and rolls out there onto the faces (fountain
flow: Rose 1961; Tadmor 1974). The meeting is at the one root E* > 1 of D**3 = E * xi**(-2/p); there the
depth jumps to the other point of the same streamline s*(1 - s**2). Every step keeps volume.
"""

import math

from ..runtime.compiled import compiled

MAX_EVENTS = 64  # a point meets the edge once or twice in a press, but often near |s| = 3**-0.5
TIGHT = 1e-6  # part by which a root changes in its last step; what is left is about the cube of that


@compiled()
def across_the_edge(s: float) -> float:
    """Depth on the other branch of the streamline s*(1 - s**2) that turns round at the edge."""
    return math.copysign(0.5 * (math.sqrt(4.0 - 3.0 * s * s) - abs(s)), s)


@compiled()
def _far(along: float, p: float) -> float:
    """|along|**(-2/p), mostly of a slab that widens along one side only."""
    return 1.0 / (along * along) if p == 1.0 else abs(along) ** (-2.0 / p)


@compiled(allocates=False)
def _power(grown: float, p: float) -> float:
    """grown**p, mostly of a slab that widens along one side only."""
    return grown if p == 1.0 else grown**p


@compiled()
def edge_strain_back(w: float, far: float, strain: float) -> float:
    """Strain E* in (1, strain] at which (1 - w + w*E)**3 = far*E.

    Halley's method, from above: all roots of the cubic are real and E* is the largest, so no step passes it,
    and an error is about the cube of the one before.
    """
    e = strain
    for _ in range(60):
        d = 1.0 - w + w * e
        over, slope = d * d * d - far * e, 3.0 * w * d * d - far
        step = over * slope / (slope * slope - over * 3.0 * w * w * d)
        e -= step
        if abs(step) < TIGHT * e:
            break
    return max(e, 1.0)


@compiled()
def press_back(
    xi: float, eta: float, s: float, strain: float, p_x: float, p_y: float
) -> tuple[float, float, float, int]:
    """Follow a point of the pressed slab back to the slab before it.

    Parameters
    ----------
    xi, eta, s : float
        Relative position, each in [-1, 1].
    strain : float
        E, at least 1 (1 where nothing drags).
    p_x, p_y : float
        Shares of the widening, summing to 1.

    Returns
    -------
    tuple
        xi0, eta0, s0, and a whole number for the path round the edges: the map is smooth among points with
        the same number and tears between different ones.
    """
    way = 0
    for _ in range(MAX_EVENTS):
        if strain <= 1.0:
            break
        w = s * s
        d = 1.0 - w + w * strain
        root = math.sqrt(d * strain)
        grown = d * root / strain
        g_x = 1.0 if p_x == 0.0 else (grown if p_x == 1.0 else grown**p_x)
        g_y = 1.0 if p_y == 0.0 else (grown if p_y == 1.0 else grown**p_y)
        out_x = abs(xi) * g_x > 1.0
        out_y = abs(eta) * g_y > 1.0
        if not (out_x or out_y):
            return xi * g_x, eta * g_y, s * root / d, way
        e_x = edge_strain_back(w, _far(xi, p_x), strain) if out_x else strain
        e_y = edge_strain_back(w, _far(eta, p_y), strain) if out_y else strain
        e = min(e_x, e_y)
        d = 1.0 - w + w * e
        grown = d * math.sqrt(d / e)
        if p_x > 0.0:
            xi = math.copysign(1.0, xi) if out_x and e_x <= e_y else xi * _power(grown, p_x)
        if p_y > 0.0:
            eta = math.copysign(1.0, eta) if out_y and e_y < e_x else eta * _power(grown, p_y)
        way = 8 * way + (1 if out_x and e_x <= e_y else 2) + (4 if s < 0.0 else 0)
        s = across_the_edge(s * math.sqrt(e / d))
        strain /= e
    return xi, eta, s, way
