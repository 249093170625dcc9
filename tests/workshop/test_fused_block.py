import pytest

from blendlab.checks import InputError
from blendlab.workshop.ageing import ageing
from blendlab.workshop.fused_block import fuse, thickest_mm
from blendlab.workshop.press_setup import PressSetup


def test_a_thick_blocks_heating_grows_as_the_square_of_its_height():
    """Fourier's law of a slab between held faces; liner and contact make thin ones a little slower."""
    thin, thick = (fuse(sheets, 6).melted_s for sheets in (5, 10))
    assert thick / thin == pytest.approx(4, rel=0.03)
    assert thick > 3 * 3600  # 60 mm: hours


def test_it_melts_as_long_as_neumanns_front_needs():
    """A half-space melts to a depth s = 2 λ √(α t) (Neumann, in Carslaw & Jaeger 1959, from memory), and two
    fronts that meet in the middle go a little faster: 60 mm HDPE between plates at 180 °C."""
    density, heat, fusion, conductivity = 955.0, 2500.0, 201e3, 0.26
    stefan = (
        heat * (180 - 130) / (fusion + 2200 * (130 - 20))
    )  # what the melt gives over what the solid takes
    depth, rough = 0.030, (stefan / 2) ** 0.5
    front = depth**2 / (4 * rough**2 * conductivity / density / heat)
    assert fuse(10, 6).melted_s == pytest.approx(front, rel=0.25)


def test_steps_are_joining_soaking_and_cooling():
    table = fuse(4, 6)
    assert [step.kind for step in table.steps] == ["join", "soak", "cool"]
    assert table.steps[0].coolest_c >= 135 - 0.5
    assert table.melted_s == pytest.approx(table.steps[0].seconds)
    assert table.release_s > 1.8 * fuse(2, 6).release_s  # boards of wood: nearer the height than its square


def test_with_one_heated_plate_a_block_is_turned():
    assert "turn" in [step.kind for step in fuse(3, 6, PressSetup(heated_plates=1)).steps]


def test_the_thickest_block_is_just_within_the_budget():
    thickest = thickest_mm()
    assert 10 < thickest.low < thickest.usual < thickest.high < 60
    for mm, minutes in ((thickest.low, 9.0), (thickest.high, 39.0)):
        assert ageing(fuse(2, mm / 2)).used_minutes <= minutes
        assert ageing(fuse(2, mm / 2 + 1)).used_minutes > minutes


def test_cooler_plates_allow_a_thicker_block():
    """Melting takes longer there, but the melt ages slower by more."""
    assert thickest_mm(PressSetup(plate_c=160)).low > thickest_mm(PressSetup(plate_c=200)).low


@pytest.mark.parametrize(
    ("sheets", "mm", "words"),
    [
        (1, 6, "sheets in a block must be a whole number from 2 to 50, got 1"),
        (3, 0, "thickness of a sheet in mm must be a number from 1 to 90, got 0"),
        (20, 6, "press less at once"),
    ],
)
def test_blocks_that_cannot_be_fused_are_refused_in_words(sheets, mm, words):
    with pytest.raises(InputError) as refusal:
        fuse(sheets, mm)
    assert words in str(refusal.value)
