"""Turned blanks: solids of revolution cut from the slab."""

import math
from dataclasses import dataclass

import numpy as np
from numba import prange

from .. import checks
from ..recipe.recipe import Sheet
from ..runtime.compiled import compiled
from .camera import Floats
from .faces import AXES
from .profile import Profile

HULL_STEPS = 48  # round the blank
ROUNDING = 1e-6
FLAT = 1e-6  # a piece of outline that rises less than this is a flat disc


@dataclass(frozen=True, eq=False)
class Blank:
    """A profile placed in the slab.

    Attributes
    ----------
    outline_mm : ndarray, shape (n, 2)
        Length, from its middle, and radius of its closed outline, with the solid on the right.
    open_mm : ndarray, shape (m, 2)
        The same without the flat discs that close its ends, in the same order.
    middle_mm : ndarray, shape (3,)
        Middle of the axis, in the slab.
    order : tuple of int
        One of `AXES`.
    """

    outline_mm: Floats
    open_mm: Floats
    middle_mm: Floats
    order: tuple[int, int, int]

    usual_azimuth_deg = -70.0

    @property
    def hull_mm(self) -> Floats:
        """Corners of the outline turned in steps, in the slab."""
        turn = np.linspace(0.0, 2 * np.pi, HULL_STEPS, endpoint=False)
        along, radius = self.outline_mm.T
        ring = np.stack([np.ones_like(turn), np.cos(turn), np.sin(turn)], axis=-1)
        hull = np.stack([along, radius, radius], axis=-1)[:, None, :] * ring
        corners: Floats = self.in_slab(hull.reshape(-1, 3)) + self.middle_mm
        return corners

    def flat_normals(self, eye_mm: Floats) -> Floats:
        """Return none: what faces the lamp is fully lit."""
        return np.zeros((0, 3))

    def met(self, rays: Floats, eye_mm: Floats) -> tuple[Floats, Floats]:
        """Return how far rays go to the blank, NaN beside it, and its outward normals there."""
        eye = self.axis_first(eye_mm - self.middle_mm)
        met = _cast(self.axis_first(rays), eye, self.outline_mm)
        return met[:, 0], self.in_slab(met[:, 1:])

    def axis_first(self, vectors: Floats) -> Floats:
        """Vectors of the slab, shape (..., 3), along the axis and at the angles 0 and 90 degrees about it."""
        return vectors[..., self.order]

    def in_slab(self, vectors: Floats) -> Floats:
        """Vectors given axis first, shape (..., 3), in the slab's x, y, z: the inverse of `axis_first`."""
        turned = np.empty_like(vectors)
        turned[..., self.order] = vectors
        return turned


def blank(profile: Profile, sheet: Sheet, axis: str = "length") -> Blank:
    """Place a profile in the middle of the slab.

    InputError where the slab is too small for it.

    Parameters
    ----------
    axis : str
        One of `AXES`: direction of the lathe's axis in the slab. Lengths of the profile run to the right, to
        the back, or up.
    """
    order = AXES[checks.one_of("axis of a turned blank", axis, AXES)]
    size = np.array(sheet.size_mm)
    half = np.full(3, profile.radius_mm)
    half[order[0]] = profile.length_mm / 2
    if not np.all(half <= size / 2 + ROUNDING):
        needs = checks.Raw(" x ".join(f"{2 * side:g}" for side in half) + " mm")
        has = f"the slab has {' x '.join(f'{side:g}' for side in size)} mm: turn it smaller, or press thicker"
        checks.refuse("a turned blank must fit in the slab", needs, has)
    centre = np.array([min(x for x, _ in profile.points_mm) + profile.length_mm / 2, 0.0])
    return Blank(profile.closed - centre, profile.ordered - centre, np.array([0.0, 0.0, size[2] / 2]), order)


@compiled()
def _within(d0: float, d1: float, d2: float, eye: Floats, widest: float) -> tuple[float, float]:
    """Return the lengths along the axis between which a ray is in the cylinder round an outline."""
    a = d1 * d1 + d2 * d2
    b = eye[1] * d1 + eye[2] * d2
    root = b * b - a * (eye[1] * eye[1] + eye[2] * eye[2] - widest * widest)
    if root < 0.0:
        return 1.0, 0.0
    root = math.sqrt(root)
    enters, leaves = eye[0] - (b + root) / a * d0, eye[0] - (b - root) / a * d0
    return min(enters, leaves) - ROUNDING, max(enters, leaves) + ROUNDING


@compiled(parallel=True)
def _cast(rays: Floats, eye: Floats, outline: Floats) -> Floats:
    """Meet rays with the cones and discs of an outline, axis first: distance and outward normal."""
    met = np.full((len(rays), 4), np.nan)
    widest = outline[:, 1].max()
    for n in prange(len(rays)):
        d0, d1, d2 = rays[n, 0], rays[n, 1], rays[n, 2]
        low, high = _within(d0, d1, d2, eye, widest)
        nearest = np.inf
        for k in range(len(outline) - 1):
            s0, s1, r0, r1 = outline[k, 0], outline[k + 1, 0], outline[k, 1], outline[k + 1, 1]
            if max(s0, s1) < low or min(s0, s1) > high:
                continue
            # On the cone (s1 - s0)*r = (s - s0)*(r1 - r0) + r0*(s1 - s0), squared along the ray.
            ds, dr = s1 - s0, r1 - r0
            base, slope = (eye[0] - s0) * dr + r0 * ds, d0 * dr
            a = ds * ds * (d1 * d1 + d2 * d2) - slope * slope
            b = ds * ds * (eye[1] * d1 + eye[2] * d2) - base * slope
            c = ds * ds * (eye[1] * eye[1] + eye[2] * eye[2]) - base * base
            flat = abs(ds) <= FLAT * abs(dr)
            root = 0.0 if flat else b * b - a * c  # a flat disc is met once
            if root < 0.0:
                continue
            root = math.sqrt(root)
            for sign in (-1.0, 1.0):
                far = (s0 - eye[0]) / d0 if flat else (-b + sign * root) / a
                if not 0.0 < far < nearest:
                    continue
                s, y, z = eye[0] + far * d0, eye[1] + far * d1, eye[2] + far * d2
                r = math.sqrt(y * y + z * z)
                slant = math.sqrt(ds * ds + dr * dr)
                part = ((s - s0) * ds + (r - r0) * dr) / (slant * slant)
                away = abs((s - s0) * dr - (r - r0) * ds) / slant
                if not 0.0 <= part <= 1.0 or away > ROUNDING * (1.0 + r):
                    continue  # beyond the piece, or on the other half of the cone
                nearest = far
                met[n, 0], met[n, 1] = far, -dr / slant
                met[n, 2] = ds / slant * (y / r if r > 0.0 else 1.0)
                met[n, 3] = ds / slant * (z / r if r > 0.0 else 0.0)
    return met
