"""Statistics of a face's marbling that survive a camera.

They are taken over several pixels of the rectified picture, so that lens blur and sensor noise hardly matter,
and as logarithms of contrast, so that a small error of cast or exposure hardly matters either.
"""

from itertools import pairwise

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter

from ..colour.spaces import lab_from_xyz1

Floats = npt.NDArray[np.float64]

SCALES_PX = (1.0, 2.0, 4.0, 8.0, 16.0)  # Gaussian blurs between which contrast is taken
PATCH_PX = 4.0  # blur over which local contrast is averaged
FLOOR = 0.05  # squared dE*ab; lower contrast is noise
MAX_NOISE = 3.0  # dE*ab of a photo's noise in the finest band; more is marbling
# Contrast of a plain face, dE*ab: over half of it (12 invented plain sheets reached 0.41, 18 of 8 folds had
# 0.68 or more), and over all but a spot of glare (plain sheets reached 2.9).
MAX_PLAIN = (0.55, 5.0)
MARBLING, FORMS = slice(0, 14), slice(14, 16)  # of `describe_all`
ACROSS = 24  # blocks along a face's longer side, over which forms are averaged
TURNS = 12  # directions in which bands are looked for
CAMERA_BLUR_PX = 0.35  # of a rectified photo, beyond that of its pixels


def as_photographed(xyz1: npt.NDArray[np.float32], blur_px: float) -> npt.NDArray[np.float32]:
    """Blur a rendered face as a camera would, whose pixel has the size of `blur_px` of its pixels."""
    sigma = float(np.hypot(CAMERA_BLUR_PX, blur_px))
    soft: npt.NDArray[np.float32] = gaussian_filter(xyz1, (sigma, sigma, 0), mode="reflect", truncate=3.0)
    return soft


def describe(xyz1: npt.NDArray[np.float32]) -> Floats:
    """Describe a face's marbling.

    Parameters
    ----------
    xyz1 : ndarray of float32, shape (rows, columns, 3)
        The face, Y of white = 1.

    Returns
    -------
    ndarray of float64, shape (14,)
        Log contrast in each band of scales and above the coarsest; how unevenly each band is spread over
        the face; how peaked the two finest are; log ratio of change across to change down; how well
        neighbouring streaks agree on a direction; log contrast overall.
    """
    lab = lab_from_xyz1(np.maximum(xyz1, 0.0)).astype(np.float32)
    soft = _blurred(lab)
    energy = _energies(soft)
    bands = [_log(e.mean()) for e in energy]
    bands.append(_log(soft[-1].reshape(-1, 3).var(axis=0).sum()))
    patchy = [_log(np.median(gaussian_filter(e, PATCH_PX))) - _log(e.mean()) for e in energy]
    peaked = [2 * _log(np.sqrt(e).mean() ** 2) - 2 * _log(e.mean()) for e in energy[:2]]
    return np.array(
        [*bands, *patchy, *peaked, *_directions(soft[0]), _log(lab.reshape(-1, 3).var(axis=0).sum())]
    )


def describe_all(xyz1: npt.NDArray[np.float32]) -> Floats:
    """Describe a face's marbling, then its large forms, which show how the charge was laid: shape (16,)."""
    return np.concatenate([describe(xyz1), forms(xyz1)])


def forms(xyz1: npt.NDArray[np.float32]) -> Floats:
    """Describe a face's large forms.

    Returns
    -------
    ndarray of float64, shape (2,)
        Log odds of the part of all contrast that stays when blocks are averaged, and of the part of that
        which runs in straight bands across the whole face, in whatever direction most does.
    """
    lab = lab_from_xyz1(np.maximum(xyz1, 0.0))
    blocks = _averaged(lab, max(lab.shape[:2]) / ACROSS)
    blocks -= blocks.mean(axis=(0, 1))
    stays = float((blocks**2).sum(axis=-1).mean())
    whole = float(lab.reshape(-1, 3).var(axis=0).sum())
    return np.array([_odds(stays + FLOOR, whole + 2 * FLOOR), _odds(_banded(blocks), 1.0)])


def _averaged(lab: Floats, step: float) -> Floats:
    """Average a picture over blocks of about `step` pixels a side."""
    for axis in (0, 1):
        n = lab.shape[axis]
        edges = np.linspace(0, n, max(round(n / step), 2) + 1).astype(np.intp)
        lab = np.add.reduceat(lab, edges[:-1], axis=axis) / np.diff(edges).reshape(
            (-1, 1, 1) if axis == 0 else (1, -1, 1)
        )
    return lab


def _banded(blocks: Floats) -> float:
    """Return the part of the blocks' variance that lies between straight bands, beyond that of chance."""
    y, x = np.indices(blocks.shape[:2])
    whole, most = float((blocks**2).sum()) + FLOOR, 0.0
    for turn in np.arange(TURNS) * np.pi / TURNS:
        band = np.floor(x * np.cos(turn) + y * np.sin(turn) + 0.5).astype(np.intp).ravel()
        band -= band.min()
        count = np.bincount(band)
        sums = np.stack([np.bincount(band, blocks[..., n].ravel()) for n in range(3)])
        between = float(((sums**2).sum(axis=0) / np.maximum(count, 1)).sum()) / whole
        chance = np.count_nonzero(count) / band.size
        most = max(most, (between - chance) / (1 - chance))
    return most


def _odds(part: float, whole: float) -> float:
    """Return log odds of a part, away from the ends."""
    ratio = float(np.clip(part / whole, 0.01, 0.99))
    return float(np.log(ratio / (1 - ratio)))


def is_one_colour(xyz1: npt.NDArray[np.float32]) -> bool:
    """Tell whether a face shows no marbling beyond noise, spots of glare and uneven light.

    Hardly any contrast is then left between blurs of 2 and 8 pixels.
    """
    fine, *coarser = _energies(_blurred(lab_from_xyz1(np.maximum(xyz1, 0.0)).astype(np.float32))[:4])
    # White noise has four times the energy in each band that it has in the next coarser one.
    noise = (1 / 4 + 1 / 16) * min(float(fine.mean()), MAX_NOISE**2)
    levels = np.quantile(gaussian_filter(np.sum(coarser, axis=0), PATCH_PX), (0.5, 0.85)) - noise
    return bool((levels < np.square(MAX_PLAIN)).all())


def _blurred(lab: npt.NDArray[np.float32]) -> list[npt.NDArray[np.float32]]:
    """Blur a picture at each of `SCALES_PX`."""
    return [gaussian_filter(lab, (s, s, 0), mode="reflect", truncate=3.0) for s in SCALES_PX]


def _energies(soft: list[npt.NDArray[np.float32]]) -> list[npt.NDArray[np.float32]]:
    """Return the squared dE*ab of each pixel between neighbouring blurs."""
    return [((fine - coarse) ** 2).sum(axis=-1) for fine, coarse in pairwise(soft)]


def _log(value: float) -> float:
    """Return the logarithm of a squared contrast, floored at the level of noise."""
    return float(np.log(value + FLOOR))


def _directions(lab: npt.NDArray[np.float32]) -> tuple[float, float]:
    """Return log ratio of change across to change down, and local agreement on a direction, 0-1."""
    down, across = np.gradient(lab, axis=(0, 1))
    pairs = ((across, across), (down, down), (across, down))
    xx, yy, xy = (gaussian_filter((p * q).sum(axis=-1), PATCH_PX) for p, q in pairs)
    total = float((xx + yy).mean())
    agree = float(np.sqrt((xx - yy) ** 2 + 4 * xy**2).mean()) / (total + 0.1 * FLOOR)
    return float(np.log((xx.mean() + 0.1 * FLOOR) / (yy.mean() + 0.1 * FLOOR))), agree
