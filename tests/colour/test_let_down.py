"""Strength from one known mixture: exact recovery, laws, unusable bands, least squares by SciPy."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import nnls

from blendlab.checks import InputError
from blendlab.colour import film, let_down, pigment, saunderson, spectra, strength
from blendlab.colour.difference import delta_e00
from blendlab.colour.pigment import palette
from blendlab.colour.spaces import Colour, lab_from_xyz1
from blendlab.recipe.flake import Flake, LetDown, Partner, with_partners

BANDS = len(spectra.WAVELENGTH_NM)
NM = np.arange(400.0, 721.0, 10.0)
K2 = saunderson.inner_reflection(1.54)
WHITE = Flake("white", "#f2f0e8", 1, hide_mm=1.1)
BLUE = Flake("blue", "#14409a", 1)


def lab_of(found, shares):
    return lab_from_xyz1(spectra.xyz1_from_reflectance(pigment.blend(found, shares)))


def as_spectrum(reflectance):
    return tuple(zip(spectra.WAVELENGTH_NM.tolist(), reflectance.tolist(), strict=True))


def readings(k1, s1, k2_per_mm, s2, part):
    """What a perfect instrument would read of two flakes and of their mixture."""
    seen = [
        saunderson.seen_from_inside(
            film.thick(part * k1 + (1 - part) * k2_per_mm, part * s1 + (1 - part) * s2), K2
        )
        for part in (1.0, part, 0.0)
    ]
    return let_down.Readings(*seen, s2, part, K2)


smooth = st.tuples(st.floats(-1.5, 1.5), st.floats(-1, 1), st.floats(-1, 1)).map(
    lambda c: np.exp(np.polynomial.chebyshev.chebval(np.linspace(-1, 1, BANDS), c))
)


@settings(max_examples=60)
@given(smooth, smooth, smooth, st.floats(0.02, 0.9))
def test_synthetic_k_and_s_are_recovered_exactly_in_every_usable_band(k1, s1, s2, part):
    read = readings(k1, s1, 0.01 * s2, s2, part)
    usable = let_down.usable_bands(read)
    if usable.any():
        found = let_down.scattering_per_mm(read, usable)
        assert found[usable] == pytest.approx(s1[usable], rel=1e-6)
        assert found.min() > 0
        assert np.all(np.isfinite(found))


@settings(max_examples=40)
@given(smooth, smooth, smooth, st.floats(0.05, 0.9))
def test_the_closed_form_is_scipys_non_negative_least_squares(k1, s1, s2, part):
    read = readings(k1, s1, 0.01 * s2, s2, part)
    usable = let_down.usable_bands(read)
    if not usable.any():
        return
    found = let_down.scattering_per_mm(read, usable)
    ratios = [film.k_over_s(saunderson.inside_from_seen(seen, K2)) for seen in read[:3]]
    for band in np.flatnonzero(usable):
        q1, qm, q2 = (ratio[band] for ratio in ratios)
        equations = np.array([[1.0, -q1], [part, -part * qm]])
        (k, s), _ = nnls(equations, np.array([0.0, (1 - part) * (qm - q2) * s2[band]]))
        assert found[band] == pytest.approx(s, rel=1e-6)
        assert q1 * found[band] == pytest.approx(k, rel=1e-6)


def test_bands_that_fix_nothing_take_their_strength_from_the_others():
    k1, s1 = np.where(NM[:BANDS] < 550, 8.0, 0.05), np.full(BANDS, 3.0)
    read = readings(k1, s1, np.full(BANDS, 0.05 / 3 * 14), np.full(BANDS, 14.0), 0.1)
    usable = let_down.usable_bands(read)
    assert usable[:13].all()
    assert not usable[17:].any()  # there both flakes and their mixture look alike
    found = let_down.scattering_per_mm(read, usable)
    assert found[:13] == pytest.approx(s1[:13], rel=1e-6)
    assert np.all(found[17:] < found[14])  # along the usual fall
    assert found[17:] == pytest.approx(3.0, rel=0.4)


def test_a_dark_masstone_does_not_make_a_band_unusable():
    k1 = np.full(BANDS, 200.0)
    read = readings(k1, np.full(BANDS, 1.0), np.full(BANDS, 0.02), np.full(BANDS, 14.0), 0.05)
    assert read.masstone.max() < 0.002
    assert let_down.usable_bands(read).all()


@pytest.mark.parametrize("part", [0.03, 0.1, 0.5])
def test_a_let_down_by_spectrum_predicts_all_other_mixtures(part):
    blue = replace(BLUE, hide_mm=0.35)
    true = palette([blue, WHITE])
    reading = pigment.blend(true, [part, 1 - part])
    known = Flake(
        "blue", "#14409a", 1, spectrum=as_spectrum(true.reflectance[0]),
        let_down=LetDown("white", 100 * part, spectrum=as_spectrum(reading)),
    )  # fmt: skip
    found = palette([known, WHITE])
    for share in (0.01, 0.2, 0.7):
        # Bands average the straight lines between the points: a little smoother than the points themselves.
        assert delta_e00(lab_of(found, [share, 1 - share]), lab_of(true, [share, 1 - share])) < 1.0


def test_no_part_of_the_flake_leaves_the_partner_and_all_of_it_is_the_masstone():
    found = palette([replace(BLUE, let_down=LetDown("white", 10, "#7f93c8")), WHITE])
    plain = palette([BLUE, WHITE])
    assert lab_of(found, [0.0, 1.0]) == pytest.approx(lab_of(plain, [0.0, 1.0]), abs=1e-9)
    assert lab_of(found, [1.0, 0.0]) == pytest.approx(np.array(Colour.from_hex("#14409a").lab), abs=0.01)


@pytest.mark.parametrize("percent", [2.0, 10.0, 40.0])
def test_the_let_down_itself_is_predicted_as_it_was_read(percent):
    reading = Colour.from_lab(
        lab_of(palette([replace(BLUE, hide_mm=0.4), WHITE]), [percent, 100 - percent])
    ).srgb
    found = palette([replace(BLUE, let_down=LetDown("white", percent, reading)), WHITE])
    assert delta_e00(lab_of(found, [percent, 100 - percent]), Colour.from_hex(reading).lab) < 1.5


def test_the_strength_of_the_partner_scales_that_of_the_flake():
    made = replace(BLUE, let_down=LetDown("white", 10, "#7f93c8"))
    weak, strong = (palette([made, replace(WHITE, hide_mm=mm)]) for mm in (2.0, 1.0))
    assert strong.s_per_mm[0] == pytest.approx(2 * weak.s_per_mm[0], rel=1e-6)


def test_the_order_of_flakes_is_irrelevant_and_a_partner_may_come_along():
    made = replace(BLUE, let_down=LetDown("white", 10, "#7f93c8"))
    grey = Flake("grey", "#909090", 1, let_down=LetDown("blue", 50, "#4a6494"))
    straight, turned = palette([WHITE, made, grey]), palette([grey, made, WHITE])
    assert turned.k_per_mm[::-1] == pytest.approx(straight.k_per_mm, rel=1e-12)
    alone = palette(with_partners([grey], [WHITE, made]))
    assert alone.names == ("grey",)
    assert alone.k_per_mm[0] == pytest.approx(straight.k_per_mm[2], rel=1e-12)


def test_a_let_down_that_looks_like_its_partner_leaves_the_strength_estimated():
    made = replace(BLUE, let_down=LetDown("white", 0.1, "#f2f0e8"))
    known = strength.known([made, WHITE], K2)
    assert not known.usable.any()
    assert known.s_per_mm[0] == pytest.approx(palette([BLUE]).s_per_mm[0], rel=1e-12)
    assert known.basis[0] == "dark"


def test_inconsistent_readings_are_answered_with_how_far_off_they_are():
    made = replace(BLUE, let_down=LetDown("white", 10, "#c02020"))
    known = strength.known([made, WHITE], K2)
    assert known.misfit_delta_e00[0] > 20
    assert known.basis[0] == "dark"
    assert np.all(np.isfinite(known.k_per_mm))


def test_an_unknown_partner_is_refused():
    with pytest.raises(InputError, match="must be in a flake that is known, got 'white'"):
        palette([replace(BLUE, let_down=LetDown("white", 10, "#7f93c8"))])


def test_a_partner_brought_along_is_not_mistaken_for_a_flake_of_that_name():
    other = Partner("white", "#808080")
    made = replace(BLUE, let_down=LetDown(other, 10, "#4a6494"))
    assert palette([made, WHITE]).s_per_mm[0] == pytest.approx(palette([made]).s_per_mm[0], rel=1e-12)
