"""Kubelka-Munk layers: published values, exact limits, laws."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.colour import film

REFERENCE = tomllib.loads(
    (Path(__file__).parents[1] / "reference" / "colour" / "kubelka_munk.toml").read_text(encoding="utf-8")
)
FILM = REFERENCE["film"]

strengths = st.floats(1e-4, 1e4)
depths = st.floats(1e-4, 1e3)
parts = st.floats(0, 1)


def half_last_digit(printed):
    return 0.5 * 10 ** -len(printed.partition(".")[2])


def test_k_over_s_table():
    # Kubelka & Munk 1931
    table = REFERENCE["k_over_s"]
    for reflectance, printed in zip(table["reflectance"], table["ratio"], strict=True):
        expected = pytest.approx(float(printed), abs=half_last_digit(printed) * (1 + 1e-9))
        assert float(film.k_over_s(reflectance)) == expected


def test_equal_absorption_and_scattering():
    assert float(film.thick(1, 1)) == pytest.approx(2 - np.sqrt(3), abs=1e-15)  # exact


def test_film_over_three_backings():
    # Kubelka 1948
    found = film.over(FILM["backing"], FILM["k_per_mm"], FILM["s_per_mm"], FILM["thickness_mm"])
    assert found == pytest.approx(FILM["reflectance"], abs=5e-11)
    assert float(film.thick(FILM["k_per_mm"], FILM["s_per_mm"])) == pytest.approx(FILM["thick"], abs=5e-11)


@given(strengths, depths, parts)
def test_film_agrees_with_its_customary_form(k, x, backing):
    # Kubelka 1948: R = [1 − Rg(a − b coth bSX)] / [a − Rg + b coth bSX], with S = 1
    a = 1 + k
    b = np.sqrt(k * (k + 2))
    coth = 1 / np.tanh(b * x)
    customary = (1 - backing * (a - b * coth)) / (a - backing + b * coth)
    assert float(film.over(backing, k, 1.0, x)) == pytest.approx(customary, rel=1e-8, abs=1e-11)


@given(strengths, depths)
def test_without_absorption(s, x):
    # K → 0: R0 = SX/(1 + SX), exact
    assert float(film.over(0.0, 0.0, s, x)) == pytest.approx(s * x / (1 + s * x), rel=1e-12)
    assert float(film.over(0.0, 1e-14, s, x)) == pytest.approx(s * x / (1 + s * x), rel=1e-5)


@given(strengths, depths, parts)
def test_without_scattering(k, x, backing):
    # S → 0: twice through a clear layer, Beer-Lambert
    assert float(film.over(backing, k, 0.0, x)) == pytest.approx(backing * np.exp(-2 * k * x), abs=1e-12)


@given(strengths, strengths, parts)
def test_zero_thickness_shows_the_backing_and_a_thick_layer_hides_it(k, s, backing):
    assert float(film.over(backing, k, s, 0.0)) == pytest.approx(backing, abs=1e-15)
    assert float(film.over(backing, k, s, 1e12)) == pytest.approx(float(film.thick(k, s)), abs=1e-9)


@given(st.floats(3e-5, 0.9999), strengths)
def test_reflectance_returns_through_k_and_s(reflectance, s):
    assert float(film.thick(film.k_over_s(reflectance) * s, s)) == pytest.approx(reflectance, rel=1e-9)


@given(strengths, strengths, depths, parts)
def test_no_layer_returns_more_light_than_it_receives(k, s, x, backing):
    assert 0 <= film.over(backing, k, s, x) <= 1


@given(strengths, strengths, depths, depths, parts)
def test_two_layers_of_one_plastic_act_as_one(k, s, upper, lower, backing):
    # invariance under cutting, on which the equations rest
    stacked = film.over(film.over(backing, k, s, lower), k, s, upper)
    assert float(stacked) == pytest.approx(float(film.over(backing, k, s, upper + lower)), abs=1e-9)


def test_where_reached_solves_each_element_and_stays_in_its_bracket():
    levels = np.array([4.0, 9.0, 1e9])
    found = film.where_reached(lambda x: x**2, levels, 1e-3, 10.0, (3,))
    assert found == pytest.approx([2.0, 3.0, 10.0], rel=1e-8)


@given(strengths, strengths, depths)
def test_transmission_agrees_with_its_customary_form(k, s, x):
    # Kubelka 1948: T = b / (a sinh bSX + b cosh bSX)
    a = 1 + k / s
    b = np.sqrt(k / s * (k / s + 2))
    if b * s * x < 700:  # beyond, the customary form overflows
        customary = b / (a * np.sinh(b * s * x) + b * np.cosh(b * s * x))
        assert float(film.through(k, s, x)) == pytest.approx(customary, rel=1e-7, abs=1e-300)
    assert 0 <= film.through(k, s, x) <= 1 - film.over(0.0, k, s, x) + 1e-12  # the rest is absorbed


def test_clear_layers_transmit_all_light():
    # T + R0 = 1 without absorption, T = 1 without either
    assert float(film.through(0.0, 2.0, 3.0)) == pytest.approx(1 / 7, rel=1e-12)
    assert float(film.through(0.0, 0.0, 3.0)) == 1


def test_two_readings_recover_the_layer():
    # Kubelka 1948: readings over black and over 0.8, as published above
    black, light = FILM["reflectance"][:2]
    ratio, s = film.from_two_backings(black, light, *FILM["backing"][:2], FILM["thickness_mm"])
    assert float(ratio) == pytest.approx(FILM["k_per_mm"] / FILM["s_per_mm"], abs=1e-8)
    assert float(s) == pytest.approx(FILM["s_per_mm"], abs=1e-8)


@given(st.floats(1e-3, 5), st.floats(0.1, 5), st.floats(0.05, 0.5), st.floats(0, 0.3), st.floats(0.6, 1))
def test_readings_over_any_two_backings_recover_the_layer(k, s, x, dark, light):
    readings = film.over([dark, light], k, s, x)
    ratio, found = film.from_two_backings(*readings, dark, light, x)
    assert float(ratio) == pytest.approx(k / s, rel=1e-5)
    assert float(found) == pytest.approx(s, rel=1e-5)


def test_readings_that_hide_the_backing_give_only_the_ratio():
    ratio, s = film.from_two_backings(0.3, 0.3, 0.0, 0.8, 1.0)
    assert float(ratio) == pytest.approx(float(film.k_over_s(0.3)), rel=1e-12)
    assert not np.isfinite(s) or s > 10
