"""The face of the plastic: Fresnel's numbers and Saunderson's correction."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from blendlab.colour import saunderson
from blendlab.tables import read_toml

REFERENCE = tomllib.loads(
    (Path(__file__).parents[1] / "reference" / "colour" / "kubelka_munk.toml").read_text(encoding="utf-8")
)


def fresnel(cosine, n):
    """Reflectance of unpolarised light from air at one angle."""
    inside = np.sqrt(1 - (1 - cosine**2) / n**2)
    across = (cosine - n * inside) / (cosine + n * inside)
    along = (inside - n * cosine) / (inside + n * cosine)
    return (across**2 + along**2) / 2


@pytest.mark.parametrize("n", ["1.50", "1.54"])
def test_parts_reflected(n):
    # Fresnel's equations; Saunderson 1942
    k1, k2, outer = (float(value) for value in REFERENCE["face"][n])
    assert saunderson.gloss_reflection(float(n)) == pytest.approx(k1, abs=5e-5)
    assert saunderson.inner_reflection(float(n)) == pytest.approx(k2, abs=5e-5)
    assert saunderson.outer_reflection(float(n)) == pytest.approx(outer, abs=5e-5)


@pytest.mark.parametrize("n", [1.2, 1.54, 2.0])
def test_closed_form_is_the_fresnel_average_over_the_hemisphere(n):
    average = quad(lambda cosine: 2 * cosine * fresnel(cosine, n), 0, 1)[0]
    assert saunderson.outer_reflection(n) == pytest.approx(average, abs=1e-9)
    assert saunderson.gloss_reflection(n) == pytest.approx(fresnel(1.0, n), abs=1e-15)


def test_no_step_in_index_reflects_nothing():
    assert (
        saunderson.outer_reflection(1)
        == saunderson.inner_reflection(1)
        == saunderson.gloss_reflection(1)
        == 0
    )


@given(st.floats(0, 1), st.floats(1, 2))
def test_inside_and_seen_are_inverse(reflectance, n):
    k2 = saunderson.inner_reflection(n)
    seen = saunderson.seen_from_inside(reflectance, k2)
    assert 0 <= seen <= 1
    assert float(saunderson.inside_from_seen(seen, k2)) == pytest.approx(reflectance, abs=1e-12)


def test_the_index_of_polyethylene_follows_from_its_density():
    """Lorentz-Lorenz: (n² − 1)/(n² + 2) = ρ·R/M, with R of CH2 from two n-alkanes at 20 °C.

    Dodecane n 1.421, 0.7487 g/cm³; eicosane n 1.4425, 0.7886 g/cm³ (indices of the open-source package
    chemicals 1.5.2, densities from memory). The database of refractive indices has 1.573 at 550 nm.
    """

    def refraction(index, density, molar_mass):
        return molar_mass / density * (index**2 - 1) / (index**2 + 2)

    of_ch2 = (refraction(1.4425, 0.7886, 282.55) - refraction(1.421, 0.7487, 170.33)) / 8
    low, high = (np.sqrt((1 + 2 * each) / (1 - each)) for each in of_ch2 / 14.027 * np.array([0.94, 0.96]))
    table = read_toml("hdpe/hdpe.toml")["refractive_index"]
    assert low == pytest.approx(table["low"], abs=0.005)
    assert low < table["usual"] < high < table["high"]
