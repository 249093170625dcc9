"""Fit how a camera turned colours into numbers, from the patches of a colour chart.

A pixel goes through a tone curve (a power, and a sine that undoes a photo's contrast), a gain for each
channel, and a root-polynomial of degree 1 or 2 (Finlayson, Mackiewicz & Hurlbert 2015, IEEE Trans. Image
Process. 24:1460), which keeps colours alike at any exposure. All are fitted together, so that the patches
miss their references by as little as possible in CIE94 differences (CIE 116-1995), under priors that hold
the fit near a white balance. The form is chosen by its error on patches left out.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from ..colour.difference import delta_e00
from ..colour.spaces import (
    lab_from_xyz1,
    linear_from_srgb1,
    linear_from_xyz1,
    srgb1_from_linear,
    xyz1_from_lab,
    xyz1_from_linear,
)
from ..tables import read_toml

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

WHITE = 18  # the patch next to a perfect white
FAINTEST = 1e-5  # linear light
# Spread of log gains, of the log of the tone curve's power, of its sine, of a matrix around the unit matrix,
# and of the weights of roots. Weights three times as free or as firm hardly change the errors left out.
GAIN_SPREAD, POWER_SPREAD, SINE_SPREAD, MATRIX_SPREAD, ROOT_SPREAD = 0.3, 0.15, 0.3, 0.5, 0.1
BAND = 2.9  # times the root mean square on patches left out: held nine in ten of the paints in chart_proof.py

_REFERENCES = {
    edition: np.array([row for row in found.values() if isinstance(row, list)], np.float64)
    for edition, found in read_toml("chart/chart.toml").items()
    if isinstance(found, dict)
}


@dataclass(frozen=True)
class Form:
    """What is fitted: terms of the polynomial, 3 or 6, and whether the tone curve has a sine."""

    terms: int
    has_sine: bool

    def spreads(self) -> Floats:
        """Return the prior's standard deviation of every parameter."""
        weights = np.full((self.terms, 3), ROOT_SPREAD)
        weights[:3] = MATRIX_SPREAD
        sine = [SINE_SPREAD] if self.has_sine else []
        return np.concatenate([[GAIN_SPREAD] * 3, [POWER_SPREAD], sine, weights.ravel()])


FORMS = (Form(3, False), Form(3, True), Form(6, False), Form(6, True))


@dataclass(frozen=True, eq=False)
class ChartFit:
    """A fitted camera.

    Attributes
    ----------
    parameters : ndarray
        Log gains, log power, the sine where the form has one, then the weights, by term and channel.
    edition : str
        ``"older"`` or ``"newer"``, whichever fits better.
    left_out : ndarray, shape (n,)
        dE00 of each patch when the others alone are fitted.
    """

    form: Form
    parameters: Floats
    edition: str
    left_out: Floats

    @property
    def band90_delta_e00(self) -> float:
        """How far a colour read may be off, nine times in ten."""
        return BAND * float(np.sqrt(np.mean(self.left_out**2)))

    def xyz1(self, linear_rgb: npt.ArrayLike, fall: npt.ArrayLike = 1.0) -> Floats:
        """Read pixels.

        Parameters
        ----------
        linear_rgb : array_like, shape (..., 3)
            sRGB decoded.
        fall : array_like, shape (...)
            The light there, over that in the photo's middle.

        Returns
        -------
        ndarray of float64, shape (..., 3)
            Tristimulus values under D65, Y of white = 1.
        """
        return _read(self.form, self.parameters, np.asarray(linear_rgb, np.float64), np.asarray(fall))

    def log_brightness(self, linear_rgb: Floats) -> Floats:
        """Return the log of the luminance of the patches as read, over that of their references."""
        seen = np.maximum(self.xyz1(linear_rgb)[..., 1], FAINTEST)
        return np.asarray(np.log(seen / xyz1_from_lab(_REFERENCES[self.edition])[:, 1]))


def fit_chart(linear_rgb: Floats, used: Mask, fall: Floats | None = None) -> ChartFit:
    """Fit the form and the edition of the chart with the smallest error on patches left out.

    Parameters
    ----------
    linear_rgb : ndarray, shape (24, 3)
        Means of the patches, row by row, sRGB decoded.
    used : ndarray of bool, shape (24,)
        Patches to go by.
    fall : ndarray, shape (24,), optional
        The light there, over that in the photo's middle; even if None.
    """
    lit = np.ones(len(linear_rgb)) if fall is None else fall
    fits = (
        _fit(form, edition, linear_rgb[used], lit[used], used) for form in FORMS for edition in _REFERENCES
    )
    return min(fits, key=lambda one: float(np.mean(one.left_out**2)))


def nearness(linear_rgb: Floats) -> float:
    """Return how far patches are from those of a chart once white is white, mean dE00; quick."""
    return min(float(delta_e00(lab, reference).mean()) for lab, reference in _balanced(linear_rgb))


def _balanced(linear_rgb: Floats) -> Iterator[tuple[Floats, Floats]]:
    """Yield CIELAB of the patches with the white patch made right, and of each edition's references."""
    for reference in _REFERENCES.values():
        gains = linear_from_xyz1(xyz1_from_lab(reference[WHITE])) / np.maximum(linear_rgb[WHITE], FAINTEST)
        yield lab_from_xyz1(xyz1_from_linear(linear_rgb * gains)), reference


def _fit(form: Form, edition: str, linear_rgb: Floats, fall: Floats, used: Mask) -> ChartFit:
    """Fit one form to one edition."""
    reference = _REFERENCES[edition][used]
    scale = _cie94_scale(reference)
    spreads = form.spreads()
    start = np.zeros(len(spreads))
    bright = int(reference[:, 0].argmax())
    start[:3] = np.log(
        linear_from_xyz1(xyz1_from_lab(reference[bright])) / np.maximum(linear_rgb[bright], FAINTEST)
    )

    def misses(parameters: Floats) -> Floats:
        lab = lab_from_xyz1(_read(form, parameters, linear_rgb, fall))
        seen = np.einsum("nij,nj->ni", scale, lab - reference)
        return np.concatenate([seen.ravel(), (parameters - start) / spreads])

    found = least_squares(misses, start, max_nfev=30, ftol=1e-4, xtol=1e-4)
    missed = _leaving_out(found.jac, found.fun, len(reference))
    off = np.linalg.solve(scale, missed[..., None])[..., 0]
    return ChartFit(form, found.x, edition, delta_e00(reference + off, reference))


def _leaving_out(slopes: Floats, misses: Floats, patches: int) -> Floats:
    """Return what each patch misses by when the others alone are fitted, shape (patches, 3).

    That of a linear fit, from the whole fit's hat matrix (Cook & Weisberg 1982, Residuals and Influence in
    Regression, section 2.2), three equations at a time.
    """
    n = 3 * patches
    hat = slopes[:n] @ np.linalg.solve(slopes.T @ slopes, slopes[:n].T)
    own = np.arange(n).reshape(patches, 3)
    left = np.eye(3) - hat[own[:, :, None], own[:, None, :]]
    return np.asarray(np.linalg.solve(left, misses[:n].reshape(patches, 3, 1))[..., 0], np.float64)


def _read(form: Form, parameters: Floats, linear_rgb: Floats, fall: Floats) -> Floats:
    """Turn pixels into XYZ."""
    gains, power, sine, weights = (
        parameters[:3],
        parameters[3],
        parameters[4] if form.has_sine else 0.0,
        parameters[4 + form.has_sine :].reshape(form.terms, 3),
    )
    signal = srgb1_from_linear(np.maximum(linear_rgb, 0.0))
    flat = signal + np.where(signal < 1, sine * np.sin(2 * np.pi * signal) / (2 * np.pi), 0.0)
    toned = np.maximum(linear_from_srgb1(flat), FAINTEST) ** np.exp(power)
    terms = _terms(toned / fall[..., None] * np.exp(gains), form.terms)
    return xyz1_from_linear(terms[..., :3] + terms @ weights)


def _terms(rgb: Floats, count: int) -> Floats:
    """Return the channels and, of degree 2, the roots of their products."""
    if count == 3:
        return rgb
    return np.concatenate([rgb, np.sqrt(rgb * np.roll(rgb, -1, axis=-1))], axis=-1)


def _cie94_scale(lab: Floats) -> Floats:
    """Return the matrices that turn differences from some colours into CIE94 differences, shape (n, 3, 3).

    Lightness, chroma over 1 + 0.045 C and hue over 1 + 0.015 C.
    """
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    along = lab[:, 1:] / np.maximum(chroma, 1e-9)[:, None]
    scale = np.zeros((len(lab), 3, 3))
    scale[:, 0, 0] = 1.0
    scale[:, 1, 1:] = along / (1 + 0.045 * chroma)[:, None]
    scale[:, 2, 1:] = along[:, ::-1] * [-1.0, 1.0] / (1 + 0.015 * chroma)[:, None]
    return scale
