"""How a batch is predicted to look: the picture on its card, and the numbers kept in the log."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ..colour.spaces import Colour
from ..io.pictures import png_bytes
from ..look.contrast import contrast, seen_lab
from ..look.prepared_sheet import prepare
from ..look.render import render, srgb8
from ..look.surfaces import top_face
from ..recipe.recipe import Recipe

PICTURE_PX = 540  # longer side: about 6 pixels per mm at its size on the card


@dataclass(frozen=True, eq=False)
class Prediction:
    """The top face of a sheet after its last press.

    Attributes
    ----------
    xyz1 : ndarray of float32, shape (rows, columns, 3)
        Colour of each pixel, Y of white = 1.
    px_per_mm : float
        Pixels per mm of the hot sheet.
    """

    xyz1: npt.NDArray[np.float32]
    px_per_mm: float

    @property
    def mean(self) -> Colour:
        """Mean colour of the face."""
        return Colour.from_xyz1(self.xyz1.mean(axis=(0, 1), dtype=np.float64))

    @property
    def contrast(self) -> float:
        """Contrast seen from the viewing distance, dE*ab."""
        return contrast(seen_lab(self.xyz1, 1 / self.px_per_mm))

    def png(self) -> bytes:
        """Return the picture as PNG, its scale included."""
        return png_bytes(srgb8(self.xyz1), self.px_per_mm)

    def as_json(self) -> dict[str, Any]:
        """Return what the log keeps with the picture."""
        return {"mean": self.mean.as_json(), "contrast": round(self.contrast, 2)}


def predict(recipe: Recipe) -> Prediction:
    """Predict the top face of a recipe, as pressed, after its folds; a `Batch`'s recipe gives one tile."""
    prepared = prepare(recipe)
    sheet = prepared.sheet_after(recipe.folding.folds)
    px_per_mm = PICTURE_PX / max(sheet.length_mm, sheet.width_mm)
    return Prediction(render(top_face(sheet, px_per_mm), prepared, recipe.folding.folds).xyz1, px_per_mm)
