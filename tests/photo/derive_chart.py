"""Derive ``blendlab/tables/chart/chart.toml``; run it to print the table.

The colours are those that the colour-science package distributes: mean spectra of 30 older charts, taken
here under D65, and the maker's CIELAB values of newer ones, adapted from D50 to D65.
"""

import warnings

import numpy as np
from numpy.typing import NDArray

with warnings.catch_warnings():  # it announces that it can draw no plots
    warnings.simplefilter("ignore")
    import colour

from blendlab.colour.spaces import WHITE_XYZ1, lab_from_xyz1

Floats = NDArray[np.float64]
OLDER, NEWER = "BabelColor Average", "ColorChecker24 - After November 2014"


def keys() -> list[str]:
    """Names of the patches, row by row, as keys of a table."""
    plain = (name.partition("(")[0].strip().replace(".", "_") for name in colour.SDS_COLOURCHECKERS[OLDER])
    return [name.replace(" ", "_") for name in plain]


def xyz1_of(chart: str, illuminant: str = "D65") -> Floats:
    """XYZ of a chart known by spectra under an illuminant, shape (24, 3), Y of white = 1."""
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    light = colour.SDS_ILLUMINANTS[illuminant]
    patches = colour.SDS_COLOURCHECKERS[chart].values()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return np.array([colour.sd_to_XYZ(patch, observer, light) for patch in patches]) / 100


def derive() -> dict[str, Floats]:
    """CIELAB of both charts under D65, each of shape (24, 3)."""
    newer = colour.CCS_COLOURCHECKERS[NEWER]
    seen = colour.xyY_to_XYZ(np.array(list(newer.data.values())))
    white = colour.xy_to_XYZ(newer.illuminant)
    adapted = colour.adaptation.chromatic_adaptation_VonKries(seen, white, WHITE_XYZ1, transform="Bradford")
    return {"older": lab_from_xyz1(xyz1_of(OLDER)), "newer": lab_from_xyz1(adapted)}


if __name__ == "__main__":
    for edition, labs in derive().items():
        print(f"[{edition}]")
        for key, lab in zip(keys(), labs, strict=True):
            print(f"{key} = [{', '.join(f'{value:.2f}' for value in lab)}]")
