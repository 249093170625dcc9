"""Find colours in a photo that no listed flake explains, and propose them as new flakes."""

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from ..colour.spaces import Colour, lab_from_xyz1
from ..recipe.recipe import Flake
from .share_fit import Fit, Problem

Floats = npt.NDArray[np.float64]

MIN_DISTANCE = 13.0  # dE*ab from every colour that the listed flakes and their blends can show
MIN_AREA = 0.04  # of the face, to be worth a flake
MAX_NEW = 3  # flakes
SAME_COLOUR = 7.0  # dE*ab within which colours count as one
MAX_PIXELS = 3000  # that are compared
NAME = "new colour"


def unexplained(xyz1: Floats, problem: Problem, folds: int, fit: Fit) -> Floats:
    """Return the colours that the fit cannot show.

    Parameters
    ----------
    xyz1 : ndarray, shape (n, 3)
        The photo's local colours.

    Returns
    -------
    ndarray of float64, shape (m, 3)
        CIELAB of sampled pixels that are far from every colour of the surrogate sheets; empty where
        there are too few for a flake.
    """
    every = max(1, len(xyz1) // MAX_PIXELS)
    seen = lab_from_xyz1(np.maximum(xyz1[::every], 0.0))
    shown = problem.colours(folds, fit.shares, fit.gains, problem.light_depth_mm(fit.shares)).reshape(-1, 3)
    pure = problem.colours(0, np.maximum(fit.shares, 1e-3), fit.gains, 0.01).reshape(-1, 3)
    tree = cKDTree(lab_from_xyz1(np.concatenate([shown, pure])))
    far = tree.query(seen)[0] > MIN_DISTANCE
    left: Floats = seen[far]
    return left if len(left) >= MIN_AREA * len(seen) else left[:0]


def new_flake(left: Floats, number: int, taken: tuple[str, ...]) -> Flake:
    """Propose a flake for the most common of the unexplained colours.

    Parameters
    ----------
    left : ndarray, shape (m, 3)
        Unexplained colours, CIELAB, at least one.

    Returns
    -------
    Flake
        Named ``new colour 1`` and so on, of 1 g.
    """
    some = left[:: max(1, len(left) // 600)]
    near = np.linalg.norm(some[:, None] - left, axis=-1) < SAME_COLOUR
    kernel = left[near[int(near.sum(axis=1).argmax())]]
    name = next(word for n in range(number, number + 100) if (word := f"{NAME} {n}") not in taken)
    return Flake(name, Colour.from_lab(np.median(kernel, axis=0)).srgb, 1.0)
