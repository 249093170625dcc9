"""Spectra in bands against the package they were derived from and against measured chart colours."""

import subprocess
import sys
import warnings
from importlib.resources import files

import derive_bands
import numpy as np
import pytest
from derive_bands import colour  # colour-science, its start-up warning silenced there

from blendlab.colour import spectra
from blendlab.colour.difference import delta_e00
from blendlab.colour.spaces import RGB_TO_XYZ, WHITE_XYZ1, lab_from_xyz1, linear_from_srgb1, xyz1_from_linear

CHANNEL = np.linspace(0, 1, 18)
SRGB1 = np.stack(np.meshgrid(CHANNEL, CHANNEL, CHANNEL, indexing="ij"), axis=-1).reshape(-1, 3)
CHARTS = ("BabelColor Average", "ColorChecker N Ohta")
CHART = [sd for chart in CHARTS for sd in colour.SDS_COLOURCHECKERS[chart].values()]


def in_bands(sd):
    """A measured spectrum of colour-science in our bands."""
    return spectra.reflectance_from_spectrum(tuple(zip(sd.wavelengths, sd.values, strict=True)))


def test_table_is_what_the_script_derives():
    stored = files("blendlab.tables").joinpath("bands/bands.csv").read_text(encoding="utf-8")
    numbers = np.loadtxt(stored.splitlines(), delimiter=",", skiprows=1)
    assert stored.splitlines()[0] == derive_bands.HEADER
    assert numbers[:, 0].tolist() == derive_bands.CENTRES_NM.tolist()
    assert numbers[:, 1:] == pytest.approx(np.hstack(derive_bands.derive()), abs=1e-11)


def test_perfect_white_is_white():
    assert spectra.xyz1_from_reflectance(np.ones(32)) == pytest.approx(WHITE_XYZ1, abs=1e-10)


def test_basis_returns_the_primaries():
    assert pytest.approx(RGB_TO_XYZ.T, abs=1e-10) == spectra._BASIS @ spectra.WEIGHTS
    assert spectra._BASIS.sum(axis=0) == pytest.approx(np.ones(32), abs=1e-11)


def test_every_screen_colour_survives_as_a_spectrum():
    linear = linear_from_srgb1(SRGB1)
    reflectance = spectra.reflectance_from_linear(linear)
    assert reflectance.min() > 0
    assert reflectance.max() < 1
    there, back = xyz1_from_linear(linear), spectra.xyz1_from_reflectance(reflectance)
    assert delta_e00(lab_from_xyz1(there), lab_from_xyz1(back)).max() < 0.05


def test_measured_chart_spectra_have_their_colours():
    # Measured reflectances shipped with colour-science, integrated by its own ASTM E308 practice
    # under the same illuminant and observer, relative to each one's white.
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    with warnings.catch_warnings(action="ignore"):  # it tells that it aligns the two tables
        xyz100 = [colour.sd_to_XYZ(sd, observer, colour.SDS_ILLUMINANTS["D65"]) for sd in CHART]
    white = np.array([0.95047, 1.0, 1.08883])  # what that practice gives a perfect white
    expected = lab_from_xyz1(np.stack(xyz100) / 100 / white * WHITE_XYZ1)
    reflectance = [in_bands(sd) for sd in CHART]
    apart = delta_e00(lab_from_xyz1(spectra.xyz1_from_reflectance(reflectance)), expected)
    # The bands are 10 nm wide: loose against another's finer integration.
    assert apart.mean() < 0.15
    assert apart.max() < 0.4


def test_measured_greys_have_their_published_luminance():
    # BabelColor Average: Y published with the spectra, under D50, which is the same for greys
    published = colour.CCS_COLOURCHECKERS["BabelColor Average"].data
    greys = [name for name in published if name.startswith(("white", "neutral", "black"))]
    assert len(greys) == 6
    for name in greys:
        reflectance = in_bands(colour.SDS_COLOURCHECKERS["BabelColor Average"][name])
        assert spectra.luminance(reflectance) == pytest.approx(published[name][2], rel=0.005), name


def test_bands_average_a_spectrum_and_extend_its_ends():
    ramp = tuple((float(nm), nm / 1000) for nm in range(450, 681, 10))
    found = spectra.reflectance_from_spectrum(ramp)
    inside = (spectra.WAVELENGTH_NM > 455) & (spectra.WAVELENGTH_NM < 675)
    assert found[inside] == pytest.approx(spectra.WAVELENGTH_NM[inside] / 1000, abs=1e-12)
    assert found[[0, -1]] == pytest.approx([0.45, 0.68], abs=1e-12)


@pytest.mark.parametrize("change", [(0.01, 0.0, 0.0), (0.0, 0.02, 0.0), (-0.01, 0.01, 0.03)])
def test_a_tint_moves_a_colour_by_exactly_that_much(change):
    grey = np.full(32, 0.4)
    moved = spectra.xyz1_from_reflectance(spectra.tinted(grey, change)) - spectra.xyz1_from_reflectance(grey)
    assert moved == pytest.approx(change, abs=1e-10)


def test_colour_room_needs_no_colour_science():
    code = "import sys, blendlab.colour.means; sys.exit('colour' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
