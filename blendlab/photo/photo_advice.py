"""What would make the answer about a photo more certain."""

import numpy as np

from .face import Face

MAX_PIXEL_MM = 0.6  # of the photo, on the sheet
MAX_OBLIQUITY = 1.25  # ratio of opposite edges
MAX_GLARE = 0.005  # of the face
MIN_FIT = 0.97  # of found corners
MAX_CHART_BAND = 14.0  # dE00; charts in lamplight reach 12
MAX_FALLOFF = 0.25  # of log light across half the photo


def for_photo(face: Face) -> tuple[str, ...]:
    """Say how to take a better photo, the most useful sentence first; empty where the photo is good."""
    straight, light = face.straight, face.light
    sides = np.linalg.norm(np.roll(face.corners_px, -1, axis=0) - face.corners_px, axis=1)
    skew = max(float(max(a, b) / min(a, b)) for a, b in (sides[::2], sides[1::2]))
    findings = [
        (
            light.paper == "none",
            "Lay white paper or a colour chart beside the sheet: without them colours may be off by 10 dE00.",
        ),
        (light.paper == "found", "Check that the white that was found is paper, or point it out yourself."),
        (
            light.paper == "chart" and light.camera.band90_delta_e00 > MAX_CHART_BAND,
            "Check the chart's corners, and that nothing is mirrored in it: its patches hardly agree.",
        ),
        (
            face.is_too_bright and light.paper != "none",
            "Lay paper or chart in the same light as the sheet: the sheet reads brighter than any white.",
        ),
        (face.fit < MIN_FIT, "Check the corners: the sheet's edges hardly stand off the background."),
        (straight.blur_mm > MAX_PIXEL_MM, "Take the photo from closer: fine streaks were not resolved."),
        (skew > MAX_OBLIQUITY, "Hold the camera straighter above the sheet."),
        (
            float((straight.clipped > 0.01).mean()) > MAX_GLARE,
            "Soften the light: burnt-out spots were left aside.",
        ),
        (float(np.abs(light.fall[:2]).max()) > MAX_FALLOFF, "Use more even light from both sides."),
    ]
    return tuple(sentence for applies, sentence in findings if applies)
