"""Derive ``blendlab/tables/bands/bands.csv``; run it to print the table.

The colour matching functions, the illuminant and the basis spectra are those that the colour-science
package distributes. They are averaged here into bands 10 nm wide, few enough to blend millions of
times, so that the program itself needs neither the package nor the second it takes to load.
"""

import warnings

import numpy as np
from numpy.typing import NDArray

with warnings.catch_warnings():  # it announces that it can draw no plots
    warnings.simplefilter("ignore")
    import colour
    from colour.recovery import MSDS_BASIS_FUNCTIONS_sRGB_MALLETT2019

from blendlab.colour.spaces import RGB_TO_XYZ, WHITE_XYZ1

NM = np.arange(360, 831)  # the range of the 2 degree observer's table, at its 1 nm steps
CENTRES_NM = np.arange(405, 716, 10)
HEADER = "nm,red,green,blue,x,y,z"


def cells() -> NDArray[np.float64]:
    """Part of each nm that belongs to each band, shape (bands, nm): the outer two take the tails."""
    edges = np.concatenate([[NM[0] - 0.5], CENTRES_NM[:-1] + 5.0, [NM[-1] + 0.5]])
    low = np.maximum(NM - 0.5, edges[:-1, None])
    high = np.minimum(NM + 0.5, edges[1:, None])
    return np.maximum(high - low, 0.0)


def observer_light() -> NDArray[np.float64]:
    """Colour matching functions times the D65 spectrum, shape (nm, 3)."""
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    d65 = colour.SDS_ILLUMINANTS["D65"]
    assert np.array_equal(observer.wavelengths, NM)
    return observer.values * np.interp(NM, d65.wavelengths, d65.values)[:, None]


def derive() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Basis reflectances and XYZ weights, each of shape (bands, 3).

    A perfect white (reflectance 1) is given exactly the white point of sRGB: each column of the weights
    is scaled to it, by less than 3 parts in 10 000. The basis is then corrected by the 3 x 3 matrix (within
    0.7 % of the identity) that makes the three primaries return exactly; its rows still sum to 1.
    """
    light = observer_light()
    weights = cells() @ light
    weights *= WHITE_XYZ1 / weights.sum(axis=0)
    spectra = MSDS_BASIS_FUNCTIONS_sRGB_MALLETT2019
    fine = np.stack([np.interp(NM, spectra.wavelengths, column) for column in spectra.values.T], -1)
    seen = cells() * light.sum(axis=1)  # within a band, wavelengths count as they are seen
    basis = seen @ fine / seen.sum(axis=1, keepdims=True)
    basis /= basis.sum(axis=1, keepdims=True)
    return basis @ np.linalg.solve(weights.T @ basis, RGB_TO_XYZ), weights


def table() -> str:
    """The CSV text, twelve decimals."""
    rows = np.column_stack(derive())
    lines = [
        f"{nm}," + ",".join(f"{value:.12f}" for value in row)
        for nm, row in zip(CENTRES_NM, rows, strict=True)
    ]
    return "\n".join([HEADER, *lines]) + "\n"


if __name__ == "__main__":
    print(table(), end="")
