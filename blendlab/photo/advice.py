"""What would make the answer about a photo more certain."""

import numpy as np
import numpy.typing as npt

from .light import Light
from .rectify import Straight

Floats = npt.NDArray[np.float64]

MAX_PIXEL_MM = 0.6  # of the photo, on the sheet
MAX_OBLIQUITY = 1.25  # ratio of opposite edges
MAX_GLARE = 0.005  # of the face
MIN_FIT = 0.97  # of found corners
MAX_FALLOFF = 0.25  # of log light across half the photo


def for_photo(straight: Straight, light: Light, corners_px: Floats, fit: float) -> tuple[str, ...]:
    """Say how to take a better photo.

    Parameters
    ----------
    straight : Straight
        The straightened face.
    light : Light
        The light it was taken in.
    corners_px : ndarray, shape (4, 2)
        The corners used.
    fit : float
        How well found corners fit, 1 where they were set by the maker.

    Returns
    -------
    tuple of str
        Sentences, the most useful first; empty where the photo is good.
    """
    sides = np.linalg.norm(np.roll(corners_px, -1, axis=0) - corners_px, axis=1)
    skew = max(float(max(a, b) / min(a, b)) for a, b in (sides[::2], sides[1::2]))
    findings = [
        (
            light.paper == "none",
            "Lay white paper beside the sheet: without it colours may be off by 10 dE00 or more.",
        ),
        (
            light.paper == "found",
            "Check that the white that was found is paper, or point it out yourself.",
        ),
        (fit < MIN_FIT, "Check the corners: the sheet's edges hardly stand off the background."),
        (straight.blur_mm > MAX_PIXEL_MM, "Take the photo from closer: fine streaks were not resolved."),
        (skew > MAX_OBLIQUITY, "Hold the camera straighter above the sheet."),
        (
            float((straight.clipped > 0.01).mean()) > MAX_GLARE,
            "Soften the light: burnt-out spots were left aside.",
        ),
        (float(np.abs(light.fall[:2]).max()) > MAX_FALLOFF, "Use more even light from both sides."),
    ]
    return tuple(sentence for applies, sentence in findings if applies)
