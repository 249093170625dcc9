"""What fits at several fold counts say of the charge that a sheet was pressed from.

The count is uncertain, and a face shows but a part of the charge. So the fits are averaged as likely as their
counts are, and drawn towards equal shares as far as they are uncertain.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from .share_fit import MIN_SHARE, Fit

Floats = npt.NDArray[np.float64]


def of_charge(fits: Sequence[Fit], likely: Floats, strangeness: float) -> Fit:
    """Return the shares to expect in the charge, and how sure they are.

    With p of each count, its shares s and their variance v from sheet to sheet, m = sum p s and
    V = sum p (max(1, S) v + (s - m)^2) for a strangeness S: a photo S times as far from any count as sheets
    are from each other comes from a press whose sheets differ as much more. Beforehand all mixes of the k
    flakes found are as likely, with mean 1/k and variance P = (k - 1)/(k^2 (k + 1)) (Dirichlet of ones). So
    1/k + w (m - 1/k) with w = P/(P + mean V) has the least mean squared error of all linear rules, w V.

    Parameters
    ----------
    fits : sequence of Fit
        At each count.
    likely : ndarray, shape (counts,)
        How likely each is; need not sum to 1.
    strangeness : float
        As of `FoldCount`.
    """
    part = likely / likely.sum()
    shares, gains = np.array([one.shares for one in fits]), np.array([one.gains for one in fits])
    mean, light = part @ shares, part @ gains
    within = max(1.0, strangeness) * np.array([one.spread for one in fits]) ** 2
    variance = part @ (within + (shares - mean) ** 2)
    apart = gains - light
    unsure = np.tensordot(part, [one.gain_covariance for one in fits], 1) + (part * apart.T) @ apart
    present = mean >= MIN_SHARE
    kinds = np.count_nonzero(present)
    before = (kinds - 1) / (kinds**2 * (kinds + 1))
    known = before / (before + variance[present].mean()) if kinds > 1 else 1.0
    found = np.where(present, 1 / kinds + known * (mean / mean[present].sum() - 1 / kinds), 0.0)
    spread = np.where(present, np.sqrt(known * variance), 0.0)
    return Fit(found, spread, light, unsure, min(one.misfit for one in fits))
