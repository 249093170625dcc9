"""How well mixed something is: intensity and scale of segregation, and thickness of layers.

Danckwerts (1952, Appl. Sci. Res. A3:279) measures mixing by how far concentrations stray from their mean
(intensity) and over what length they stay on one side of it (scale).
"""

import numpy as np
import numpy.typing as npt

from .charge import Charge
from .old_sheet import Laid, layers_per_mm
from .programme import Programme
from .trace import follow_back

Floats = npt.NDArray[np.float64]
PAIRS = 20_000  # pairs of points that measure a layer thickness to some three per cent
MIN_DISTANCE_MM = 1e-9  # closer points round to one


def intensity_of_segregation(mean: Floats, mean_square: Floats) -> float:
    """Return the intensity of segregation: I = sum of variances / sum of c(1 - c).

    Parameters
    ----------
    mean, mean_square : ndarray of float64, shape (kinds,)
        Of the volume shares of many samples; each sample's shares sum to 1.

    Returns
    -------
    float
        1 where each sample is of one kind only, 0 where all are alike; 0 too for a single kind.

    Examples
    --------
    >>> intensity_of_segregation(np.array([0.5, 0.5]), np.array([0.5, 0.5]))
    1.0
    """
    variance, most = float((mean_square - mean**2).sum()), float((mean * (1 - mean)).sum())
    return max(variance, 0.0) / most if most > 1e-12 else 0.0


def scale_of_segregation(values: npt.ArrayLike, pitch_mm: float, axis: int) -> float:
    """Return the length over which values stay on one side of their mean, along one direction.

    The integral of the correlation R(r) up to where it first vanishes. Equal stripes of width L give L/4.

    Parameters
    ----------
    values : array_like, shape (rows, columns)
        A picture of one quantity.
    pitch_mm : float
        Distance between neighbours along `axis`, mm.

    Returns
    -------
    float
        The scale, mm; 0 where all values are alike.
    """
    lines = np.moveaxis(np.asarray(values, np.float64), axis, -1)
    lines = lines - lines.mean()
    n = lines.shape[-1]
    power = np.abs(np.fft.rfft(lines, 2 * n, axis=-1)) ** 2
    products = np.fft.irfft(power.reshape(-1, power.shape[-1]).sum(axis=0))[:n]
    pairs = np.arange(n, 0, -1)
    if products[0] <= 1e-12 * n * max(1.0, float(np.abs(values).max()) ** 2):
        return 0.0
    correlation = (products / pairs) / (products[0] / n)
    falls = np.flatnonzero(correlation <= 0.0)
    end = int(falls[0]) if falls.size else n
    kept = np.maximum(correlation[: end + 1], 0.0)
    area = float(np.trapezoid(kept))
    if falls.size:  # the last trapezium ends where the line between its ends crosses zero
        last = correlation[end - 1]
        area += 0.5 * last * (last / (last - correlation[end]) - 1.0)
    return area * pitch_mm


def layer_mm(charge: Charge | Laid, programme: Programme, folds: int, rng: np.random.Generator) -> float:
    """Return the mean thickness of one kind's layers in the depth of the sheet; of one leaf's in offcuts.

    The chance that two points a short distance above each other are of different kinds is that distance
    divided by the mean thickness (Crofton), so no layer has to be resolved, down to `MIN_DISTANCE_MM`.

    Returns
    -------
    float
        Thickness, mm, at most the sheet's own.
    """
    length, width, h = programme.sizes_mm[folds]
    per_mm = layers_per_mm(charge) if isinstance(charge, Laid) else charge.cells_per_mm[2]
    distance = max(0.05 / (per_mm * programme.thinning(folds)), MIN_DISTANCE_MM)
    low = rng.uniform((-length / 2, -width / 2, 0.0), (length / 2, width / 2, h - distance), (PAIRS, 3))
    pair = np.concatenate([low, low + np.array([0.0, 0.0, distance])])
    first = follow_back(pair, programme, folds)
    kinds = charge.leaves_at(first) if isinstance(charge, Laid) else charge.kinds_at(first)
    changes = np.count_nonzero(kinds[:PAIRS] != kinds[PAIRS:])
    return min(h, distance * PAIRS / changes) if changes else h
