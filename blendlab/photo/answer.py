"""What a photo reveals about its sheet."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ..colour.spaces import Colour
from ..recipe.recipe import Flake, Recipe
from .fold_count import FoldCount
from .laid_charge import Alternative

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Part:
    """One flake of the answer.

    Attributes
    ----------
    flake : Flake
        The flake; grams in a sheet of 100 g.
    share, low, high : float
        Volume share and its 80 % band, 0-1.
    is_new : bool
        Whether it is a proposal, unlike any flake on the list.
    """

    flake: Flake
    share: float
    low: float
    high: float
    is_new: bool


@dataclass(frozen=True, eq=False)
class PhotoMatch:
    """What a photo reveals about its sheet.

    Attributes
    ----------
    recipe : Recipe
        The fitted recipe, of 100 g.
    parts : tuple of Part
        Its flakes, in descending order of share.
    folds : FoldCount
        Probability of every fold count.
    moves : dict of str to float
        Probability of every move considered.
    mean, predicted_mean : Colour
        Mean colour of the photo's face and of the recipe's.
    face_xyz1, predicted_xyz1 : ndarray of float32, shape (rows, columns, 3)
        Both faces at the same scale.
    mm_per_px : float
        Their scale.
    curve : tuple of (float, float, float)
        Blur in mm, and the contrast in dE*ab of photo and prediction at that blur.
    corners_px : ndarray, shape (4, 2)
        The corners used.
    band90_delta_e00 : float
        How far the photo's mean may be from the sheet's own, nine times in ten.
    paper : str
        Where the white comes from: paper ``"given"`` or ``"found"``, a ``"chart"``, or ``"none"``.
    laid : tuple of Alternative
        Ways to lay the charge that explain the photo clearly better than stirring it, the best first.
    note : str
        What the photo cannot show, one sentence; usually empty.
    advice : tuple of str
        What would make the answer more certain.
    """

    recipe: Recipe
    parts: tuple[Part, ...]
    folds: FoldCount
    moves: dict[str, float]
    mean: Colour
    predicted_mean: Colour
    delta_e00: float
    band90_delta_e00: float
    face_xyz1: npt.NDArray[np.float32]
    predicted_xyz1: npt.NDArray[np.float32]
    mm_per_px: float
    curve: tuple[tuple[float, float, float], ...]
    corners_px: Floats
    paper: str
    laid: tuple[Alternative, ...]
    note: str
    advice: tuple[str, ...]

    @property
    def charge_words(self) -> str:
        """Say how the charge is supposed to have been laid, and what explains the photo better."""
        supposed = "This supposes that the charge was stirred."
        return " ".join([supposed, *(way.sentence for way in self.laid)])

    def as_json(self) -> dict[str, Any]:
        """Return the answer as the command line prints it; it has a ``note`` only where there is one."""
        note = {"note": self.note} if self.note else {}
        return note | {
            "percent": {part.flake.name: round(100 * part.share, 1) for part in self.parts},
            "band": {
                part.flake.name: [round(100 * part.low, 1), round(100 * part.high, 1)] for part in self.parts
            },
            "new": {part.flake.name: part.flake.srgb for part in self.parts if part.is_new},
            "folds": {
                "best": self.folds.best,
                "probability": [round(float(p), 4) for p in self.folds.probability],
                "likely": list(self.folds.likely()),
            },
            "moves": {move: round(p, 4) for move, p in self.moves.items()},
            "charge": {"supposed": "stirred", "better": [way.as_json() for way in self.laid]},
            "mean": self.mean.as_json(),
            "predicted_mean": self.predicted_mean.as_json(),
            "delta_e00": round(self.delta_e00, 2),
            "mean_band90_delta_e00": round(self.band90_delta_e00, 1),
            "paper": self.paper,
            "advice": list(self.advice),
        }
