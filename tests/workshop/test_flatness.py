"""The bow of a sheet compared with Timoshenko's bimetal strip, and cases that must give 0."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.workshop.conduction import Layer, conduct
from blendlab.workshop.flatness import WAYS, bow_mm, curvature_1_m, flatness
from blendlab.workshop.press_setup import PressSetup, thermal_model
from blendlab.workshop.properties import hdpe

SHEET = 5.7  # kg/m², 6 mm


@given(st.floats(1e-6, 3e-4), st.floats(1, 150), st.floats(1e-3, 0.05))
def test_two_halves_bend_as_timoshenkos_strip(difference, kelvin, thickness):
    """Timoshenko 1925, J. Opt. Soc. Am. 11:233: halves of equal thickness and stiffness, κ = 3/2 Δα ΔT/h."""
    strain = np.repeat([0.0, difference * kelvin], 10)
    assert curvature_1_m(strain, thickness) == pytest.approx(1.5 * difference * kelvin / thickness, rel=1e-9)


@given(st.floats(0.05, 0.95))
def test_a_strip_of_any_two_parts_bends_as_timoshenkos(share):
    """The same with equal stiffness and thicknesses in the ratio m, from memory:

    κ h = 6 Δε (1 + m)² / (3 (1 + m)² + (1 + m) (m² + 1/m))
    """
    cells = 4000
    lower = round(share * cells)
    m = lower / (cells - lower)
    strain = np.concatenate([np.zeros(lower), np.full(cells - lower, 1e-3)])
    expected = 6e-3 * (1 + m) ** 2 / (3 * (1 + m) ** 2 + (1 + m) * (m**2 + 1 / m))
    assert curvature_1_m(strain, 1.0) == pytest.approx(expected, rel=1e-6)


def test_a_tip_sags_as_in_a_published_worked_example():
    """A finite element manual's bimetal, 3000 x 300 mm, α 5e-6 and 10e-6, 50 K: 3L²Δα ΔT/4h = 5.625 mm."""
    kappa = curvature_1_m(np.array([10e-6 * 50, 5e-6 * 50]), 0.300)
    assert abs(kappa) * 3.0**2 / 2 == pytest.approx(5.625e-3)  # a strip held at one end
    assert bow_mm(kappa, 6000) == pytest.approx(5.625)  # one held in the middle


@given(st.floats(-60, 60), st.floats(2e-3, 0.05))
def test_an_even_gradient_bends_by_itself(kelvin, thickness):
    """κ = α ΔT/h, beam theory (Boley & Weiner 1960, from memory), with ΔT from face to face."""
    z = (np.arange(50) + 0.5) / 50 - 0.5
    found = curvature_1_m(2e-4 * kelvin * z, thickness)
    assert found == pytest.approx(2e-4 * kelvin / thickness, rel=1e-3, abs=1e-12)


@given(st.lists(st.floats(-0.01, 0.01), min_size=3, max_size=12))
def test_what_is_symmetric_does_not_bend(half):
    assert curvature_1_m(np.array([*half, *half[::-1]]), 0.006) == pytest.approx(0, abs=1e-14)


def test_a_sheet_cooled_alike_on_both_sides_stays_flat():
    at = thermal_model(PressSetup(), "usual")
    sheet, board = Layer.at(at.cooling, SHEET, 180.0, 24), Layer.at(at.board, 9.8, 20.0, 8)
    for layers, joints in (([sheet], ()), ([board, sheet, board], (4e-3, 4e-3))):
        course = conduct(layers, at.air, at.air, 3600, joints_m2k_w=joints, every_s=60)
        across = course.temperature_c[len(layers) // 2]
        assert np.ptp(across, axis=1).max() > 5  # there is a profile, and it does not bend the sheet
        bows = [bow_mm(curvature_1_m(2.25e-4 * t, 0.006), 200) for t in across]
        assert max(bows) == pytest.approx(0, abs=1e-9)


def test_metal_boards_show_a_bad_contact():
    """Wood is the greater resistance, so how it touches hardly counts; metal takes heat where it touches."""
    wood, metal = (flatness(SHEET, 200, "two boards", PressSetup(board=b)) for b in ("plywood", "aluminium"))
    assert metal.unclamped_mm > 10 * wood.unclamped_mm


def test_one_board_bows_most_and_two_least():
    air, one, two = (flatness(SHEET, 200, way) for way in WAYS)
    assert one.unclamped_mm > air.unclamped_mm > two.unclamped_mm
    assert 1 < one.unclamped_mm < 4
    assert 0.2 < air.unclamped_mm < 1.5
    assert two.unclamped_mm < 0.1


def test_clamps_that_stay_until_forty_degrees_leave_a_fifth_of_the_bow():
    """Why they come off at 40 °C: the bow falls all the way from solid on, and little is left then."""
    found = flatness(SHEET, 200, "one board")
    marks = [found.let_go_at(celsius) for celsius in (115, 100, 80, 60, 40)]
    assert marks == sorted(marks, reverse=True)
    assert marks[0] == pytest.approx(found.unclamped_mm, rel=0.02)
    assert marks[-1] < found.unclamped_mm / 5
    assert found.hottest_c[-1] == pytest.approx(40, abs=0.2)


def test_the_first_bow_is_that_of_the_temperatures_across_the_sheet():
    """By hand: on one board in still air a 6 mm sheet has some 10 K across as it sets; α ΔT L²/8h is 2 mm."""
    found = flatness(SHEET, 200, "one board")
    alpha = hdpe()["expansion_per_k"]["usual"]
    assert 5 < found.unclamped_mm * 8 * 6 / (alpha * 200**2) < 15


def test_a_bow_grows_as_the_square_of_the_length():
    short, long = (flatness(SHEET, mm, "one board") for mm in (150, 300))
    assert long.unclamped_mm == pytest.approx(4 * short.unclamped_mm)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"mass_kg_m2": 0}, "mass_kg_m2 of a sheet must be a number above 0"),
        ({"length_mm": -1}, "length_mm of a sheet must be a number above 0"),
        ({"way": "in the sun"}, "way to cool must be one of those known, got 'in the sun'; choose open air"),
    ],
)
def test_impossible_sheets_are_refused_in_words(wrong, words):
    with pytest.raises(InputError) as refusal:
        flatness(**{"mass_kg_m2": SHEET, "length_mm": 200, "way": "one board"} | wrong)
    assert words in str(refusal.value)
