"""Estimate the light of a photo: its colour and level from white paper, and how it falls off.

The falloff is modelled as exp(g·x + h·y + k·r²): a lamp to one side and a lens that darkens the corners.
Paper shows it directly, the sheet less surely through its marbling, and a prior assumes a mild lens. One
small least-squares problem weighs the three.

Colours are adapted to D65 by scaling cone responses (von Kries 1902) with the sharpened Bradford matrix
(Lam 1985, as in CIE 160:2004, from memory), which makes the paper neutral.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from .. import checks
from ..colour.spaces import WHITE_XYZ1, srgb1_from_linear, xyz1_from_linear
from ..tables import read_toml
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
BLOCKS = 6  # a side, over which the sheet is averaged to estimate the falloff

# Prior of the falloff: per half diagonal for the slopes, per its square for the lens.
SLOPE_SPREAD, LENS, LENS_SPREAD = 0.12, -0.12, 0.12
PAPER_SPREAD = 0.02  # of log luminance, of one sample of paper

_BRADFORD = np.array([_LIGHT["cones"][cone] for cone in ("long", "middle", "short")])


@dataclass(frozen=True, eq=False)
class Light:
    """Light over a photo.

    Attributes
    ----------
    paper_linear_rgb : ndarray, shape (3,)
        Linear light of white paper in the middle of the photo.
    fall : ndarray, shape (3,)
        g, h and k of the log luminance, per half diagonal.
    paper : str
        Where the white comes from: ``"given"``, ``"found"`` or ``"none"``.
    """

    paper_linear_rgb: Floats
    fall: Floats
    paper: str


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


def read_light(photo: Photo, corners_px: Floats, white_px: Box | None) -> Light:
    """Estimate the light a sheet was photographed in.

    InputError where the box is not on white paper.

    Parameters
    ----------
    corners_px : ndarray, shape (4, 2)
        The sheet's corners, checked.
    white_px : tuple of float, optional
        A box on white paper: x, y, width, height in photo pixels. Paper is looked for if None.

    Returns
    -------
    Light
        Without paper, neutral light at a usual exposure.
    """
    linear, step = small_linear(photo)
    corners = corners_px / (photo.shrunk * step) - 0.5
    luminance = np.maximum(xyz1_from_linear(linear)[..., 1], 1e-5)
    blocks, block_at, spread = _sheet_blocks(luminance, corners)
    if white_px is not None:
        white, paper_at, paper_y = given_paper(photo, white_px, float(np.exp(blocks.max())))
        paper_at = paper_at / (step * photo.shrunk) - 0.5
    else:
        mask = _found_paper(linear, corners)
        paper_at = np.argwhere(mask)[:, ::-1].astype(np.float64)
        paper_y = luminance[mask]
        white = linear[mask]
    thin = slice(None, None, max(1, len(paper_at) // 400))
    fall, at_middle = _fall(
        _relative(paper_at[thin], luminance.shape),
        np.log(np.maximum(paper_y[thin], 1e-5)),
        _relative(block_at, luminance.shape),
        blocks,
        spread,
    )
    if len(paper_at) == 0:
        return Light(np.full(3, FULL_WHITE * PAPER_Y), fall, "none")
    hue = np.median(white / np.maximum(paper_y, 1e-5)[:, None], axis=0)
    return Light(hue * np.exp(at_middle), fall, "found" if white_px is None else "given")


def _relative(at: Floats, shape: tuple[int, ...]) -> Floats:
    """Convert positions to half diagonals from the picture's middle."""
    rows, columns = shape
    relative: Floats = (at - np.array([columns - 1, rows - 1]) / 2) / (np.hypot(rows, columns) / 2)
    return relative


def _sheet_blocks(luminance: Floats, corners: Floats) -> tuple[Floats, Floats, float]:
    """Return log mean luminance of the sheet's blocks, their centres, and the spread due to marbling."""
    grid = (np.arange(BLOCKS * 8) + 0.5) / 8
    square = np.array([[0.0, 0.0], [BLOCKS, 0.0], [BLOCKS, BLOCKS], [0.0, BLOCKS]])
    to_photo = homography(square, corners)
    x, y = np.meshgrid(grid, grid)
    at = project(to_photo, np.stack([x, y], axis=-1))
    seen = ndimage.map_coordinates(luminance, [at[..., 1], at[..., 0]], order=1, mode="nearest")
    blocks = np.log(seen.reshape(BLOCKS, 8, BLOCKS, 8).mean(axis=(1, 3)).ravel())
    x, y = np.meshgrid(np.arange(BLOCKS) + 0.5, np.arange(BLOCKS) + 0.5)
    middles = project(to_photo, np.stack([x, y], axis=-1)).reshape(-1, 2)
    return blocks, middles, max(0.03, 1.5 * float(blocks.std()))


def _fall(
    paper_at: Floats, paper_log: Floats, block_at: Floats, block_log: Floats, spread: float
) -> tuple[Floats, float]:
    """Solve for the falloff and the paper's log luminance in the middle, from paper, sheet and prior."""

    def rows(at: Floats, own: int) -> Floats:
        x, y = at.T
        level = np.zeros((len(at), 2))
        level[:, own] = 1.0
        return np.concatenate([level, np.stack([x, y, x * x + y * y], axis=-1)], axis=1)

    prior = np.concatenate([np.zeros((3, 2)), np.eye(3)], axis=1)
    expected = np.array([0.0, 0.0, LENS])
    trust = 1 / np.array([SLOPE_SPREAD, SLOPE_SPREAD, LENS_SPREAD])
    each = 1 / (PAPER_SPREAD * max(1.0, np.sqrt(len(paper_at) / 60)))  # neighbours are correlated
    faint = np.concatenate([1e-3 * np.eye(2), np.zeros((2, 3))], axis=1)  # for a level without samples
    matrix = np.concatenate(
        [rows(paper_at, 0) * each, rows(block_at, 1) / spread, prior * trust[:, None], faint]
    )
    right = np.concatenate([paper_log * each, block_log / spread, expected * trust, [0.0, 0.0]])
    found = np.linalg.lstsq(matrix, right, rcond=None)[0]
    return found[2:], float(found[0])


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
    at = _relative(project(straight.to_photo, np.stack([x, y], axis=-1)) - 0.5, photo.clipped.shape)
    u, v = at[..., 0], at[..., 1]
    fall = np.exp(light.fall[0] * u + light.fall[1] * v + light.fall[2] * (u * u + v * v))
    white_xyz1 = xyz1_from_linear(light.paper_linear_rgb) / PAPER_Y
    seen = xyz1_from_linear(straight.linear_rgb / fall[..., None])
    return adapt(seen, white_xyz1).astype(np.float32)
