import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.workshop.conduction import Layer
from blendlab.workshop.heat import MAX_CELLS, Fold, folded, timetable
from blendlab.workshop.press_setup import BOARDS, LINERS, PACES, PressSetup, melt_density_g_cm3, thermal_model
from blendlab.workshop.properties import practice

SMALL_LOAD = 0.200 / 0.2**2  # common practice: about 200 g on a small press, here on 200 x 200 mm


def halves(count, mass_kg_m2=SMALL_LOAD):
    return [Fold(2, mass_kg_m2)] * count


def test_common_practice_lies_within_the_computed_times():
    """Common practice, no source: three minutes a side at 180 °C, one to two hours under boards."""
    makers = practice()
    melt_minutes, fold_minutes = (makers[f"{part}_minutes"]["value"] for part in ("melt_a_side", "fold"))
    quick, usual, slow = (timetable(SMALL_LOAD, halves(5), pace=pace) for pace in PACES)
    assert quick.melted_s < usual.melted_s < slow.melted_s
    assert quick.melted_s / 60 <= melt_minutes <= slow.melted_s / 60
    one_sided = [timetable(SMALL_LOAD, halves(5), PressSetup(heated_plates=1), pace=pace) for pace in PACES]
    both_sides = 2 * melt_minutes
    assert one_sided[0].melted_s / 60 <= both_sides <= one_sided[-1].melted_s / 60
    shortest, longest = (makers["cool_minutes"][end] for end in ("low", "high"))
    assert shortest <= quick.release_s / 60 < slow.release_s / 60 <= longest
    fold = [step.seconds for step in usual.steps if step.kind in ("fold", "press")][:2]
    assert sum(fold) / 60 == pytest.approx(fold_minutes)


def test_steps_follow_each_other_and_fill_the_time():
    table = timetable(SMALL_LOAD, halves(3))
    kinds = [step.kind for step in table.steps]
    assert kinds == ["melt", "soak", "fold", "press", "fold", "press", "fold", "press", "cool"]
    ends = [step.start_s + step.seconds for step in table.steps]
    assert [step.start_s for step in table.steps[1:]] == pytest.approx(ends[:-1])
    assert table.hot_s == pytest.approx(table.steps[-1].start_s)
    assert table.seconds[-1] == pytest.approx(table.hot_s + table.release_s)
    assert np.all(np.diff(table.seconds) >= 0)
    assert table.core_c.shape == table.bottom_c.shape == table.top_c.shape == table.seconds.shape


def test_milestones_stand_on_the_curves():
    table = timetable(SMALL_LOAD, halves(2))
    assert table.steps[0].coolest_c == pytest.approx(135, abs=0.5)
    assert 0 < table.solid_s < table.safe_s < table.release_s
    for mark, seconds in ((115, table.solid_s), (50, table.safe_s), (40, table.release_s)):
        cooling = table.seconds >= table.hot_s
        core = np.interp(table.hot_s + seconds, table.seconds[cooling], table.core_c[cooling])
        assert core == pytest.approx(mark, abs=0.5)
    assert table.core_c.max() < 180


def test_what_sets_gives_back_what_melting_took():
    """Both ways round the enthalpies of melt and solid are the same, as Kirchhoff's law asks."""
    at = thermal_model(PressSetup(), "usual")
    for t in (20.0, 100.0, 115.0, 135.0, 150.0, 180.0):
        assert at.cooling.enthalpy(t) == pytest.approx(float(at.solid.enthalpy(t)), rel=1e-12)
    # Crystallisation is followed at 115-118 °C (Rev. Fac. Ing. UCV 23 (2008) no. 4).
    assert at.cooling.melting_c == (115.0, 120.0)
    assert at.cooling.fusion_j_kg == pytest.approx(at.solid.fusion_j_kg - 300 * 12.5)


def test_a_sheet_stays_soft_below_the_melting_range():
    """Solid means crystallised: at 115 °C, later than at the 125 °C where melting starts."""
    table = timetable(SMALL_LOAD, halves(2))
    cooling = table.seconds >= table.hot_s
    below_melting = np.interp(-125, -table.core_c[cooling], table.seconds[cooling]) - table.hot_s
    assert table.solid_s > 1.2 * below_melting


def test_an_open_slab_cools_and_a_press_melts_it_again():
    steps = timetable(SMALL_LOAD, halves(4), PressSetup(open_s=300)).steps
    for before, fold, press in zip(steps[1::2], steps[2::2], steps[3::2], strict=False):
        assert fold.coolest_c < before.coolest_c
        assert press.coolest_c >= 135


def test_thicker_slabs_and_more_loads_take_longer():
    thin, thick = timetable(3.0, halves(2, 3.0)), timetable(9.0, halves(2, 9.0))
    assert thin.melted_s < thick.melted_s
    assert thin.release_s < thick.release_s
    one, three = timetable(3.0, halves(2, 3.0)), timetable(3.0, halves(2, 3.0), loads=3)
    assert [step.kind for step in three.steps][-3:] == ["join", "soak", "cool"]
    assert three.release_s == pytest.approx(thick.release_s, rel=0.05)  # it starts a little cooler
    assert three.melted_s == one.melted_s


def test_warmer_plates_and_metal_boards_are_quicker():
    usual = timetable(SMALL_LOAD, halves(1))
    assert timetable(SMALL_LOAD, halves(1), PressSetup(plate_c=200)).melted_s < usual.melted_s
    assert (
        timetable(SMALL_LOAD, halves(1), PressSetup(board="aluminium", board_mm=6)).release_s
        < usual.release_s
    )


@pytest.mark.parametrize("board", BOARDS)
@pytest.mark.parametrize("liner", LINERS)
def test_every_board_and_liner_works(board, liner):
    assert timetable(SMALL_LOAD, halves(0), PressSetup(board=board, liner=liner)).release_s > 0


@given(st.integers(2, 4), st.lists(st.floats(20, 180), min_size=MAX_CELLS, max_size=MAX_CELLS))
@settings(max_examples=30, deadline=None)
def test_folding_keeps_the_heat(layers, profile):
    material = thermal_model(PressSetup(), "usual").solid
    slab = Layer(material, 5.0, material.enthalpy(np.array(profile)))
    same_plan, built_up = folded(slab, Fold(layers, 5.0)), folded(slab, Fold(layers, layers * 5.0))
    heat_j_m2, same, built = (
        part.mass_kg_m2 * part.enthalpy_j_kg.mean() for part in (slab, same_plan, built_up)
    )
    assert same == pytest.approx(heat_j_m2)  # the plan grew back to what it was
    assert built == pytest.approx(layers * heat_j_m2)  # on a plan as many times smaller
    assert len(same_plan.enthalpy_j_kg) == MAX_CELLS


def test_a_fold_brings_the_top_skin_to_the_middle():
    material = thermal_model(PressSetup(), "usual").solid
    slab = Layer(material, 5.0, material.enthalpy(np.linspace(140, 160, MAX_CELLS)))
    t = folded(slab, Fold(2, 5.0)).temperature_c
    assert t == pytest.approx(t[::-1])
    assert t.argmax() in (MAX_CELLS // 2 - 1, MAX_CELLS // 2)


def test_melt_density_is_that_of_the_published_fit():
    """Rodgers 1993, from memory: about 0.76 g/cm³ at 190 °C."""
    assert melt_density_g_cm3(190) == pytest.approx(0.76, abs=0.005)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"plate_c": 300.0}, "where HDPE breaks down in air and fumes, got 300 °C; press near 180 °C"),
        ({"plate_c": 250.0}, "plates must stay below 250 °C, where HDPE breaks down in air and fumes"),
        ({"plate_c": 220, "liner": "silicone"}, "below 220 °C, the limit of a silicone mat, got 220 °C"),
        ({"plate_c": 230.5, "liner": "silicone"}, "the limit of a silicone mat, got 230.5 °C"),
        ({"plate_c": 140.0}, "plates must be at 150 °C or more to melt HDPE through"),
        ({"plate_c": float("nan")}, "plate_c must be a number"),
        ({"heated_plates": 3}, "heated_plates must be a whole number from 1 to 2"),
        ({"board": "slate"}, "board must be one of those known"),
        ({"release_c": 21.0}, "release_c must be a number from 25 to 50"),
        ({"open_s": -1}, "open_s must be a number"),
    ],
)
def test_a_press_that_cannot_work_is_refused_in_words(wrong, words):
    with pytest.raises(InputError) as refusal:
        PressSetup(**wrong)
    assert words in str(refusal.value)


def test_a_load_too_thick_to_melt_is_refused():
    with pytest.raises(InputError, match="press less at once"):
        timetable(120.0, (), PressSetup(plate_c=150, heated_plates=1))
