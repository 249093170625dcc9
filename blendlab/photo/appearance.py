"""What a picture is to the eye: its colours and their shares, contrast, size of features, direction.

All are taken as seen from the viewing distance, from a picture averaged down to the same few pixels, so that
a photo of anything and a predicted sheet of its size can be compared.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.cluster.vq import kmeans2
from scipy.optimize import linprog
from scipy.sparse import csr_array

from ..colour.spaces import Colour
from ..folding.mixing import scale_of_segregation
from ..look.contrast import JUST_SEEN, contrast, seen_lab

Floats = npt.NDArray[np.float64]

MAX_SIDE_PX = 128  # of the averaged picture's longer side
COLOURS = 12  # clusters of colours; more hardly change the distance of two pictures
SEED = 3
# What each difference counts as 1: about as far as two sheets of one recipe differ by chance.
# Contrast and feature size by the logarithm of their ratio.
PALETTE_STEP, CONTRAST_STEP, FEATURE_STEP, DIRECTION_STEP = 4.0, 0.1, 0.3, 0.15


@dataclass(frozen=True, eq=False)
class Appearance:
    """What a picture is to the eye.

    Attributes
    ----------
    mean : Colour
        Mean of its light.
    colours : ndarray of float64, shape (n, 3)
        CIELAB of its clusters of colours, as seen.
    parts : ndarray of float64, shape (n,)
        Part of the picture that each has, summing to 1.
    contrast : float
        dE*ab about the mean, as seen.
    feature_mm : float
        Scale of segregation of lightness across the streaks, mm; 0 where nothing stands out.
    direction : float
        How far all edges run one way, 0-1: anisotropy of the structure tensor of lightness.
    """

    mean: Colour
    colours: Floats
    parts: Floats
    contrast: float
    feature_mm: float
    direction: float

    @property
    def is_plain(self) -> bool:
        """Whether the eye sees one even colour."""
        return self.contrast < JUST_SEEN


def appearance(xyz1: npt.NDArray[np.float32], mm_per_px: float) -> Appearance:
    """Measure a picture.

    Parameters
    ----------
    xyz1 : ndarray of float32, shape (rows, columns, 3)
        Its light, Y of white = 1, as from `averaged` or drawn at `MAX_SIDE_PX`.
    mm_per_px : float
        Size of a pixel on the sheet, mm.
    """
    lab = seen_lab(xyz1, mm_per_px)
    level = contrast(lab)
    plain = level < JUST_SEEN
    colours, parts = clusters(lab.reshape(-1, 3))
    sizes = [scale_of_segregation(lab[..., 0], mm_per_px, axis) for axis in (0, 1)]
    mean = Colour.from_xyz1(xyz1.mean(axis=(0, 1), dtype=np.float64))
    feature, direction = (0.0, 0.0) if plain else (min(sizes), _direction(lab[..., 0]))
    return Appearance(mean, colours, parts, level, feature, direction)


def averaged(xyz1: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Average a picture over blocks of near equal size, to at most `MAX_SIDE_PX` along its longer side."""
    step = max(xyz1.shape[:2]) / min(MAX_SIDE_PX, max(xyz1.shape[:2]))
    for axis in (0, 1):
        count = max(round(xyz1.shape[axis] / step), 1)
        edges = np.round(np.arange(count) * xyz1.shape[axis] / count).astype(np.intp)
        sizes = np.diff([*edges, xyz1.shape[axis]]).astype(np.float32)
        sums = np.add.reduceat(xyz1, edges, axis=axis)
        xyz1 = (sums / np.expand_dims(sizes, tuple(n for n in range(3) if n != axis))).astype(np.float32)
    return xyz1


@dataclass(frozen=True)
class Difference:
    """How far a sheet is from a picture.

    Attributes
    ----------
    palette : float
        Earth mover's distance of their colours, dE*ab.
    contrast, feature : float
        The sheet's over the picture's; 1 where the picture is plain.
    direction : float
        The sheet's less the picture's.
    total : float
        Root of the sum of squares, each counted in steps of what chance makes of one recipe.
    """

    palette: float
    contrast: float
    feature: float
    direction: float
    total: float


def difference(wanted: Appearance, got: Appearance) -> Difference:
    """Compare a predicted sheet with a picture."""
    palette = earth_movers_distance(wanted, got)
    # The faintest contrasts look alike.
    lively = np.log((got.contrast + JUST_SEEN) / (wanted.contrast + JUST_SEEN))
    feature, direction = 1.0, 0.0
    if not wanted.is_plain and not got.is_plain:
        feature = got.feature_mm / max(wanted.feature_mm, 1e-3)
        direction = got.direction - wanted.direction
    steps = (
        palette / PALETTE_STEP,
        lively / CONTRAST_STEP,
        np.log(max(feature, 1e-3)) / FEATURE_STEP,
        direction / DIRECTION_STEP,
    )
    ratio = 1.0 if wanted.is_plain else got.contrast / wanted.contrast
    return Difference(palette, ratio, feature, direction, float(np.sqrt(np.square(steps).sum())))


def earth_movers_distance(one: Appearance, other: Appearance) -> float:
    """Return how far colours must be moved to make one picture's of the other's, mean dE*ab.

    The transport problem of Rubner, Tomasi & Guibas (2000, Int. J. Computer Vision 40:99), as a linear
    programme.
    """
    rows, columns = len(one.parts), len(other.parts)
    cost = np.linalg.norm(one.colours[:, None] - other.colours, axis=-1)
    at = np.arange(rows * columns)
    leaving = csr_array((np.ones(at.size), (at // columns, at)), shape=(rows, at.size))
    arriving = csr_array((np.ones(at.size), (at % columns, at)), shape=(columns, at.size))
    # The last equation follows from the others, but for rounding.
    found = linprog(
        cost.ravel(),
        A_eq=csr_array(np.concatenate([leaving.toarray(), arriving.toarray()[:-1]])),
        b_eq=np.concatenate([one.parts, other.parts[:-1]]),
    )
    return float(found.fun)


def clusters(lab: Floats) -> tuple[Floats, Floats]:
    """Return the clusters of a picture's colours, shape (n, 3), and their parts, summing to 1.

    Parameters
    ----------
    lab : ndarray, shape (pixels, 3)
        CIELAB.
    """
    some = np.unique(lab.round(1), axis=0)
    if len(some) <= COLOURS:
        nearest = np.linalg.norm(lab[:, None] - some, axis=-1).argmin(axis=1)
        return some, np.bincount(nearest, minlength=len(some)) / len(lab)
    centres, labels = kmeans2(lab, COLOURS, iter=12, minit="++", rng=np.random.default_rng(SEED))
    parts = np.bincount(labels, minlength=COLOURS) / len(lab)
    return centres[parts > 0], parts[parts > 0]


def _direction(lightness: Floats) -> float:
    """Return the anisotropy of the structure tensor of a whole picture, 0-1."""
    if min(lightness.shape) < 2:
        return 0.0
    down, across = np.gradient(lightness)
    xx, yy, xy = (float((p * q).mean()) for p, q in ((across, across), (down, down), (across, down)))
    return float(np.hypot(xx - yy, 2 * xy) / max(xx + yy, 1e-12))
