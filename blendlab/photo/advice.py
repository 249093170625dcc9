"""What would make the answer about a photo surer."""

import numpy as np
import numpy.typing as npt

from .light import Light
from .rectify import Straight

Floats = npt.NDArray[np.float64]

COARSE_MM = 0.6  # size of a photo pixel on the sheet
OBLIQUE = 1.25  # ratio of opposite edges
GLARE = 0.005  # of the face
LOOSE_FIT = 0.97  # of found corners
UNEVEN = 0.25  # fall of log light across half the photo


def for_photo(straight: Straight, light: Light, corners_px: Floats, fit: float) -> tuple[str, ...]:
    """Say what a better photo would have.

    Parameters
    ----------
    straight : Straight
        The straightened face.
    light : Light
        The light it was taken in.
    corners_px : ndarray, shape (4, 2)
        The corners used.
    fit : float
        How well found corners fit, 1 where they were set by hand.

    Returns
    -------
    tuple of str
        Sentences, the most useful first; empty where nothing is amiss.
    """
    sides = np.linalg.norm(np.roll(corners_px, -1, axis=0) - corners_px, axis=1)
    skew = max(float(max(a, b) / min(a, b)) for a, b in (sides[::2], sides[1::2]))
    said = [
        (
            light.paper == "none",
            "Lay white paper beside the sheet: without it colours may be off by 10 dE00 or more.",
        ),
        (
            light.paper == "found",
            "Check that the white that was found is paper, or draw a box on it.",
        ),
        (fit < LOOSE_FIT, "Check the corners: the sheet's edges hardly stand off the background."),
        (straight.blur_mm > COARSE_MM, "Take the photo from closer: fine streaks were not resolved."),
        (skew > OBLIQUE, "Hold the camera straighter above the sheet."),
        (
            float((straight.clipped > 0.01).mean()) > GLARE,
            "Soften the light: burnt-out spots were left aside.",
        ),
        (float(np.abs(light.fall[:2]).max()) > UNEVEN, "Use more even light from both sides."),
    ]
    return tuple(sentence for holds, sentence in said if holds)
