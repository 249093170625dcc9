from dataclasses import replace
from math import exp, log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.workshop.melt_flow import (
    STOCKS,
    Stock,
    from_melt_index,
    melt,
    rate_of_test_1_s,
    stock_of,
    stress_of_test_pa,
)
from blendlab.workshop.press_setup import PACES
from blendlab.workshop.properties import flow

PLAIN = {"index": 1.0, "activation_kj_mol": 27.5}


def viscosity_pa_s(melt, rate_1_s):
    return melt.consistency_pa_sn * rate_1_s ** (melt.index - 1)


def test_the_test_shears_at_the_published_stress():
    """Shenoy & Saini 1986, Adv. Polym. Technol. 6:1, from memory: 1.97e4 Pa, 1.83 MFI/ρ per second."""
    assert stress_of_test_pa() == pytest.approx(1.97e4, rel=0.005)
    assert rate_of_test_1_s(1.0, 1.0) == pytest.approx(1.83 / 0.764, rel=0.015)


def test_a_melt_of_index_one_is_worked_out_by_hand():
    """Q = 1 g/600 s / 0.764 g/cm³ = 2.18e-9 m³/s, γ̇ = 4Q/πr³ = 2.42/s, η = 19.7 kPa/γ̇ = 8.1 kPa·s."""
    assert from_melt_index(1.0, 190, **PLAIN).consistency_pa_sn == pytest.approx(8.1e3, rel=0.01)


@given(st.floats(0.05, 50), st.floats(0.3, 1))
def test_the_flow_curve_passes_through_the_test(melt_index, index):
    found = from_melt_index(melt_index, 190, index=index, activation_kj_mol=27.5)
    rate = rate_of_test_1_s(melt_index, index)
    assert viscosity_pa_s(found, rate) * rate == pytest.approx(stress_of_test_pa(), rel=1e-9)


@given(st.floats(0.1, 20), st.floats(140, 240))
def test_temperature_shifts_a_newtonian_melt_by_arrhenius(melt_index, temperature_c):
    there, here = (from_melt_index(melt_index, c, **PLAIN) for c in (190, temperature_c))
    shift = exp(27500 / 8.314462618 * (1 / (temperature_c + 273.15) - 1 / 463.15))
    assert here.consistency_pa_sn / there.consistency_pa_sn == pytest.approx(shift, rel=1e-9)


@given(st.floats(0.4, 0.9), st.floats(145, 235), st.floats(1e-2, 1e2))
def test_time_and_temperature_superpose(index, temperature_c, rate):
    """η(γ̇, T) = a_T η(a_T γ̇, T₀), with a_T as that of a melt that does not thin."""
    there, here = (from_melt_index(1.0, c, index=index, activation_kj_mol=27.5) for c in (190, temperature_c))
    shift = exp(27500 / 8.314462618 * (1 / (temperature_c + 273.15) - 1 / 463.15))
    assert viscosity_pa_s(here, rate) == pytest.approx(shift * viscosity_pa_s(there, shift * rate), rel=1e-9)


def test_the_activation_energy_is_the_published_one():
    """J. Rheol. 40 (1996) 1079, two HDPE resins: 25.9 and 29.1 kJ/mol."""
    row = flow()["activation_kj_mol"]
    assert (row["low"], row["high"]) == (25.9, 29.1)
    ratios = [
        from_melt_index(1, 160, index=1, activation_kj_mol=row[end]).consistency_pa_sn
        for end in ("low", "high")
    ]
    ratios = [ratio / from_melt_index(1, 190, **PLAIN).consistency_pa_sn for ratio in ratios]
    assert ratios == pytest.approx([1.594, 1.688], abs=0.001)


def test_thinning_keeps_between_its_two_known_limits():
    """1 does not thin; ten times the load presses 97 times as much out: n = log 10/log 97 (NCHRP 696)."""
    steep = log(10) / log(flow()["flow_ratio"]["usual"])
    assert steep == pytest.approx(0.503, abs=0.001)
    row = flow()["slow_thinning"]
    assert steep < row["low"] < row["usual"] < row["high"] < 1


@pytest.mark.parametrize("kind", STOCKS)
@pytest.mark.parametrize("temperature_c", [150.0, 190.0, 220.0])
def test_a_slower_pace_is_a_stiffer_melt(kind, temperature_c):
    quick, usual, slow = (viscosity_pa_s(melt(Stock(kind), temperature_c, pace), 0.1) for pace in PACES)
    assert quick < usual < slow


def test_bottles_are_stiffer_than_caps_and_caps_than_crates():
    bottle, cap, crate = (
        viscosity_pa_s(melt(Stock(kind), 170, "usual"), 0.1) for kind in ("bottle", "cap", "crate")
    )
    assert bottle > cap > crate
    # From memory: blow moulding HDPE of melt index about 0.4 has some 3-6e4 Pa·s at 0.1/s and 190 °C.
    assert 2e4 < viscosity_pa_s(melt(Stock(melt_index_g_10min=0.4), 190, "usual"), 0.1) < 7e4


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        (("bottle", "bottle"), "bottle"),
        (("bottle", "cap"), "mixed"),
        (("cap", None), "mixed"),
        ((None, None), "mixed"),
    ],
)
def test_a_recipe_of_one_stock_melts_like_it_and_others_like_mixed_stock(sheet, said, kind):
    first = sheet.recipe.flakes[0]
    flakes = tuple(replace(first, name=str(n), stock=stock) for n, stock in enumerate(said))
    assert stock_of(sheet.recipe.with_flakes(flakes)) == Stock(kind)


def test_a_known_melt_index_overrides_the_kind():
    assert melt(Stock("crate", 0.5), 170, "usual") == melt(Stock("bottle", 0.5), 170, "usual")


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"melt_index_g_10min": 0.0}, "melt index in g/10 min must be a number from 0.01 to 100, got 0.0"),
        ({"melt_index_g_10min": float("nan")}, "melt index in g/10 min must be a number"),
        ({"kind": "spoon"}, "stock must be one of those known, got 'spoon'; choose bottle"),
    ],
)
def test_unknown_stock_is_refused_in_words(wrong, words):
    with pytest.raises(InputError) as refusal:
        Stock(**wrong)
    assert words in str(refusal.value)


def test_a_melt_index_of_nothing_is_refused():
    with pytest.raises(InputError, match="melt index in g/10 min must be a number above 0, got 0"):
        from_melt_index(0, 190, **PLAIN)
