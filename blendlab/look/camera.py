"""A camera for solids: rays through the pixels, the frames where they meet a solid, and shading.

The picture is that of a pin-hole camera aimed so that the solid just fills it. The surface is matt, lit by
one lamp behind the camera at the upper left and by some ambient light.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numba import prange

from .. import checks
from ..colour.spaces import WHITE_XYZ1
from ..runtime.compiled import compiled

Floats = npt.NDArray[np.float64]

DISTANCE = 4.0  # from eye to middle, as a multiple of the solid's half diagonal
MAX_WIDTH_PX = 8000
MARGIN = 1.04  # of the picture round the solid
MAX_STEP = 4.0  # pixels; footprints near the silhouette are not stretched further
AROUND = 0.35  # ambient part of the light
LAMP = np.array([-0.45, -0.65, 1.0])  # towards the lamp: right, down and out of the picture, roughly


@dataclass(frozen=True, eq=False)
class Camera:
    """A pin-hole camera.

    Attributes
    ----------
    eye_mm : ndarray, shape (3,)
        Its position.
    corner : ndarray, shape (3,)
        Direction of the picture's upper left corner, one unit ahead.
    right, down : ndarray, shape (3,)
        Steps of direction from pixel to pixel.
    """

    shape: tuple[int, int]
    eye_mm: Floats
    corner: Floats
    right: Floats
    down: Floats

    def rays(self, first: int, last: int) -> Floats:
        """Directions through the pixels of rows first..last-1, shape (n, 3), not of unit length."""
        columns = (np.arange(self.shape[1]) + 0.5)[:, None] * self.right
        rows = (np.arange(first, last) + 0.5)[:, None, None] * self.down
        rays: Floats = (self.corner + rows + columns).reshape(-1, 3)
        return rays

    def frames(self, rays: Floats, far: Floats, outward: Floats) -> Floats:
        """Frames of the points where rays meet a surface.

        Parameters
        ----------
        rays : ndarray, shape (n, 3)
            Directions.
        far : ndarray, shape (n,)
            Distance along each ray, in lengths of its direction; NaN where it meets nothing.
        outward : ndarray, shape (n, 3)
            Unit normals there.

        Returns
        -------
        ndarray, shape (n, 12)
            As of a `Surface`: steps lie in the surface and span what a pixel sees of it.
        """
        return _frames(rays, far, outward, self.eye_mm, self.right, self.down)

    def shade(self, outward: Floats) -> npt.NDArray[np.float32]:
        """Return how much light surfaces with these unit normals reflect, 1 where one faces the lamp."""
        axes = np.stack([_unit(self.right), _unit(self.down), -_unit(np.cross(self.right, self.down))])
        lit = np.clip(outward @ (_unit(LAMP) @ axes), 0.0, 1.0)
        shade: npt.NDArray[np.float32] = (AROUND + (1 - AROUND) * lit).astype(np.float32)
        return shade


@compiled(parallel=True)
def _frames(rays: Floats, far: Floats, outward: Floats, eye: Floats, right: Floats, down: Floats) -> Floats:
    """Fill the frames of points met by rays: each step slides in the plane to the next pixel's ray."""
    frames = np.full((len(rays), 12), np.nan)
    for n in prange(len(rays)):
        if np.isnan(far[n]):
            continue
        facing = rays[n, 0] * outward[n, 0] + rays[n, 1] * outward[n, 1] + rays[n, 2] * outward[n, 2]
        for column, step in ((3, right), (6, down)):
            rise = outward[n, 0] * step[0] + outward[n, 1] * step[1] + outward[n, 2] * step[2]
            length, straight = 0.0, 0.0
            for i in range(3):
                slide = step[i] - rays[n, i] * (rise / facing)
                frames[n, column + i] = slide
                length += slide * slide
                straight += step[i] * step[i]
            scale = far[n] * min(1.0, MAX_STEP * (straight / length) ** 0.5)
            for i in range(3):
                frames[n, column + i] *= scale
        for i in range(3):
            frames[n, i] = eye[i] + far[n] * rays[n, i]
            frames[n, 9 + i] = -outward[n, i]
    return frames


def aimed_at(corners_mm: Floats, azimuth_deg: float, elevation_deg: float, width_px: int) -> Camera:
    """Aim a camera at a solid so that it fills the picture.

    InputError where the picture is too wide.

    Parameters
    ----------
    corners_mm : ndarray, shape (n, 3)
        Corners of a box or hull round the solid.
    azimuth_deg : float
        Position of the camera, seen from above: 0 at the right end, anticlockwise; -90 is the front.
    elevation_deg : float
        Above the horizontal, between -90 and 90.
    width_px : int
        Columns of the picture; its rows follow.
    """
    checks.whole("width_px of a view", width_px, 1, MAX_WIDTH_PX, "give the picture's width in pixels")
    azimuth, elevation = np.radians(azimuth_deg), np.radians(elevation_deg)
    level = np.array([np.cos(azimuth), np.sin(azimuth), 0.0])
    back = np.cos(elevation) * level + np.sin(elevation) * np.array([0.0, 0.0, 1.0])
    right = np.array([-level[1], level[0], 0.0])
    down = np.cross(right, back)
    middle = (corners_mm.min(axis=0) + corners_mm.max(axis=0)) / 2
    eye = middle + back * DISTANCE * np.linalg.norm(corners_mm - middle, axis=1).max()
    seen = corners_mm - eye
    ahead = -(seen @ back)
    across, below = seen @ right / ahead, seen @ down / ahead
    wide, high = MARGIN * np.ptp(across), MARGIN * np.ptp(below)
    pixel = wide / width_px
    rows = max(1, round(high / pixel))
    start = (np.ptp(across) - wide) / 2 + across.min(), (np.ptp(below) - rows * pixel) / 2 + below.min()
    corner = -back + start[0] * right + start[1] * down
    return Camera((rows, width_px), eye, corner, right * pixel, down * pixel)


def lit(
    xyz1: npt.NDArray[np.float32], shade: npt.NDArray[np.float32], ground: float
) -> npt.NDArray[np.float32]:
    """Light a picture of a solid in front of a plain ground, which takes the place of NaN.

    Parameters
    ----------
    xyz1 : ndarray, shape (rows, columns, 3)
        Light of the evenly lit solid, NaN beside it.
    shade : ndarray, shape (rows, columns)
        As from the view.
    ground : float
        Lightness of the ground, Y from 0 to 1.
    """
    beside = np.isnan(xyz1[..., :1])
    return np.where(beside, np.float32(ground) * WHITE_XYZ1.astype(np.float32), xyz1 * shade[..., None])


def _unit(vector: Floats) -> Floats:
    """Return the vector's direction."""
    unit: Floats = vector / np.linalg.norm(vector)
    return unit
