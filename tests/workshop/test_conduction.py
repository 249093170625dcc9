import csv
import tomllib
from math import erf, erfc, exp, pi, sqrt
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from blendlab.workshop.conduction import (
    KELVIN,
    STEFAN_BOLTZMANN,
    Boundary,
    Layer,
    Material,
    Phase,
    StopCondition,
    conduct,
)

REFERENCE = Path(__file__).parents[1] / "reference" / "plane_wall"
INSULATED = Boundary(0.0, 0.0)
STEEL_LIKE = Material(Phase(1000.0, 1.0, 1000.0))
HDPE_LIKE = Material(Phase(950.0, 0.43, 2200.0), Phase(770.0, 0.26, 2500.0), (125.0, 135.0), 201e3)


def one_term_rows():
    with (REFERENCE / "one_term.csv").open() as file:
        return [tuple(float(row[key]) for key in ("bi", "zeta", "c1")) for row in csv.DictReader(file)]


def first_root(bi):
    return brentq(lambda z: z * np.tan(z) - bi, 1e-9, pi / 2 - 1e-12)


@pytest.mark.parametrize(("bi", "zeta", "c1"), one_term_rows())
def test_middle_of_a_plane_wall_follows_the_one_term_solution(bi, zeta, c1):
    """Incropera & DeWitt, Table 5.1 and equation 5.41, at Fo = 1, where the other terms have died away."""
    exact = first_root(bi)
    assert exact == pytest.approx(zeta, abs=5e-5)
    assert 4 * np.sin(exact) / (2 * exact + np.sin(2 * exact)) == pytest.approx(c1, abs=5e-5)
    half_m, seconds = 0.01, 100.0  # Fo = alpha t / L^2 = 1 with alpha = 1e-6 m2/s
    wall = Layer.at(STEEL_LIKE, 1000 * half_m, 100.0, 80)
    history = conduct([wall], INSULATED, Boundary(0.0, bi * 1.0 / half_m), seconds)
    t = history.temperature_c[0][-1]
    middle = 1.125 * t[0] - 0.125 * t[1]  # a parabola with no slope at the insulated middle
    series = 4 * np.sin(exact) / (2 * exact + np.sin(2 * exact)) * exp(-(exact**2))
    assert middle / 100 == pytest.approx(series, rel=4e-4)


def test_handbook_example_of_a_heated_pipe_wall():
    """Incropera & DeWitt, Example 5.4; the insulated face also against the exact root, 43.017 °C."""
    case = tomllib.loads((REFERENCE / "example_5_4.toml").read_text())
    printed = case["printed"]
    metal = Material(Phase(case["density_kg_m3"], case["conductivity_w_mk"], case["heat_j_kgk"]))
    wall = Layer.at(metal, case["density_kg_m3"] * case["thickness_m"], case["start_c"], 40)
    history = conduct([wall], INSULATED, Boundary(case["oil_c"], case["film_w_m2k"]), case["seconds"])
    t = history.temperature_c[0][-1]
    assert 1.125 * t[0] - 0.125 * t[1] == pytest.approx(43.017, abs=0.005)
    assert t[0] == pytest.approx(printed["insulated_face_c"], abs=0.15)  # the book rounds zeta and C1
    assert 1.5 * t[-1] - 0.5 * t[-2] == pytest.approx(printed["heated_face_c"], abs=0.05)
    heat_j_per_m = history.heat_in_j_m2[-1, 1] * pi * case["diameter_m"]
    assert heat_j_per_m == pytest.approx(printed["heat_j_per_m"], abs=0.005e7)


def melted_m(layer, density):
    """Depth of the melt, counted in enthalpy, so that the cell in between counts in part."""
    material = layer.material
    solid = material.enthalpy(material.melting_c[0])
    part = np.clip((layer.enthalpy_j_kg - solid) / material.fusion_j_kg, 0, 1)
    return layer.mass_kg_m2 / density * part.mean()


@pytest.mark.parametrize("start_c", [130.0, 20.0])
def test_melting_front_follows_neumann(start_c):
    """Carslaw & Jaeger 1959, §11.2: Neumann's front 2λ√(αt); from the melting point, Stefan's problem."""
    density, face_c, point_c, fusion = 900.0, 180.0, 130.0, 200e3
    solid, melt = Phase(density, 0.43, 2200.0), Phase(density, 0.26, 2500.0)
    alpha, alpha_solid = (p.conductivity_w_mk / density / p.heat_j_kgk for p in (melt, solid))
    ratio = sqrt(alpha / alpha_solid)

    def gap(x):
        into_melt = melt.heat_j_kgk * (face_c - point_c) / (exp(x * x) * erf(x))
        from_solid = solid.conductivity_w_mk / melt.conductivity_w_mk * ratio * melt.heat_j_kgk
        from_solid *= (point_c - start_c) / (exp((x * ratio) ** 2) * erfc(x * ratio))
        return into_melt - from_solid - x * fusion * sqrt(pi)

    seconds = 300.0
    front_m = 2 * brentq(gap, 1e-6, 3) * sqrt(alpha * seconds)
    slab = Layer.at(Material(solid, melt, (point_c, point_c), fusion), density * 0.05, start_c, 400)
    history = conduct([slab], Boundary(face_c, np.inf), INSULATED, seconds)
    assert melted_m(history.layers[0], density) == pytest.approx(front_m, rel=0.01)


def heat_j_m2(layer):
    return layer.mass_kg_m2 * layer.enthalpy_j_kg.mean()


def test_heat_is_conserved():
    board = Layer.at(Material(Phase(545.0, 0.12, 1215.0)), 9.8, 20.0, 12)
    slab = Layer.at(HDPE_LIKE, 5.0, 20.0, 24)
    stack = [board, slab, board.flipped()]
    sides = Boundary(180.0, 900.0), Boundary(20.0, 5.0, 0.9)
    history = conduct(stack, *sides, 4000.0, joints_m2k_w=(1e-3, 4e-3), every_s=100.0)
    held = sum(map(heat_j_m2, history.layers)) - sum(map(heat_j_m2, stack))
    assert held == pytest.approx(history.heat_in_j_m2[-1].sum(), rel=1e-10)
    assert history.temperature_c[1].max() > 100  # it did heat through


def melting_time_s(cells, share):
    slab = Layer.at(HDPE_LIKE, 5.0, 20.0, cells)
    stop = StopCondition(0, 135.0, rising=True)
    history = conduct(
        [slab], Boundary(180.0, 700.0), Boundary(180.0, 700.0), 1e4, stop=stop, step_fraction=share
    )
    assert history.reached
    return history.seconds[-1]


def test_halving_the_grid_and_the_step_changes_little():
    coarse, fine, finer = (melting_time_s(cells, 0.9) for cells in (24, 48, 96))
    assert coarse == pytest.approx(finer, rel=0.02)
    assert fine == pytest.approx(finer, rel=0.01)
    assert melting_time_s(24, 0.45) == pytest.approx(coarse, rel=0.002)


def test_steady_flow_through_layers_adds_their_resistances():
    layers = [Layer.at(Material(Phase(1000.0, k, 1000.0)), 10.0, 20.0, 8) for k in (0.5, 2.0)]
    history = conduct(
        layers, Boundary(100.0, 50.0), Boundary(0.0, 10.0), 2e5, joints_m2k_w=(0.01,), every_s=1e5
    )
    flow = np.diff(history.heat_in_j_m2[1:], axis=0)[0] / np.diff(history.seconds[1:])[0]
    resistance = 1 / 50 + 0.01 / 0.5 + 0.01 + 0.01 / 2.0 + 1 / 10
    assert flow == pytest.approx([100 / resistance, -100 / resistance], rel=1e-6)


def test_a_thin_plate_radiates_as_the_fourth_power_law_says():
    """1/T³ grows as 3 ε σ t / (m c) towards surroundings at absolute zero (integrated by hand)."""
    mass, heat, emissivity, seconds = 5.0, 1000.0, 0.9, 600.0
    plate = Layer.at(Material(Phase(1000.0, 1e4, heat)), mass, 200.0, 1)
    history = conduct([plate], INSULATED, Boundary(-KELVIN, 0.0, emissivity), seconds, step_fraction=5e-4)
    expected = ((200 + KELVIN) ** -3 + 3 * emissivity * STEFAN_BOLTZMANN * seconds / mass / heat) ** (-1 / 3)
    assert history.temperature_c[0][-1, 0] + KELVIN == pytest.approx(expected, abs=0.3)


def test_an_insulated_stack_of_one_temperature_stays_as_it_is():
    stack = [Layer.at(HDPE_LIKE, 5.0, 150.0, 6), Layer.at(STEEL_LIKE, 5.0, 150.0, 6)]
    history = conduct(stack, INSULATED, INSULATED, 100.0, joints_m2k_w=(0.0,))
    assert np.concatenate(history.temperature_c, axis=1) == pytest.approx(np.full((2, 12), 150.0))


@given(st.floats(-50, 400))
def test_enthalpy_and_temperature_are_inverse(temperature_c):
    layer = Layer.at(HDPE_LIKE, 1.0, temperature_c, 1)
    assert layer.temperature_c[0] == pytest.approx(temperature_c, abs=1e-9)


def test_a_threshold_counts_only_after_its_time():
    slab = Layer.at(STEEL_LIKE, 5.0, 100.0, 4)
    stop = StopCondition(0, 50.0, rising=True, after_s=30.0)
    history = conduct([slab], INSULATED, INSULATED, 60.0, stop=stop)
    assert history.reached
    assert history.seconds[-1] == pytest.approx(30.0)


def test_a_threshold_that_is_not_met_is_reported():
    slab = Layer.at(STEEL_LIKE, 5.0, 20.0, 4)
    history = conduct(
        [slab], INSULATED, INSULATED, 60.0, stop=StopCondition(0, 50.0, rising=True), every_s=7.0
    )
    assert not history.reached
    assert history.seconds == pytest.approx([0, 7, 14, 21, 28, 35, 42, 49, 56, 60])
