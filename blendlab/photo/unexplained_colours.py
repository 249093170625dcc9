"""Colours in a photo that no listed flake explains: proposed as new flakes."""

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from ..colour.spaces import Colour, lab_from_xyz1
from ..recipe.recipe import Flake
from .share_fit import Fit, Problem

Floats = npt.NDArray[np.float64]

FAR = 13.0  # dE*ab from anything the listed flakes and their blends can show
FEWEST = 0.04  # of the face, to be worth a flake
MOST = 3  # new flakes
ALIKE = 7.0  # dE*ab within which colours count as one
LOOKS = 3000  # pixels that are asked
NAME = "new colour"


def unexplained(xyz1: Floats, problem: Problem, folds: int, fit: Fit) -> Floats:
    """Colours that the fit cannot show.

    Parameters
    ----------
    xyz1 : ndarray, shape (n, 3)
        The photo's local colours.
    problem : Problem
        The flakes tried.
    folds : int
        Fold count of the fit.
    fit : Fit
        The shares found.

    Returns
    -------
    ndarray of float64, shape (m, 3)
        Of every so many pixels, those too far from any colour of the stand-ins; CIELAB.
    """
    every = max(1, len(xyz1) // LOOKS)
    seen = lab_from_xyz1(np.maximum(xyz1[::every], 0.0))
    shown = problem.colours(folds, fit.shares, fit.gains, problem.reach_mm(fit.shares)).reshape(-1, 3)
    pure = problem.colours(0, np.maximum(fit.shares, 1e-3), fit.gains, 0.01).reshape(-1, 3)
    tree = cKDTree(lab_from_xyz1(np.concatenate([shown, pure])))
    far = tree.query(seen)[0] > FAR
    left: Floats = seen[far]
    return left if len(left) >= FEWEST * len(seen) else left[:0]


def new_flake(left: Floats, number: int, taken: tuple[str, ...]) -> Flake:
    """Propose a flake for the most usual of the unexplained colours.

    Parameters
    ----------
    left : ndarray, shape (m, 3)
        Unexplained colours, CIELAB, at least one.
    number : int
        Which proposal this is, from 1.
    taken : tuple of str
        Names in use.

    Returns
    -------
    Flake
        Named ``new colour 1`` and so on, of 1 g.
    """
    some = left[:: max(1, len(left) // 600)]
    near = np.linalg.norm(some[:, None] - left, axis=-1) < ALIKE
    kernel = left[near[int(near.sum(axis=1).argmax())]]
    name = next(word for n in range(number, number + 100) if (word := f"{NAME} {n}") not in taken)
    return Flake(name, Colour.from_lab(np.median(kernel, axis=0)).srgb, 1.0)
