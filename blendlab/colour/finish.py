"""The finish of a face: a rough one scatters the light that a smooth one reflects like a mirror."""

from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from ..tables import read_toml
from . import saunderson
from .spaces import WHITE_XYZ1

_Float = TypeVar("_Float", bound=np.floating[Any])

_SCATTERED = {name: row["usual"] for name, row in read_toml("finish/finish.toml")["scattered"].items()}


def veil(finish: str, refractive_index: float) -> float:
    """Part of the light on a face that it scatters back without letting it into the plastic.

    Parameters
    ----------
    finish : str
        ``"glossy"``, ``"satin"`` or ``"matte"``.

    Returns
    -------
    float
        0 to 1; the reflection at normal incidence, times the part of it that is scattered.

    Examples
    --------
    >>> round(veil("matte", 1.54), 4), veil("glossy", 1.54)
    (0.0452, 0.0)
    """
    return float(_SCATTERED[finish]) * saunderson.gloss_reflection(refractive_index)


def veiled(xyz1: NDArray[_Float], part: float) -> NDArray[_Float]:
    """Light of a sheet, shape (..., 3), seen through the veil of its face; white stays white."""
    return xyz1 + (part * (WHITE_XYZ1 - xyz1)).astype(xyz1.dtype) if part else xyz1
