"""The moves forward, from the first slab to the folded sheet: the inverses that tests hold the program to.

The program only follows points back. These maps are written from the same equations the other way round.
"""

import math

import numpy as np
from numba import prange

from blendlab.folding.corners_in import EIGHTH, over_the_line
from blendlab.folding.press import MAX_EVENTS, across_the_edge
from blendlab.folding.programme import Programme
from blendlab.folding.roll import LAP, TURN, band, turns_of
from blendlab.folding.smear import smear_block
from blendlab.folding.step_tables import CORNERS, FLIP, PANELS
from blendlab.folding.trace import BLOCK, flip, pile_of, smear_of
from blendlab.runtime.compiled import compiled

TIGHT = 1e-14  # relative change at which a root is found


@compiled()
def corners_forward(x, y, z, a, h, side):
    """Fold a point of the slab: the inverse of `corners_back`, with the same parameters."""
    if abs(x) + abs(y) > a:
        x, y = over_the_line(x, y, a)
        z = 2.0 * h - z
    return EIGHTH * (x - side * y), EIGHTH * (y + side * x), z


@compiled()
def panels_forward(t, z, h, pile):
    """Fold a point of the slab: the inverse of `panels_back`, with the same pile."""
    # The column and layer whose material holds t; the nearest where rounding leaves it between two.
    nearest, u, up = math.inf, 0.0, 0.0
    for n in range(len(pile.columns)):
        column = pile.columns[n]
        for i in range(column.plies):
            ply = pile.plies[column.first_ply + i]
            place = (ply.shift + ply.way * t - column.offset) * column.flat
            miss = max(column.start - place, place - column.end, 0.0)
            if miss < nearest:
                nearest, u = miss, place
                up = (i * h + (z if ply.way > 0.0 else h - z)) * column.slope
    return u, up


@compiled()
def edge_strain_forward(w, far, strain):
    """Strain E* in [1, strain] at which (w + E*(1 - w))**3 = far*E**2, by bisection then Newton."""
    low, high = min(max(1.0, 2.0 * w / (1.0 - w)), strain), strain
    e = 0.5 * (low + high)
    for _ in range(200):
        q = w + e * (1.0 - w)
        miss = q * q * q - far * e * e
        if miss > 0.0:
            high = e
        else:
            low = e
        step = miss / (3.0 * (1.0 - w) * q * q - 2.0 * far * e)
        new = e - step
        if not low <= new <= high:
            new = 0.5 * (low + high)
        if abs(new - e) < TIGHT * e:
            return new
        e = new
    return e


@compiled()
def press_forward(xi, eta, s, strain, p_x, p_y):
    """Carry a point of the slab along while it is pressed: the inverse of `press_back`.

    Parameters
    ----------
    xi, eta, s : float
        Relative position before the press, each in [-1, 1].
    strain, p_x, p_y : float
        As for `press_back`.

    Returns
    -------
    tuple of float
        xi, eta, s after the press.
    """
    for _ in range(MAX_EVENTS):
        if strain <= 1.0:
            break
        w = s * s
        q = w + strain * (1.0 - w)
        grown = q * math.sqrt(q) / strain
        g_x = 1.0 if p_x == 0.0 else grown**p_x
        g_y = 1.0 if p_y == 0.0 else grown**p_y
        out_x = abs(xi) * g_x > 1.0
        out_y = abs(eta) * g_y > 1.0
        if not (out_x or out_y):
            return xi * g_x, eta * g_y, s / math.sqrt(q)
        e_x = edge_strain_forward(w, abs(xi) ** (-2.0 / p_x), strain) if out_x else strain
        e_y = edge_strain_forward(w, abs(eta) ** (-2.0 / p_y), strain) if out_y else strain
        e = min(e_x, e_y)
        q = w + e * (1.0 - w)
        grown = q * math.sqrt(q) / e
        if p_x > 0.0:
            xi = math.copysign(1.0, xi) if out_x and e_x <= e_y else xi * grown**p_x
        if p_y > 0.0:
            eta = math.copysign(1.0, eta) if out_y and e_y < e_x else eta * grown**p_y
        s = across_the_edge(s / math.sqrt(q))
        strain /= e
    return xi, eta, s


@compiled()
def disc_to_square(r, phi, half, radius):
    """Place in the square of a point of the disc: the inverse of `square_to_disc`."""
    quarter = math.floor((phi + 0.25 * math.pi) / (0.5 * math.pi))
    out = r * (half / radius)
    along = out * (phi - quarter * 0.5 * math.pi) / (0.25 * math.pi)
    side = int(quarter) % 4
    if side == 0:
        return out, along
    if side == 1:
        return -along, out
    if side == 2:
        return -out, -along
    return along, -out


@compiled()
def roll_up(along, up, length, h):
    """Polar position on the rolled disc of a point of the strip: the inverse of `unroll`."""
    turns = turns_of(length, h)
    pitch = math.sqrt(length * h / math.pi) / turns
    goal = along * h / (pitch * pitch)
    low, high = -LAP, turns
    x = 0.5 * (low + high)
    for _ in range(200):  # Newton, held in its bracket
        inner, outer, used = band(x, turns)
        if used > goal:
            high = x
        else:
            low = x
        new = x - (used - goal) / max(math.pi * (outer - inner), 1e-300)
        if not low < new < high:
            new = 0.5 * (low + high)
        if abs(new - x) < 1e-15:
            break
        x = new
    inner, outer, _ = band(x, turns)
    return pitch * math.sqrt(inner + (outer - inner) * up / h), TURN * x


@compiled()
def roll_forward(t, w, z, a, step):
    """Roll up and twist a point of the slab: the inverse of `roll_back`, with the same parameters.

    `t` runs along the strip and `w` along the log to be; returns t and z in the squared log.
    """
    half = 0.5 * step.h_folded
    r, theta = roll_up(t + a, step.h0 - z, 2.0 * a, step.h0)
    turned = theta + step.phase + step.twist * w
    u, v = disc_to_square(r, turned, half, step.h_folded / math.sqrt(math.pi))
    return u, v + half


@compiled()
def fold(x, y, z, step, pile):
    """Fold a point of the slab: the inverse of `unfold`. Returns x, y, z in mm."""
    if step.kind == CORNERS:
        return corners_forward(x, y, z, step.a0, step.h0, step.side)
    crossed = step.axis == 1
    t, w = (y, x) if crossed else (x, y)
    t *= step.side
    if step.kind == PANELS:
        t, z = panels_forward(t, z, step.h0, pile)
    else:
        t, z = roll_forward(t, w, z, step.b0 if crossed else step.a0, step)
    t *= step.side
    if crossed:
        return w, t, z
    return t, w, z


@compiled()
def block_forward(points, tables):
    """Carry a block of points through all steps, in place: the inverse of `block_back`."""
    scratch = np.empty((2, len(points)), np.int64)
    for k in range(len(tables.steps)):
        step = tables.steps[k]
        if step.kind == FLIP:
            flip(points, step)
            continue
        pile = pile_of(step, tables)
        for n in range(len(points)):
            x, y, z = fold(points[n, 0], points[n, 1], points[n, 2], step, pile)
            xi, eta, s = x / step.a_folded, y / step.b_folded, 2.0 * z / step.h_folded - 1.0
            xi, eta, s = press_forward(xi, eta, s, step.strain, step.p_x, step.p_y)
            points[n, 0], points[n, 1], points[n, 2] = step.a1 * xi, step.b1 * eta, s
        smear_block(points, step.a1, step.b1, smear_of(step, tables), 1.0, scratch)
        points[:, 2] = 0.5 * (points[:, 2] + 1.0) * step.h1


@compiled(parallel=True)
def _all_forward(points, tables):
    out = points.copy()
    for block in prange((len(points) + BLOCK - 1) // BLOCK):
        block_forward(out[block * BLOCK : (block + 1) * BLOCK], tables)
    return out


def follow_forward(points_mm: np.ndarray, programme: Programme, folds: int) -> np.ndarray:
    """Where points of the first melted slab come to be: the inverse of `follow_back`."""
    return _all_forward(np.ascontiguousarray(points_mm, np.float64), programme.after(folds))
