"""What a match goes by besides the photo, and how far the photo itself bears it out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...colour.spaces import Colour, lab_from_xyz1, linear_from_srgb1, xyz1_from_linear
from ...photo.face import Marks
from ...photo.press_calibration import PressCalibration
from ...recipe.flake_list import Stocked
from ...recipe.recipe import Flake, Sheet
from .picker import Point

MAX_LIKELY = 12  # of more, the answer is unsure and long in coming
COLOURS_PX = 120  # of a photo whose colours are compared with those of the flakes
NEAR_PERCENT = 3.0  # of those pixels; a flake of the sheet covers more
FULL_LIGHT = (0.4, 1.0)  # linear light at which white may have been exposed
MAX_CORNER_OFF = 0.04  # of the photo's diagonal, from a corner that was found


@dataclass(frozen=True)
class Settings:
    """What a match goes by besides the photo."""

    flakes: tuple[Flake, ...]
    sheet: Sheet
    marks: Marks
    moves: tuple[str, ...]
    press: PressCalibration | None


def likely(srgb8: npt.NDArray[np.uint8], shed: Sequence[Stocked]) -> list[str]:
    """Return the names of the flakes nearest in colour to some part of a photo, twelve at most.

    The light is not known yet, so this only narrows a long list.
    """
    step = -(-max(srgb8.shape) // COLOURS_PX)
    linear = linear_from_srgb1(srgb8[::step, ::step].reshape(-1, 3) / 255)
    brightest = float(np.percentile(xyz1_from_linear(linear)[:, 1], 99))  # most often the paper
    seen = lab_from_xyz1(xyz1_from_linear(linear / np.clip(brightest, *FULL_LIGHT)))
    distances = [
        np.percentile(np.linalg.norm(seen - Colour.from_hex(flake.srgb).lab, axis=1), NEAR_PERCENT)
        for flake in shed
    ]
    nearest = set(np.argsort(distances, kind="stable")[:MAX_LIKELY])
    return [flake.name for n, flake in enumerate(shed) if n in nearest]


def corners_off(found: Sequence[Point] | None, settings: Settings, shape: tuple[int, ...]) -> str:
    """Say which corners are far from those of the sheet that a photo shows.

    Parameters
    ----------
    found : sequence of (float, float) or None
        Corners as found, as parts of the photo's width and height; None where none were.
    shape : tuple of int
        The photo's, rows and columns first.

    Returns
    -------
    str
        A sentence; empty where all is well, or nothing is known.
    """
    if found is None:
        return ""
    sides = np.array([shape[1], shape[0]])
    off = np.linalg.norm(
        np.array(found) * sides - np.asarray(settings.marks.corners_px), axis=1
    ) / np.linalg.norm(sides)
    wrong = [str(n) for n, part in enumerate(off, start=1) if part > MAX_CORNER_OFF]
    if not wrong:
        return ""
    corners = f"Corner {wrong[0]} is" if len(wrong) == 1 else f"Corners {' and '.join(wrong)} are"
    return f"{corners} not where the sheet seems to end: the answer may be about a part of it, or the bench."
