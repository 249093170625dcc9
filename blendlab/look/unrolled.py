"""The surface of a turned blank laid flat."""

from dataclasses import dataclass

import numpy as np

from .lathe import Blank
from .surfaces import Floats


@dataclass(frozen=True, eq=False)
class Unrolled:
    """The surface of a turned blank laid flat, true to size along every line round it.

    Rows follow the profile; each is as wide as the blank's circumference there, from the angle 0 in the
    middle to half a turn on either side, so equal areas of the blank are equal in the picture.

    Attributes
    ----------
    blank : Blank
        Flat discs that only close its ends are left out.
    """

    blank: Blank
    shape: tuple[int, int]

    def frames(self, first: int, last: int) -> Floats:
        """Frames of the pixels of rows first..last-1, shape ((last - first) * columns, 12)."""
        rows, columns = self.shape
        corners = self.blank.open_mm[::-1]  # from the far end of the axis down
        lengths = np.linalg.norm(np.diff(corners, axis=0), axis=1)
        reached = np.concatenate([[0.0], np.cumsum(lengths)])
        step = reached[-1] / rows
        at = (np.arange(first, last) + 0.5) * step
        piece = np.clip(np.searchsorted(reached, at, side="right") - 1, 0, len(lengths) - 1)
        along, radius = (np.interp(at, reached, column) for column in corners.T)
        way = (np.diff(corners, axis=0) / lengths[:, None])[piece]
        pixel = 2 * np.pi * corners[:, 1].max() / columns
        off = (np.arange(columns) + 0.5) * pixel - np.pi * corners[:, 1].max()
        with np.errstate(divide="ignore", invalid="ignore"):
            angle = off / radius[:, None]
        angle = np.where(np.abs(angle) <= np.pi, angle, np.nan)
        return self._placed(along, radius, way * step, angle, pixel)

    def _placed(self, along: Floats, radius: Floats, down: Floats, angle: Floats, pixel: float) -> Floats:
        """Frames at rows of length, radius and step down, and the angles in each row."""
        out, tangent = _round(angle), _round(angle + np.pi / 2)
        axis = np.array([1.0, 0.0, 0.0])
        frames = np.empty((*angle.shape, 12))
        frames[..., :3] = along[:, None, None] * axis + radius[:, None, None] * out
        frames[..., 3:6] = pixel * tangent
        frames[..., 6:9] = down[:, None, :1] * axis + down[:, None, 1:] * out
        inward = np.cross(frames[..., 3:6], frames[..., 6:9])
        frames[..., 9:] = inward / np.linalg.norm(inward, axis=-1, keepdims=True)
        frames[np.isnan(angle)] = np.nan
        frames = self.blank.in_slab(frames.reshape(*angle.shape, 4, 3))
        frames[..., 0, :] += self.blank.middle_mm
        return frames.reshape(-1, 12)


def _round(angle: Floats) -> Floats:
    """Unit vectors at angles about the axis, axis first."""
    return np.stack([np.zeros_like(angle), np.cos(angle), np.sin(angle)], axis=-1)


def unrolled(solid: Blank, px_per_mm: float) -> Unrolled:
    """Return the unrolled surface of a turned blank."""
    length = np.linalg.norm(np.diff(solid.open_mm, axis=0), axis=1).sum()
    round_mm = 2 * np.pi * solid.open_mm[:, 1].max()
    return Unrolled(solid, (max(1, round(length * px_per_mm)), max(1, round(round_mm * px_per_mm))))
