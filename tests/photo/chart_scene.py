"""Simulated photos of a colour chart beside plain colours: real cameras, lamps and reflectances.

Spectral sensitivities of two cameras, lamps and chart reflectances are those of colour-science 0.4.7 (the
cameras measured by the National Physical Laboratory; the chart that of ISO 17321-1, a single one, measured
apart from those that the program's table averages); the colours are the measured paints of
``tests/reference/mixtures``. Nothing of the program's fit is used: the cameras' own colour matrices are set
on random smooth reflectances.
"""

import warnings
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter

with warnings.catch_warnings():  # it announces that it can draw no plots
    warnings.simplefilter("ignore")
    import colour

from blendlab.colour.spaces import WHITE_XYZ1, linear_from_xyz1, srgb1_from_linear
from tests.colour import measured_mixtures

Floats = npt.NDArray[np.float64]

NM = np.arange(400.0, 701.0, 5.0)
CHART = "ISO 17321-1"
CAMERAS = tuple(name for name in colour.MSDS_CAMERA_SENSITIVITIES if "NPL" in name)
LAMPS = ("D65", "D50", "A", "FL2", "FL11", "LED-B3", "LED-V1")


def _columns(table: object) -> Floats:
    """A spectrum or three at `NM`."""
    values = np.asarray(table.values, float).reshape(len(table.wavelengths), -1)  # type: ignore[attr-defined]
    return np.stack([np.interp(NM, table.wavelengths, column) for column in values.T], -1)  # type: ignore[attr-defined]


@cache
def chart() -> Floats:
    """Reflectances of the chart's patches, shape (24, nm)."""
    return np.stack([_columns(patch)[:, 0] for patch in colour.SDS_COLOURCHECKERS[CHART].values()])


@cache
def paints() -> Floats:
    """Reflectances of the measured paints and their mixtures, shape (41, nm)."""
    over_white = [
        row for (_, backing), row in measured_mixtures.readings().items() if backing == "film over white"
    ]
    return np.stack([np.interp(NM, np.arange(400, 701, 10), np.clip(row, 0, 1)) for row in over_white])


def xyz1_in_daylight(reflectance: Floats) -> Floats:
    """The truth: XYZ under D65, Y of white = 1."""
    observer = _columns(colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"])
    weights = observer * _columns(colour.SDS_ILLUMINANTS["D65"])
    return reflectance @ (weights * (WHITE_XYZ1 / weights.sum(axis=0)))


@cache
def _own_matrix(camera: str) -> Floats:
    """A camera's matrix from its balanced channels to linear sRGB, set on smooth spectra; keeps white."""
    rng = np.random.default_rng(5)
    alike = np.exp(-0.5 * ((NM[:, None] - NM) / 45) ** 2) + 1e-8 * np.eye(len(NM))
    waves = rng.standard_normal((300, len(NM))) @ np.linalg.cholesky(alike).T
    smooth = 1 / (1 + np.exp(-(1.6 * waves + rng.normal(-0.6, 1, (300, 1)))))
    channels = _columns(colour.MSDS_CAMERA_SENSITIVITIES[camera]) * _columns(colour.SDS_ILLUMINANTS["D55"])
    seen, wanted = smooth @ (channels / channels.sum(axis=0)), linear_from_xyz1(xyz1_in_daylight(smooth))
    weight = 1 / np.maximum(wanted.mean(axis=1, keepdims=True), 0.05)
    rows = np.concatenate([seen * weight, 50 * np.ones((1, 3))])
    return np.linalg.lstsq(rows, np.concatenate([wanted * weight, 50 * np.ones((1, 3))]), rcond=None)[0]


@dataclass(frozen=True)
class Shot:
    """How a photo is taken: camera, lamp, and what the camera's own processing does to it."""

    camera: str
    lamp: str
    cast: tuple[float, float, float] = (1.0, 1.0, 1.0)  # what its white balance misses
    exposure: float = 0.75
    saturation: float = 1.0
    contrast: float = 0.0  # of its tone curve
    noise: float = 0.002

    def linear(self, reflectance: Floats) -> Floats:
        """Linear sRGB of reflectances, as exposed, before tone curve and clipping."""
        channels = _columns(colour.MSDS_CAMERA_SENSITIVITIES[self.camera]) * _columns(
            colour.SDS_ILLUMINANTS[self.lamp]
        )
        balanced = reflectance @ (channels / channels.sum(axis=0)) * self.cast * self.exposure
        linear = balanced @ _own_matrix(self.camera)
        grey = linear.mean(axis=-1, keepdims=True)
        return grey + self.saturation * (linear - grey)

    def developed(self, linear: Floats, rng: np.random.Generator) -> npt.NDArray[np.uint8]:
        """The file's pixels: tone curve, noise and eight bits."""
        signal = srgb1_from_linear(np.clip(linear, 0, 1))
        signal = signal - self.contrast * np.sin(2 * np.pi * signal) / (2 * np.pi)
        noisy = signal + rng.normal(0, self.noise, signal.shape)
        return np.rint(255 * np.clip(noisy, 0, 1)).astype(np.uint8)


def draw_shot(rng: np.random.Generator, camera: str, lamp: str) -> Shot:
    """Draw what a phone does: its balance is off, colours and contrast are raised."""
    red, blue = np.exp(rng.normal(0, (0.06, 0.08)))
    return Shot(
        camera,
        lamp,
        (float(red), 1.0, float(blue)),
        exposure=0.75 * 2 ** float(rng.uniform(-0.7, 0.2)),
        saturation=float(rng.uniform(1, 1.15)),
        contrast=float(rng.uniform(0, 0.35)),
        noise=float(rng.uniform(0.001, 0.01)),
    )


CORNERS = np.array([[60.0, 50.0], [330.0, 62.0], [322.0, 240.0], [52.0, 232.0]])  # of the chart in `picture`
ROWS, COLUMNS = 420, 640
SQUARES = tuple((380 + 52 * (n % 5), 40 + 42 * (n // 5), 30) for n in range(45))  # x, y and side of colours


def picture(
    shot: Shot,
    colours: Floats,
    rng: np.random.Generator,
    fall: tuple[float, float, float] = (0.0, 0.0, 0.0),
    mirrored: bool = False,
) -> npt.NDArray[np.uint8]:
    """A photo: the chart in its black frame, white paper, and squares of colours on a grey bench.

    Light falls off as `photo/falloff.py` has it; the picture is blurred by a pixel.
    """
    linear = np.empty((ROWS, COLUMNS, 3))
    linear[:] = shot.linear(np.full(len(NM), 0.22))
    y, x = np.indices((ROWS, COLUMNS)) + 0.5
    column, row = _on_chart(x, y)
    near = (column > -0.4) & (column < 7.15) & (row > -0.4) & (row < 4.85)
    linear[near] = shot.linear(np.full(len(NM), 0.03))
    i, j = np.floor(column / 1.15).astype(int), np.floor(row / 1.15).astype(int)
    within = (i >= 0) & (i < 6) & (j >= 0) & (j < 4) & (column % 1.15 < 1) & (row % 1.15 < 1)
    patches = shot.linear(chart())
    linear[within] = patches[(6 * j + (5 - i if mirrored else i))[within]]
    linear[300:400, 40:240] = shot.linear(np.full(len(NM), 0.86))
    for (left, top, side), own in zip(SQUARES, shot.linear(colours), strict=False):
        linear[top : top + side, left : left + side] = own
    half = np.hypot(ROWS, COLUMNS) / 2
    u, v = (x - COLUMNS / 2) / half, (y - ROWS / 2) / half
    linear = linear * np.exp(fall[0] * u + fall[1] * v + fall[2] * (u * u + v * v))[..., None]
    return shot.developed(gaussian_filter(np.maximum(linear, 0), (1, 1, 0)), rng)


def _on_chart(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Position on the chart in patches, from the homography through its corners, eight equations."""
    square = np.array([[0.0, 0.0], [6.75, 0.0], [6.75, 4.45], [0.0, 4.45]])
    rows = []
    for (u, v), (a, b) in zip(CORNERS, square, strict=True):
        rows += [[u, v, 1, 0, 0, 0, -a * u, -a * v], [0, 0, 0, u, v, 1, -b * u, -b * v]]
    h = np.append(np.linalg.solve(np.array(rows), square.ravel()), 1.0).reshape(3, 3)
    at = np.stack([x, y, np.ones_like(x)], -1) @ h.T
    return at[..., 0] / at[..., 2], at[..., 1] / at[..., 2]
