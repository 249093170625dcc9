"""The veil of a rough face."""

import numpy as np
import pytest

from blendlab.colour import finish, pigment, spectra
from blendlab.colour.difference import delta_e00
from blendlab.colour.means import area_mean, cielab_mean, full_blend
from blendlab.colour.pigment import palette
from blendlab.colour.spaces import WHITE_XYZ1, Colour
from blendlab.recipe.recipe import FINISHES, Flake, Recipe, Sheet

COAL = Flake("coal", "#1b1b1c", 10)
BLUE = Flake("blue", "#1d4f8f", 30)


def of(finish_name, *flakes):
    return Recipe("Tile", Sheet(finish=finish_name), flakes)


@pytest.mark.parametrize("mean", [area_mean, full_blend, cielab_mean])
def test_coal_under_a_matte_face_is_a_dark_grey(mean):
    """Fresnel at normal incidence, n = 1.54: 4.52 % of the light comes back from the face itself."""
    glossy, matte = mean(of("glossy", COAL)), mean(of("matte", COAL))
    luminance = 0.0452 + (1 - 0.0452) * glossy.xyz1[1]
    assert matte.xyz1[1] == pytest.approx(luminance, abs=2e-5)
    assert matte.srgb == "#434343"
    assert delta_e00(matte.lab, glossy.lab) == pytest.approx(13, abs=0.5)


def test_the_rougher_the_lighter():
    found = [full_blend(of(name, COAL, BLUE)).lab[0] for name in FINISHES]
    assert found == sorted(found)
    assert len(set(found)) == 3


def test_white_stays_white_and_a_glossy_face_changes_nothing():
    light = np.array([[0.1, 0.2, 0.3], WHITE_XYZ1])
    assert finish.veiled(light, 0.0) is light
    assert finish.veiled(light, 0.05)[1] == pytest.approx(WHITE_XYZ1)


def test_no_step_in_index_has_no_veil():
    assert finish.veil("matte", 1.0) == 0


def test_pictures_and_means_see_the_same_face():
    found = palette([COAL, BLUE], finish="matte")
    shares = np.array([[0.25, 0.75]], dtype=np.float32)
    plain = spectra.xyz1_from_reflectance(pigment.blend(found, shares))
    assert pigment.light_of(shares, found) == pytest.approx(found.seen(plain), abs=1e-4)
    assert Colour.from_xyz1(found.seen(plain)[0]).lab == pytest.approx(
        full_blend(of("matte", COAL, BLUE)).lab
    )
