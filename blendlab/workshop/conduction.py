"""Heat through a stack of layers that may melt: one dimension, enthalpy method, finite volumes.

The state of a cell is its enthalpy and its size is a mass per area, so energy and mass are conserved:
what leaves one cell enters the next, and a layer swells as it melts without moving any cell.
Temperature follows from enthalpy, which makes melting part of the same equation (Voller & Cross 1981,
Int. J. Heat Mass Transfer 24:545). The step is explicit and as long as stability permits.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from ..runtime.compiled import compiled
from ..runtime.records import records

Array = npt.NDArray[np.float64]

STEFAN_BOLTZMANN = 5.670374419e-8  # W/(m²·K⁴), exact since the SI of 2019
KELVIN = 273.15  # 0 °C in K


class Phase(NamedTuple):
    """One state of a material: solid, melt, or a loose bed; every number is above 0."""

    density_kg_m3: float
    conductivity_w_mk: float
    heat_j_kgk: float


class Properties(NamedTuple):
    """The two phases of a material and its melting as compiled code reads them; units as in `Material`."""

    density: float
    conductivity: float
    heat: float
    melt_density: float
    melt_conductivity: float
    melt_heat: float
    melting_start: float
    melting_end: float
    fusion: float


@dataclass(frozen=True)
class Material:
    """What a layer is made of; without `melt` it is always solid.

    Parameters
    ----------
    solid : Phase
        Below the melting range.
    melt : Phase, optional
        Above it.
    melting_c : tuple of float
        Where melting starts and ends, °C; both may be the same.
    fusion_j_kg : float
        Heat of fusion, spread evenly over the melting range.
    """

    solid: Phase
    melt: Phase | None = None
    melting_c: tuple[float, float] = (np.inf, np.inf)
    fusion_j_kg: float = 0.0

    @property
    def properties(self) -> Properties:
        """All numbers in a row; a material that never melts repeats its solid."""
        return Properties(*self.solid, *(self.melt or self.solid), *self.melting_c, self.fusion_j_kg)

    def enthalpy(self, temperature_c: npt.ArrayLike) -> Array:
        """Enthalpy above 0 °C, J/kg, at a temperature; at a sharp melting point, that of the solid."""
        t = np.asarray(temperature_c, dtype=np.float64)
        if self.melt is None:
            return self.solid.heat_j_kgk * t
        low, high = self.melting_c
        solid, melt = self.solid.heat_j_kgk, self.melt.heat_j_kgk
        latent = self.fusion_j_kg + (solid + melt) / 2 * (high - low)
        part = np.clip((t - low) / (high - low), 0, 1) if high > low else (t > low).astype(np.float64)
        return solid * np.minimum(t, low) + latent * part + melt * np.maximum(t - high, 0)


@dataclass(frozen=True)
class Layer:
    """A layer divided into cells of equal mass, bottom cell first.

    Parameters
    ----------
    material : Material
        What it is made of.
    mass_kg_m2 : float
        Mass of the whole layer on a square metre.
    enthalpy_j_kg : ndarray of float64, shape (cells,)
        Enthalpy above 0 °C.
    """

    material: Material
    mass_kg_m2: float
    enthalpy_j_kg: Array

    @classmethod
    def at(cls, material: Material, mass_kg_m2: float, temperature_c: float, cells: int) -> "Layer":
        """Return a layer at one temperature, °C, in `cells` cells."""
        return cls(material, mass_kg_m2, np.full(cells, material.enthalpy(temperature_c)))

    @property
    def temperature_c(self) -> Array:
        """Temperature in the middle of each cell, °C."""
        (properties,) = records(Properties, [self.material.properties])
        return np.array([_state(h, properties)[0] for h in self.enthalpy_j_kg])

    def flipped(self) -> "Layer":
        """Return the layer upside down."""
        return replace(self, enthalpy_j_kg=self.enthalpy_j_kg[::-1].copy())


class Boundary(NamedTuple):
    """Thermal boundary condition at one outer face of the stack.

    Parameters
    ----------
    temperature_c : float
        Of the plate or the surroundings, °C.
    film_w_m2k : float
        Contact conductance or convection coefficient, W/(m²·K); 0 insulates, infinity fixes the face
        temperature.
    emissivity : float
        Of the outer face, 0-1, radiating to surroundings at `temperature_c`; 0 against a plate.
    """

    temperature_c: float
    film_w_m2k: float
    emissivity: float = 0.0


@dataclass(frozen=True)
class StopCondition:
    """When to stop early: once all of one layer is above, or below, a temperature.

    Parameters
    ----------
    layer : int
        Which layer, from the bottom.
    rising : bool
        True: stop when the coldest cell reaches the threshold; False: when the hottest does.
    after_s : float
        Never before this time, s.
    """

    layer: int
    temperature_c: float
    rising: bool
    after_s: float = 0.0


@dataclass(frozen=True)
class History:
    """Temperatures over time, and the state at the end.

    Attributes
    ----------
    seconds : ndarray, shape (times,)
        Time from the start; the first is 0, the last the end.
    temperature_c : tuple of ndarray, one a layer, shape (times, cells)
        In the middle of each cell.
    heat_in_j_m2 : ndarray, shape (times, 2)
        Heat taken up so far through the bottom and through the top.
    layers : tuple of Layer
        The stack at the end.
    reached : bool
        Whether the `StopCondition` was met; True where none was given.
    """

    seconds: Array
    temperature_c: tuple[Array, ...]
    heat_in_j_m2: Array
    layers: tuple[Layer, ...]
    reached: bool


class _Stack(NamedTuple):
    """The cells of all layers as compiled code reads them, the bottom one first."""

    enthalpy: Array  # J/kg
    mass: Array  # kg/m²
    properties: Sequence[Properties]  # record array
    joints: Array  # m²·K/W, below each cell and above the last
    boundaries: Sequence[Boundary]  # record array: bottom and top


class _Watch(NamedTuple):
    """A `StopCondition` as a range of cells, the end excluded; empty where there is none."""

    first: int = 0
    end: int = 0
    threshold_c: float = 0.0
    rising: bool = True
    after_s: float = 0.0


class _Clock(NamedTuple):
    """Longest time, spacing of the recorded times, and time step as a fraction of the longest stable one."""

    seconds: float
    every_s: float
    step_fraction: float


class _Record(NamedTuple):
    """Arrays for what is recorded; rows beyond the last recorded time stay 0."""

    seconds: Array  # shape (times,)
    temperature_c: Array  # shape (times, cells)
    heat_j_m2: Array  # shape (times, 2)


def conduct(
    layers: Sequence[Layer],
    bottom: Boundary,
    top: Boundary,
    seconds: float,
    *,
    joints_m2k_w: Sequence[float] = (),
    stop: StopCondition | None = None,
    every_s: float = np.inf,
    step_fraction: float = 0.9,
) -> History:
    """Conduct heat through a stack for a time, or until a stop condition is met.

    Parameters
    ----------
    layers : sequence of Layer
        From the bottom up.
    bottom, top : Boundary
        Conditions at the outer faces.
    joints_m2k_w : sequence of float
        Contact resistance between neighbouring layers, m²·K/W, one fewer than layers.
    every_s : float
        Spacing of the recorded times, s.
    step_fraction : float
        Time step as a fraction of the longest stable one, 0-1.

    Notes
    -----
    d(m h)/dt = q_below − q_above with q = ΔT / (R/2 + R_joint + R'/2), R = m/(ρ k) of each cell. The step is
    `step_fraction` times the least m c / (G_below + G_above), past which an explicit step may overshoot.
    """
    cells = [len(layer.enthalpy_j_kg) for layer in layers]
    ends = np.cumsum([0, *cells])
    joints = np.zeros(ends[-1] + 1)
    joints[ends[1:-1]] = joints_m2k_w
    materials: Any = records(Properties, [layer.material.properties for layer in layers])
    stack = _Stack(
        enthalpy=np.concatenate([layer.enthalpy_j_kg for layer in layers]),
        mass=np.repeat([layer.mass_kg_m2 / n for layer, n in zip(layers, cells, strict=True)], cells),
        properties=materials.repeat(cells),
        joints=joints,
        boundaries=records(Boundary, [bottom, top]),
    )
    watch = _Watch()
    if stop is not None:
        first, end = (int(end) for end in ends[stop.layer : stop.layer + 2])
        watch = _Watch(first, end, float(stop.temperature_c), stop.rising, float(stop.after_s))
    times = 2 + (int(seconds / every_s) if np.isfinite(every_s) else 0)
    kept = _Record(np.zeros(times), np.zeros((times, ends[-1])), np.zeros((times, 2)))
    # An int among these would compile the kernel a second time.
    clock = _Clock(float(seconds), float(every_s), float(step_fraction))
    times, reached = _advance(stack, watch, clock, kept)
    return History(
        seconds=kept.seconds[:times],
        temperature_c=tuple(np.split(kept.temperature_c[:times], ends[1:-1], axis=1)),
        heat_in_j_m2=kept.heat_j_m2[:times],
        layers=tuple(
            replace(layer, enthalpy_j_kg=part)
            for layer, part in zip(layers, np.split(stack.enthalpy, ends[1:-1]), strict=True)
        ),
        reached=bool(reached) or stop is None,
    )


@compiled()
def _state(enthalpy: float, material: Properties) -> tuple[float, float, float]:
    """Temperature °C, conductivity W/(m·K) and volume m³/kg of a cell from its enthalpy."""
    solid = material.heat * material.melting_start
    if enthalpy <= solid:
        return enthalpy / material.heat, material.conductivity, 1 / material.density
    range_c = material.melting_end - material.melting_start
    latent = material.fusion + (material.heat + material.melt_heat) / 2 * range_c
    part = (enthalpy - solid) / latent if latent > 0 else 1.0
    if part >= 1:
        above = (enthalpy - solid - latent) / material.melt_heat
        return material.melting_end + above, material.melt_conductivity, 1 / material.melt_density
    return (
        material.melting_start + part * range_c,
        material.conductivity + part * (material.melt_conductivity - material.conductivity),
        (1 - part) / material.density + part / material.melt_density,
    )


@compiled()
def _conductance(boundary: Boundary, half: float, face_c: float) -> float:
    """Conductance from the boundary to the middle of its outer cell, W/(m²·K), with radiation at `face_c`."""
    film = boundary.film_w_m2k
    if boundary.emissivity > 0:
        one, other = boundary.temperature_c + KELVIN, face_c + KELVIN
        film += boundary.emissivity * STEFAN_BOLTZMANN * (one**2 + other**2) * (one + other)
    return 1 / (half + 1 / film)


@compiled()
def _is_met(watch: _Watch, temperature: Array, now: float) -> bool:
    """Whether all watched cells have reached the threshold."""
    if watch.end == watch.first or now < watch.after_s:
        return False
    for i in range(watch.first, watch.end):
        t = temperature[i]
        if (t < watch.threshold_c) == watch.rising and t != watch.threshold_c:
            return False
    return True


@compiled()
def _advance(stack: _Stack, watch: _Watch, clock: _Clock, kept: _Record) -> tuple[int, bool]:
    """Advance the stack in place; return how many times were recorded and whether it met the threshold."""
    mass, cells = stack.mass, len(stack.mass)
    temperature, half, room = np.empty(cells), np.empty(cells), np.empty(cells)
    link, flow = np.empty(cells + 1), np.empty(cells + 1)
    face = np.array([np.nan, np.nan])
    now, row, heat = 0.0, 0, np.zeros(2)
    while True:
        for i in range(cells):
            material = stack.properties[i]
            temperature[i], conductivity, volume = _state(stack.enthalpy[i], material)
            half[i] = mass[i] * volume / conductivity / 2
            room[i] = mass[i] * min(material.heat, material.melt_heat)
        met = _is_met(watch, temperature, now)
        over = met or now >= clock.seconds
        if now >= row * clock.every_s or row == 0 or over:
            kept.seconds[row], kept.temperature_c[row], kept.heat_j_m2[row] = now, temperature, heat
            row += 1
        if over:
            return row, met
        for end, i in ((0, 0), (1, cells - 1)):
            if np.isnan(face[end]):
                face[end] = temperature[i]
            boundary = stack.boundaries[end]
            pull = _conductance(boundary, half[i], face[end])
            link[end * cells] = pull
            flow[end * cells] = (1 - 2 * end) * pull * (boundary.temperature_c - temperature[i])
            face[end] = temperature[i] + pull * (boundary.temperature_c - temperature[i]) * half[i]
        for i in range(1, cells):
            link[i] = 1 / (half[i - 1] + stack.joints[i] + half[i])
            flow[i] = link[i] * (temperature[i - 1] - temperature[i])
        step = min(clock.seconds - now, row * clock.every_s - now)
        if now < watch.after_s:
            step = min(step, watch.after_s - now)
        for i in range(cells):
            step = min(step, clock.step_fraction * room[i] / (link[i] + link[i + 1]))
        for i in range(cells):
            stack.enthalpy[i] += step * (flow[i] - flow[i + 1]) / mass[i]
        heat[0] += step * flow[0]
        heat[1] -= step * flow[cells]
        now += step
