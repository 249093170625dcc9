"""Read a 24-patch colour chart in a photo: its patches from four corners, and the camera from the patches.

Corners are the outer ones of the chart's four corner patches, so that its frame does not matter. They may
start at any of the four: which patch is where follows from the colours.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .. import checks
from ..colour.spaces import linear_from_srgb1, srgb1_from_linear
from ..units import percent
from .chart_fit import ChartFit, fit_chart, nearness
from .falloff import Samples, fall_at, fit_fall, relative
from .rectify import CLIPPED, Floats, Photo, check_corners, project, straighten

Corners = npt.ArrayLike  # four points x, y in photo pixels, clockwise

ACROSS, DOWN = 6, 4  # patches
GAP = 0.15  # between patches, over their side; charts of several sizes have 0.11 to 0.19
PATCH_PX = 24  # of the straightened chart
USED = slice(PATCH_PX // 4, -(PATCH_PX // 4))  # the middle half of a patch, clear of corners a little off
MIN_CHART_AREA = 0.002  # of the photo's area
MIN_PATCH_PX = 5.0  # of the photo as it is read
MAX_CLIPPED = 0.02  # of a patch's pixels, beyond which it is left aside
MAX_BURNT = 4  # patches left aside
MIN_WHITE = 0.05  # of the camera's range, of the white patch
MAX_NEARNESS = 22.0  # mean dE00; photos in lamplight reach 15, other things and wrong turns 25 or more
MAX_WITHIN = 0.06  # of the patches' variance, that within patches; well-set corners reach 0.01
PATCH_SPREAD = 0.04  # of a patch's log luminance as read, which shows how light falls off

_FULL = float(linear_from_srgb1(CLIPPED / 255))
_SET = "set them on the outer corners of its four corner patches, or leave the chart out"


@dataclass(frozen=True, eq=False)
class Patches:
    """A chart's patches as photographed, row by row.

    Attributes
    ----------
    linear_rgb : ndarray, shape (24, 3)
        Means of their middles.
    at : ndarray, shape (24, 2)
        Their middles, from the photo's middle, in half diagonals.
    used : ndarray of bool, shape (24,)
        Which of them are not burnt out.
    within : float
        Part of their variance that is within patches, 0-1.
    """

    linear_rgb: Floats
    at: Floats
    used: npt.NDArray[np.bool_]
    within: float


def read_chart(photo: Photo, chart_px: Corners, sheet: Samples | None) -> tuple[ChartFit, Floats]:
    """Fit the camera to a chart in the photo.

    InputError where the corners are not those of such a chart, or it is mirrored, too small, burnt out or
    too dark.

    Parameters
    ----------
    chart_px : array_like, shape (4, 2)
        Outer corners of its corner patches, clockwise from any of them, in photo pixels.
    sheet : Samples or None
        Blocks of the sheet, which show how light falls off.

    Returns
    -------
    camera : ChartFit
        What it makes of colours.
    fall : ndarray, shape (3,)
        How light falls off.
    """
    patches = _patches(photo, check_corners(chart_px, photo.size_px, "chart", MIN_CHART_AREA))
    even = fit_chart(patches.linear_rgb, patches.used)
    brightness = even.log_brightness(patches.linear_rgb)
    fall, _ = fit_fall(Samples(patches.at[patches.used], brightness[patches.used], PATCH_SPREAD), sheet)
    return fit_chart(patches.linear_rgb, patches.used, fall_at(fall, patches.at)), fall


def _patches(photo: Photo, corners: Floats) -> Patches:
    """Read the patches in the turn that shows the chart's colours, checked."""
    turns = [_turned(photo, np.roll(corners, -turn, axis=0)) for turn in range(4)]
    off = [nearness(turn.linear_rgb) for turn in turns]
    found = turns[int(np.argmin(off))]
    burnt = int((~found.used).sum())
    if burnt > MAX_BURNT:
        rule = f"at most {MAX_BURNT} patches of the chart may be burnt out"
        checks.refuse(rule, burnt, "expose less, or tilt the chart so that no lamp shines in it")
    white = float(found.linear_rgb.max())
    if white < MIN_WHITE:
        rule = f"the chart's brightest patch must reach {percent(MIN_WHITE)} of the camera's range"
        checks.refuse(rule, checks.Raw(f"{100 * white:.1f} %"), "take the photo in brighter light")
    mirrored = min(nearness(_mirrored(turn.linear_rgb)) for turn in turns)
    if mirrored < min(MAX_NEARNESS, *off):
        seen = checks.Raw("its mirror image")
        checks.refuse("the chart must not be mirrored", seen, "use the photo as it was taken")
    if min(off) > MAX_NEARNESS:
        seen = checks.Raw(f"patches ΔE00 {min(off):.0f} from it")
        checks.refuse("the chart's corners must show the colours of a 24-patch colour chart", seen, _SET)
    if found.within > MAX_WITHIN:
        seen = checks.Raw(f"{percent(found.within)} of their differences within patches")
        checks.refuse("the chart's patches must each be even", seen, _SET)
    return found


def _mirrored(patches: Floats) -> Floats:
    return patches.reshape(DOWN, ACROSS, 3)[:, ::-1].reshape(-1, 3)


def _turned(photo: Photo, corners: Floats) -> Patches:
    """Read the patches with the first of them at the first corner."""
    step = PATCH_PX * (1 + GAP)
    size = (PATCH_PX + (ACROSS - 1) * step, PATCH_PX + (DOWN - 1) * step)
    straight = straighten(photo, corners, size, 1.0)
    patch_px = PATCH_PX / straight.blur_mm
    if patch_px < MIN_PATCH_PX:
        rule = f"a patch of the chart must be at least {MIN_PATCH_PX * photo.shrunk:.0f} pixels wide"
        checks.refuse(rule, checks.Raw(f"{patch_px * photo.shrunk:.0f}"), "photograph it from closer")
    starts = [(round(row * step), round(column * step)) for row in range(DOWN) for column in range(ACROSS)]
    middles = np.stack(
        [straight.linear_rgb[top:, left:][:PATCH_PX, :PATCH_PX][USED, USED] for top, left in starts]
    ).reshape(ACROSS * DOWN, -1, 3)
    at = np.array([[left, top] for top, left in starts]) + PATCH_PX / 2
    clipped = (middles.max(axis=-1) > _FULL).mean(axis=1)
    return Patches(
        middles.mean(axis=1, dtype=np.float64),
        relative(project(straight.to_photo, at) - 0.5, photo.clipped.shape),
        clipped <= MAX_CLIPPED,
        _within(middles),
    )


def _within(middles: npt.NDArray[np.float32]) -> float:
    """Return the part of the variance of some patches' signal, shape (24, pixels, 3), that is within them."""
    signal = srgb1_from_linear(np.clip(middles, 0, 1))
    within = float(signal.var(axis=1).mean())
    return within / max(within + float(signal.mean(axis=1).var(axis=0).mean()), 1e-9)
