"""Read a flake's colour from a photo of flakes on white paper, or beside a colour chart."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .. import checks
from ..colour.spaces import Colour, xyz1_from_linear
from ..units import percent
from .colour_chart import Corners, read_chart
from .falloff import fall_at, relative
from .light import WHITE_BAND, Box, WhiteBalance, check_one_white, given_paper
from .rectify import Photo, develop
from .white_paper import bright_even, small_linear

# Slightly shaded paper still passes; dark benches, wood and cloth do not.
MIN_OF_BRIGHTEST, BRIGHTEST_PERCENT = 0.4, 98
_SHOW_PAPER = "set the white on bare paper in the same light"
_SAME_LIGHT = "lay flakes and chart side by side in the same light"


@dataclass(frozen=True)
class FlakeColour:
    """A flake's colour as read from a photo, and how far it may be off, nine times in ten."""

    colour: Colour
    band90_delta_e00: float


def flake_colour(
    srgb8: npt.NDArray[np.uint8],
    flake_px: tuple[float, float],
    white_px: Box | None = None,
    chart_px: Corners | None = None,
) -> FlakeColour:
    """Return the colour of the flake at a point of a photo.

    InputError where the point is outside the photo, the box is not white, the corners are not a chart's, or
    no paper is found.

    Parameters
    ----------
    srgb8 : ndarray of uint8, shape (rows, columns, 3)
        Flakes on white paper, or beside a chart.
    flake_px : tuple of float
        A point on a flake, x and y in photo pixels.
    white_px : tuple of float, optional
        A box on bare paper: x, y, width, height; the brightest even region where None.
    chart_px : array_like, shape (4, 2), optional
        Corners of a colour chart, which then serves instead of paper.

    Returns
    -------
    FlakeColour
        Median of a small square around the point, adapted to D65.
    """
    check_one_white(white_px, chart_px)
    photo = develop(srgb8)
    wide, high = photo.size_px
    inside = "click on a flake in the photo"
    x = checks.number("x of the flake", flake_px[0], 0, wide - 1, inside)
    y = checks.number("y of the flake", flake_px[1], 0, high - 1, inside)
    row, column = int(y // photo.shrunk), int(x // photo.shrunk)
    half_side = max(1, round(0.004 * max(photo.clipped.shape)))
    around = (
        slice(max(row - half_side, 0), row + half_side + 1),
        slice(max(column - half_side, 0), column + half_side + 1),
    )
    flake = np.median(photo.linear_rgb[around].reshape(-1, 3), axis=0)
    if chart_px is not None:
        camera, fall = read_chart(photo, chart_px, None)
        at = relative(np.array([column, row], np.float64), photo.clipped.shape)
        return _checked(camera.xyz1(flake, fall_at(fall, at)), camera.band90_delta_e00, _SAME_LIGHT)
    balance = WhiteBalance(_white(photo, white_px), WHITE_BAND)
    return _checked(balance.xyz1(flake), balance.band90_delta_e00, f"the white is not paper: {_SHOW_PAPER}")


def _checked(xyz1: npt.NDArray[np.float64], band: float, remedy: str) -> FlakeColour:
    """Refuse a colour that no flake has."""
    found = Colour.from_xyz1(xyz1)
    if found.lab[0] > 100:
        rule = "a flake must not be brighter than a perfect white, L* 100"
        checks.refuse(rule, checks.Raw(f"L* {found.lab[0]:.0f}"), remedy)
    return FlakeColour(found, band)


def _white(photo: Photo, white_px: Box | None) -> npt.NDArray[np.float64]:
    """Return linear light of the paper in the box, or else of the brightest even region."""
    if white_px is not None:
        white, _, luminance = given_paper(photo, white_px, 0.0)
        brightest = np.percentile(xyz1_from_linear(photo.linear_rgb[::4, ::4])[..., 1], BRIGHTEST_PERCENT)
        part = float(np.median(luminance)) / float(brightest)
        if part < MIN_OF_BRIGHTEST:
            rule = (
                f"the white paper must be {percent(MIN_OF_BRIGHTEST)} or more as bright as the brightest part"
            )
            checks.refuse(rule, checks.Raw(f"a patch {percent(part)} as bright"), _SHOW_PAPER)
        return np.asarray(np.median(white, axis=0))
    linear, _ = small_linear(photo)
    paper = bright_even(linear)
    if not paper.any():
        rule = "the flakes must lie on white paper"
        checks.refuse(rule, checks.Raw("no bright, even region"), f"{_SHOW_PAPER}, or take another photo")
    return np.asarray(np.median(linear[paper], axis=0))
