"""Estimate the light of a photo: its colour and level from white paper or a chart, and how it falls off.

White paper shows the light alone. Colours are adapted to D65 by scaling cone responses (von Kries 1902) with
the sharpened Bradford matrix (Lam 1985, as in CIE 160:2004, from memory), which makes the paper neutral. A
chart also shows the camera, which is then fitted whole.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from .. import checks
from ..colour.spaces import WHITE_XYZ1, srgb1_from_linear, xyz1_from_linear
from ..tables import read_toml
from .chart_fit import ChartFit
from .colour_chart import Corners, read_chart
from .falloff import FAINTEST, Samples, fall_at, fit_fall, of_sheet, relative
from .light_prior import oddness
from .rectify import Floats, Photo, Singles, Straight, homography, project
from .white_paper import MAX_CAST, bright_even, small_linear

Box = tuple[float, float, float, float]  # x, y, width, height in photo pixels

_LIGHT = read_toml("light/light.toml")
PAPER_Y: float = _LIGHT["paper"]["usual"]
FULL_WHITE = 0.55  # of the camera's range; the level of white that is assumed without paper
MIN_GIVEN_PAPER = 0.02  # of the camera's range; noise dominates below
MIN_FOUND_PAPER = 0.15  # of the camera's range; paper that was not pointed out must be this bright
MAX_UNEVENNESS = 0.12  # standard deviation of luminance on a white patch, over its mean
MAX_SHEET_Y = 1.4  # luminance of the sheet's bright parts over the paper's, in uneven light
PAPER_SPREAD = 0.02  # of log luminance, of one sample of paper
RIM = 10  # pixels of the small photo along its edges, which show the ground
WHITE_BAND = 13.0  # dE00 that nine in ten paints were off by white alone, in tests/bench/chart_proof.py

_BRADFORD = np.array([_LIGHT["cones"][cone] for cone in ("long", "middle", "short")])


@dataclass(frozen=True, eq=False)
class WhiteBalance:
    """A camera of which only the white is known.

    Attributes
    ----------
    paper_linear_rgb : ndarray, shape (3,)
        Linear light of white paper in the middle of the photo.
    band90_delta_e00 : float
        How far a colour read may be off, nine times in ten, where the white is right.
    """

    paper_linear_rgb: Floats
    band90_delta_e00: float

    def xyz1(self, linear_rgb: npt.ArrayLike, fall: npt.ArrayLike = 1.0) -> Floats:
        """Return tristimulus values under D65; `fall` is the light there, over that in the photo's middle."""
        white_xyz1 = xyz1_from_linear(self.paper_linear_rgb) / PAPER_Y
        return adapt(xyz1_from_linear(linear_rgb) / np.asarray(fall)[..., None], white_xyz1)


@dataclass(frozen=True, eq=False)
class Light:
    """Light over a photo.

    Attributes
    ----------
    fall : ndarray, shape (3,)
        g, h and k of the log luminance, per half diagonal.
    paper : str
        Where the white comes from: paper ``"given"`` or ``"found"``, a ``"chart"``, or ``"none"``.
    oddness : float
        How unusual it is, in squared standard deviations of exposure and cast, where paper was found.
    ground_xyz1 : ndarray, shape (3,), or None
        What the sheet lies on, where nothing else shows the light.
    """

    camera: ChartFit | WhiteBalance
    fall: Floats
    paper: str
    oddness: float = 0.0
    ground_xyz1: Floats | None = None


def adapt(xyz1: npt.ArrayLike, white_xyz1: npt.ArrayLike) -> Floats:
    """Adapt colours seen in one light to D65.

    Parameters
    ----------
    xyz1 : array_like, shape (..., 3)
        Tristimulus values in the light of the photo.
    white_xyz1 : array_like, shape (3,)
        Those of a perfect white in that light.

    Returns
    -------
    ndarray of float64, shape (..., 3)
        Tristimulus values under D65, Y of white = 1.
    """
    gains = (_BRADFORD @ WHITE_XYZ1) / (_BRADFORD @ np.asarray(white_xyz1, np.float64))
    matrix = np.linalg.inv(_BRADFORD) @ np.diag(gains) @ _BRADFORD
    adapted: Floats = np.asarray(xyz1, np.float64) @ matrix.T
    return adapted


def read_light(
    photo: Photo,
    corners_px: Floats,
    white_px: Box | None = None,
    chart_px: Corners | None = None,
    look_for_paper: bool = True,
) -> Light:
    """Estimate the light a sheet was photographed in.

    InputError where the box is not on white paper, or the corners are not a chart's.

    Parameters
    ----------
    corners_px : ndarray, shape (4, 2)
        The sheet's corners, checked.
    white_px : tuple of float, optional
        A box on white paper: x, y, width, height in photo pixels.
    chart_px : array_like, shape (4, 2), optional
        Corners of a colour chart, which then serves instead of paper.
    look_for_paper : bool
        Whether to look for paper where neither is given.

    Returns
    -------
    Light
        Without paper or chart, neutral light at a usual exposure.
    """
    check_one_white(white_px, chart_px)
    linear, step = small_linear(photo)
    corners = corners_px / (photo.shrunk * step) - 0.5
    sheet = of_sheet(linear, corners)
    if chart_px is not None:
        camera, fall = read_chart(photo, chart_px, sheet)
        return Light(camera, fall, "chart")
    if white_px is not None:
        white, paper_at, paper_y = given_paper(photo, white_px, float(np.exp(sheet.log_y.max())))
        paper_at = paper_at / (step * photo.shrunk) - 0.5
    else:
        mask = _found_paper(linear, corners) if look_for_paper else np.zeros(linear.shape[:2], bool)
        paper_at = np.argwhere(mask)[:, ::-1].astype(np.float64)
        white = linear[mask]
        paper_y = xyz1_from_linear(white)[..., 1]
    thin = slice(None, None, max(1, len(paper_at) // 400))
    at, log_y = relative(paper_at[thin], linear.shape), np.log(np.maximum(paper_y[thin], FAINTEST))
    spread = PAPER_SPREAD * max(1.0, float(np.sqrt(len(at) / 60)))  # neighbours are correlated
    fall, at_middle = fit_fall(Samples(at, log_y, spread), sheet)
    if len(paper_at) == 0:
        usual = WhiteBalance(np.full(3, FULL_WHITE * PAPER_Y), WHITE_BAND)
        return Light(usual, fall, "none", ground_xyz1=usual.xyz1(_ground(linear, fall)))
    hue = np.median(white / np.maximum(paper_y, FAINTEST)[:, None], axis=0)
    paper = hue * np.exp(at_middle)
    odd = oddness(np.log(xyz1_from_linear(paper) / (FULL_WHITE * PAPER_Y * WHITE_XYZ1)))
    where = "found" if white_px is None else "given"
    return Light(WhiteBalance(paper, WHITE_BAND), fall, where, odd)


def _ground(linear: Floats, fall: Floats) -> Floats:
    """Return the median light along the photo's rim, as it would be in the middle."""
    edge = np.ones(linear.shape[:2], bool)
    edge[RIM:-RIM, RIM:-RIM] = False
    at = np.argwhere(edge)[:, ::-1].astype(np.float64)
    return np.asarray(np.median(linear[edge] / fall_at(fall, relative(at, linear.shape))[:, None], axis=0))


def check_one_white(white_px: Box | None, chart_px: Corners | None) -> None:
    """Refuse a white patch beside a chart."""
    if white_px is not None and chart_px is not None:
        rule = "either white paper or a chart must show the light"
        checks.refuse(rule, checks.Raw("both"), "leave out the paper: the chart shows more")


def given_paper(photo: Photo, white_px: Box, sheet_y: float) -> tuple[Floats, Floats, Floats]:
    """Return linear light, positions and luminance of the pixels in the maker's box, checked to be white."""
    wide, high = photo.size_px
    x, y, width, height = (
        checks.number(f"{name} of the white patch", value, 0, max(wide, high), _BOX)
        for name, value in zip(("x", "y", "width", "height"), white_px, strict=True)
    )
    left, top = int(x // photo.shrunk), int(y // photo.shrunk)
    right, bottom = int((x + width) // photo.shrunk), int((y + height) // photo.shrunk)
    if right - left < 3 or bottom - top < 3 or x + width > wide or y + height > high:
        rule = f"the white patch must be a box in the photo, at least {3 * photo.shrunk} pixels a side"
        checks.refuse(rule, f"{x:g},{y:g},{width:g},{height:g}", _BOX)
    white = photo.linear_rgb[top:bottom, left:right].reshape(-1, 3).astype(np.float64)
    luminance = xyz1_from_linear(white)[:, 1]
    mean = white.mean(axis=0)
    shown = "#" + "".join(f"{round(255 * channel):02x}" for channel in srgb1_from_linear(np.clip(mean, 0, 1)))
    if photo.clipped[top:bottom, left:right].mean() > 0.2:
        checks.refuse(
            "the white patch must not be burnt out", shown, "expose less, or choose paper in softer light"
        )
    if luminance.std() > MAX_UNEVENNESS * luminance.mean():
        checks.refuse("the white patch must be even", shown, "choose a box that lies on bare paper only")
    if mean.max() > MAX_CAST * max(mean.min(), 1e-4) or luminance.mean() < MIN_GIVEN_PAPER:
        checks.refuse("the white patch must be white", shown, "choose a box on white paper, or leave it out")
    if sheet_y > MAX_SHEET_Y * luminance.mean():
        rule = "the white patch must be as bright as anything in the sheet"
        checks.refuse(rule, shown, "choose a box on white paper beside the sheet, in the same light")
    y_at, x_at = np.mgrid[top:bottom, left:right].reshape(2, -1)
    return white, (np.stack([x_at, y_at], axis=-1) + 0.5) * photo.shrunk, luminance


_BOX = "set it on bare white paper, inside the photo"


def _found_paper(linear: Floats, corners: Floats) -> npt.NDArray[np.bool_]:
    """Mark unclipped white paper outside the sheet, away from the paper's own rim."""
    rows, columns = linear.shape[:2]
    y, x = np.indices((rows, columns))
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    on_sheet = project(homography(corners, square), np.stack([x, y], axis=-1).astype(np.float64))
    outside = ((on_sheet < -0.03) | (on_sheet > 1.03)).any(axis=-1)
    luminance = xyz1_from_linear(linear)[..., 1]
    mask = bright_even(linear, outside & (linear.max(axis=-1) < 0.98) & (luminance > MIN_FOUND_PAPER))
    return np.asarray(ndimage.binary_erosion(mask, iterations=2))


def corrected(straight: Straight, light: Light, photo: Photo) -> Singles:
    """Return the sheet's face in even daylight: XYZ, shape (rows, columns, 3), D65, Y of white = 1."""
    rows, columns = straight.clipped.shape
    x, y = np.meshgrid(np.arange(columns) + 0.5, np.arange(rows) + 0.5)
    at = relative(project(straight.to_photo, np.stack([x, y], axis=-1)) - 0.5, photo.clipped.shape)
    return light.camera.xyz1(straight.linear_rgb, fall_at(light.fall, at)).astype(np.float32)
