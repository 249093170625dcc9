"""How well mixed something is: intensity and scale of segregation, and thickness of layers.

Danckwerts (1952, Appl. Sci. Res. A3:279) parts goodness of mixing into how far concentrations stray from
their mean (intensity) and over what length they stay on one side of it (scale).
"""

import numpy as np
import numpy.typing as npt

from .charge import Charge
from .programme import Programme
from .trace import follow_back

Floats = npt.NDArray[np.float64]
PAIRS = 20_000  # pairs of points that measure a layer thickness: some three per cent of noise
FINEST_MM = 1e-9  # closer points are not told apart by the digits of their places


def intensity_of_segregation(compositions: npt.ArrayLike) -> float:
    """How far compositions stray from their mean: I = sum of variances / sum of c(1 - c).

    Parameters
    ----------
    compositions : array_like, shape (..., kinds)
        Volume shares of each sample, summing to 1.

    Returns
    -------
    float
        1 where each sample is of one sort only, 0 where all are alike; 0 too for a single sort.

    Examples
    --------
    >>> intensity_of_segregation([[1, 0], [0, 1]])
    1.0
    """
    samples = np.asarray(compositions, np.float64)
    samples = samples.reshape(-1, samples.shape[-1])
    mean = samples.mean(axis=0)
    most = float((mean * (1 - mean)).sum())
    return float(samples.var(axis=0).sum()) / most if most > 1e-12 else 0.0


def scale_of_segregation(values: npt.ArrayLike, pitch_mm: float, axis: int) -> float:
    """Length over which values stay on one side of their mean, along one direction.

    The integral of the correlation R(r) up to where it first vanishes. Equal stripes of width L give L/4.

    Parameters
    ----------
    values : array_like, shape (rows, columns)
        A picture of one quantity.
    pitch_mm : float
        Distance between neighbours along `axis`, mm.
    axis : int
        Direction in which points are compared.

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


def layer_mm(charge: Charge, programme: Programme, folds: int, rng: np.random.Generator) -> float:
    """Mean thickness of one sort's layers in the depth of the sheet.

    The chance that two points a short way above each other belong to different sorts is that way divided
    by the mean thickness (Crofton), so no layer need be resolved, down to some `FINEST_MM`.

    Parameters
    ----------
    charge : Charge
        The first slab.
    programme : Programme
        The steps.
    folds : int
        Cycles done.
    rng : numpy.random.Generator
        Places the pairs.

    Returns
    -------
    float
        Thickness, mm, at most the sheet's own.
    """
    length, width, h = programme.sizes_mm[folds]
    apart = max(0.05 / (charge.cells_per_mm[2] * programme.thinning(folds)), FINEST_MM)
    low = rng.uniform((-length / 2, -width / 2, 0.0), (length / 2, width / 2, h - apart), (PAIRS, 3))
    pair = np.concatenate([low, low + np.array([0.0, 0.0, apart])])
    kinds = charge.kinds_at(follow_back(pair, programme, folds))
    changes = np.count_nonzero(kinds[:PAIRS] != kinds[PAIRS:])
    return min(h, apart * PAIRS / changes) if changes else h
