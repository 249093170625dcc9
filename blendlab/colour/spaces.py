"""Colour spaces: sRGB, linear light, XYZ and CIELAB, and conversions between them.

One white throughout: D65 as the sRGB standard gives it, chromaticity (0.3127, 0.3290). Conversions work
on arrays with the three channels on the last axis and any leading shape.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..tables import read_toml

Floats = NDArray[np.float64]

_SRGB = read_toml("light/light.toml")["srgb"]
_PRIMARIES_XY = np.array([_SRGB[primary] for primary in ("red", "green", "blue")])
_WHITE_XY = np.array(_SRGB["white"])

# CIE 15:2018, CIELAB: where a straight line takes over from the cube root.
_EPSILON = 216 / 24389
_KAPPA = 24389 / 27


def _xyz1_from_xy(xy: Floats) -> Floats:
    """XYZ of unit luminance from a chromaticity."""
    x, y = xy[..., 0], xy[..., 1]
    return np.stack([x / y, np.ones_like(y), (1 - x - y) / y], axis=-1)


def _rgb_to_xyz() -> Floats:
    """Matrix whose columns are the primaries, scaled to sum to the white.

    The standard prints it rounded to four decimals; unrounded, white is exactly white.
    """
    columns = _xyz1_from_xy(_PRIMARIES_XY).T
    return columns * np.linalg.solve(columns, WHITE_XYZ1)


WHITE_XYZ1 = _xyz1_from_xy(_WHITE_XY)
RGB_TO_XYZ = _rgb_to_xyz()
_XYZ_TO_RGB = np.linalg.inv(RGB_TO_XYZ)


def linear_from_srgb1(srgb1: ArrayLike) -> Floats:
    """Decode sRGB, 0 to 1, to linear light (IEC 61966-2-1, 5.2).

    Examples
    --------
    >>> float(linear_from_srgb1(0.5).round(8))
    0.21404114
    """
    value = np.asarray(srgb1, dtype=float)
    curve = ((np.maximum(value, 0.04045) + 0.055) / 1.055) ** 2.4
    return np.where(value <= 0.04045, value / 12.92, curve)


def srgb1_from_linear(linear_rgb: ArrayLike) -> Floats:
    """Encode linear light, 0 to 1, as sRGB (IEC 61966-2-1, 5.3); nothing is clipped.

    Examples
    --------
    >>> float(srgb1_from_linear(0.18).round(8))
    0.46135613
    """
    value = np.asarray(linear_rgb, dtype=float)
    curve = 1.055 * np.maximum(value, 0.0031308) ** (1 / 2.4) - 0.055
    return np.where(value <= 0.0031308, 12.92 * value, curve)


def xyz1_from_linear(linear_rgb: ArrayLike) -> Floats:
    """XYZ, white Y = 1, from linear light of the sRGB primaries."""
    return np.asarray(linear_rgb, dtype=float) @ RGB_TO_XYZ.T


def linear_from_xyz1(xyz1: ArrayLike) -> Floats:
    """Linear light of the sRGB primaries; below 0 or above 1 where a screen cannot show it."""
    linear: Floats = np.asarray(xyz1, dtype=float) @ _XYZ_TO_RGB.T
    return linear


def lab_from_xyz1(xyz1: ArrayLike) -> Floats:
    """CIELAB under D65 (CIE 15:2018, 8.2.1).

    Examples
    --------
    >>> lab_from_xyz1(WHITE_XYZ1).round(9) + 0.0
    array([100.,   0.,   0.])
    """
    ratio = np.asarray(xyz1, dtype=float) / WHITE_XYZ1
    root = np.cbrt(ratio)
    f = np.where(ratio > _EPSILON, root, (_KAPPA * ratio + 16) / 116)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def xyz1_from_lab(lab: ArrayLike) -> Floats:
    """XYZ, white Y = 1, from CIELAB under D65."""
    values = np.asarray(lab, dtype=float)
    y = (values[..., 0] + 16) / 116
    f = np.stack([y + values[..., 1] / 500, y, y - values[..., 2] / 200], axis=-1)
    cube = f**3
    return np.where(cube > _EPSILON, cube, (116 * f - 16) / _KAPPA) * WHITE_XYZ1


def srgb1_from_hex(srgb: str) -> Floats:
    """sRGB, 0 to 1, of a checked ``#rrggbb``."""
    return np.array([int(srgb[i : i + 2], 16) for i in (1, 3, 5)]) / 255


def xyz1_from_hex(srgb: str) -> Floats:
    """XYZ, white Y = 1, of a checked ``#rrggbb``."""
    return xyz1_from_linear(linear_from_srgb1(srgb1_from_hex(srgb)))


@dataclass(frozen=True)
class Colour:
    """One colour, as everything that reports a colour gives it.

    Parameters
    ----------
    xyz1 : tuple of float
        Tristimulus values, D65 and 2 degree observer, Y of white = 1.

    Examples
    --------
    >>> Colour.from_hex("#14409a").as_json()
    {'lab': [29.78, 21.36, -53.11], 'srgb': '#14409a'}
    """

    xyz1: tuple[float, float, float]

    @classmethod
    def from_xyz1(cls, xyz1: ArrayLike) -> "Colour":
        """Colour of three tristimulus values in any sequence."""
        x, y, z = (float(value) for value in np.asarray(xyz1))
        return cls((x, y, z))

    @classmethod
    def from_lab(cls, lab: ArrayLike) -> "Colour":
        """Colour of three CIELAB values in any sequence."""
        return cls.from_xyz1(xyz1_from_lab(lab))

    @classmethod
    def from_hex(cls, srgb: str) -> "Colour":
        """Colour of a checked ``#rrggbb``."""
        return cls.from_xyz1(xyz1_from_hex(srgb))

    @property
    def lab(self) -> tuple[float, float, float]:
        """CIELAB values, never clipped."""
        lightness, a, b = (float(value) for value in lab_from_xyz1(self.xyz1))
        return lightness, a, b

    @property
    def srgb(self) -> str:
        """Screen colour ``#rrggbb``.

        Where a screen cannot show the colour, each channel of its linear light is clipped to 0..1.
        """
        linear = np.clip(linear_from_xyz1(self.xyz1), 0, 1)
        red, green, blue = np.rint(srgb1_from_linear(linear) * 255).astype(int)
        return f"#{red:02x}{green:02x}{blue:02x}"

    def as_json(self) -> dict[str, Any]:
        """``{"lab": [L, a, b], "srgb": "#rrggbb"}``, Lab to two decimals."""
        return {"lab": [round(value, 2) + 0.0 for value in self.lab], "srgb": self.srgb}
