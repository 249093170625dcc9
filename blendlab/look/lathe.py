"""Turned blanks: a solid of revolution cut from the slab, and its shaded view."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numba import prange

from .. import checks
from ..recipe.recipe import Sheet
from ..runtime.compiled import compiled
from .camera import Camera, Floats, aimed_at
from .faces import AXES
from .profile import Profile
from .surfaces import Vector

AZIMUTH_DEG, ELEVATION_DEG = -70.0, 30.0
ROUNDING = 1e-6
FLAT = 1e-6  # a piece of outline that climbs less than this is a flat disc


@dataclass(frozen=True, eq=False)
class Blank:
    """A profile placed in the slab.

    Attributes
    ----------
    outline_mm : ndarray, shape (n, 2)
        Length and radius of its closed outline, the length counted from its middle; solid on the right.
    open_mm : ndarray, shape (m, 2)
        The same without the flat discs that close its ends, in the same sense.
    middle_mm : ndarray, shape (3,)
        Middle of the axis, in the slab.
    order : tuple of int
        One of `AXES`.
    """

    outline_mm: Floats
    open_mm: Floats
    middle_mm: Floats
    order: tuple[int, int, int]

    def axis_first(self, vectors: Floats) -> Floats:
        """Vectors of the slab, shape (..., 3), along the axis and at the angles 0 and 90 degrees about it."""
        return vectors[..., self.order]

    def in_slab(self, vectors: Floats) -> Floats:
        """Vectors given axis first, shape (..., 3), in the slab's x, y, z: the inverse of `axis_first`."""
        turned = np.empty_like(vectors)
        turned[..., self.order] = vectors
        return turned


def blank(profile: Profile, sheet: Sheet, axis: str = "length", middle_mm: Vector | None = None) -> Blank:
    """Place a profile in the slab.

    Parameters
    ----------
    profile : Profile
        What is turned.
    sheet : Sheet
        The slab it is cut from.
    axis : str
        length, width or upright: which way the lathe's axis lies in the slab. A length of the profile counts
        towards the right end, the back, or up.
    middle_mm : tuple of float, optional
        Where the middle of the axis lies, x and y from the middle of the sheet, z from its lower face; the
        slab's own middle where nothing is said.

    Returns
    -------
    Blank

    Raises
    ------
    InputError
        Where the slab is too small for it there.
    """
    order = AXES[checks.one_of("axis of a turned blank", axis, AXES)]
    size = np.array(sheet.size_mm)
    middle = np.array([0.0, 0.0, size[2] / 2]) if middle_mm is None else np.array(middle_mm, np.float64)
    half = np.full(3, profile.radius_mm)
    half[order[0]] = profile.length_mm / 2
    room = size / 2 - np.abs(middle - [0.0, 0.0, size[2] / 2])
    if not np.all(half <= room + 1e-6):
        needs = checks.Raw(" x ".join(f"{2 * side:g}" for side in half) + " mm")
        has = f"where it stands the slab has {' x '.join(f'{2 * max(side, 0):g}' for side in room)} mm"
        checks.refuse(
            "a turned blank must fit in the slab", needs, f"{has}: turn it smaller, or press thicker"
        )
    centre = np.array([min(x for x, _ in profile.points_mm) + profile.length_mm / 2, 0.0])
    return Blank(profile.closed - centre, profile.ordered - centre, middle, order)


@dataclass(frozen=True, eq=False)
class TurnedView:
    """A turned blank before a camera.

    Attributes
    ----------
    blank : Blank
        What is seen.
    camera : Camera
        From where.
    """

    blank: Blank
    camera: Camera

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.camera.shape

    def frames(self, first: int, last: int) -> Floats:
        """Frames of the pixels of rows first..last-1, shape ((last - first) * columns, 12)."""
        rays = self.camera.rays(first, last)
        met = self._met(rays)
        return self.camera.frames(rays, met[:, 0], met[:, 1:])

    def shade(self) -> npt.NDArray[np.float32]:
        """Light each pixel sends back, shape (rows, columns), NaN beside the blank."""
        outward = self._met(self.camera.rays(0, self.shape[0]))[:, 1:]
        return self.camera.shade(outward).reshape(self.shape)

    def _met(self, rays: Floats) -> Floats:
        """How far rays go to the blank, and its outward normals there, shape (n, 4); NaN beside it."""
        solid = self.blank
        eye = solid.axis_first(self.camera.eye_mm - solid.middle_mm)
        met: Floats = _cast(solid.axis_first(rays), eye, solid.outline_mm)
        met[:, 1:] = solid.in_slab(met[:, 1:])
        return met


def turned_view(
    solid: Blank, width_px: int, azimuth_deg: float = AZIMUTH_DEG, elevation_deg: float = ELEVATION_DEG
) -> TurnedView:
    """Return a shaded view of a turned blank.

    Parameters
    ----------
    solid : Blank
        What is seen.
    width_px : int
        Columns of the picture; its rows follow.
    azimuth_deg, elevation_deg : float
        Where the camera stands, as in `aimed_at`.

    Returns
    -------
    TurnedView
    """
    turn = np.linspace(0.0, 2 * np.pi, 48, endpoint=False)
    along, radius = solid.outline_mm.T
    ring = np.stack([np.ones_like(turn), np.cos(turn), np.sin(turn)], axis=-1)
    hull = np.stack([along, radius, radius], axis=-1)[:, None, :] * ring
    corners = solid.in_slab(hull.reshape(-1, 3)) + solid.middle_mm
    return TurnedView(solid, aimed_at(corners, azimuth_deg, elevation_deg, width_px))


@compiled()
def _reach(d0, d1, d2, eye, widest):  # type: ignore[no-untyped-def]
    """Lengths along the axis between which a ray runs through the cylinder round an outline."""
    a = d1 * d1 + d2 * d2
    b = eye[1] * d1 + eye[2] * d2
    root = b * b - a * (eye[1] * eye[1] + eye[2] * eye[2] - widest * widest)
    if root < 0.0:
        return 1.0, 0.0
    root = math.sqrt(root)
    enters, leaves = eye[0] - (b + root) / a * d0, eye[0] - (b - root) / a * d0
    return min(enters, leaves) - ROUNDING, max(enters, leaves) + ROUNDING


@compiled(parallel=True)
def _cast(rays, eye, outline):  # type: ignore[no-untyped-def]
    """Meet rays with the cones and discs of an outline, axis first: distance and outward normal."""
    met = np.full((len(rays), 4), np.nan)
    widest = outline[:, 1].max()
    for n in prange(len(rays)):
        d0, d1, d2 = rays[n, 0], rays[n, 1], rays[n, 2]
        low, high = _reach(d0, d1, d2, eye, widest)
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
                    continue  # beyond the piece, or on the cone's other half
                nearest = far
                met[n, 0], met[n, 1] = far, -dr / slant
                met[n, 2] = ds / slant * (y / r if r > 0.0 else 1.0)
                met[n, 3] = ds / slant * (z / r if r > 0.0 else 0.0)
    return met
