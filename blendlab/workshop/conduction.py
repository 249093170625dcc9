"""Heat through a stack of layers that may melt: one dimension, enthalpy method, finite volumes.

The state of a cell is its enthalpy and its size is a mass per area, so energy and mass are conserved:
what leaves one cell enters the next, and a layer swells as it melts without moving any cell.
Temperature follows from enthalpy, which makes melting part of the same equation (Voller & Cross 1981,
Int. J. Heat Mass Transfer 24:545). The step is explicit and as long as stability permits.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..runtime.compiled import compiled

Array = npt.NDArray[np.float64]

STEFAN_BOLTZMANN = 5.670374419e-8  # W/(m²·K⁴), exact since the SI of 2019
KELVIN = 273.15  # 0 °C in K


@dataclass(frozen=True)
class Phase:
    """One state of a material: solid, melt, or a loose bed.

    Parameters
    ----------
    density_kg_m3, conductivity_w_mk, heat_j_kgk : float
        Density, thermal conductivity and heat capacity, each above 0.
    """

    density_kg_m3: float
    conductivity_w_mk: float
    heat_j_kgk: float


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

    def row(self) -> tuple[float, ...]:
        """Return the properties as the kernel takes them, solid first."""
        melt = self.melt or self.solid
        return (
            *(self.solid.density_kg_m3, self.solid.conductivity_w_mk, self.solid.heat_j_kgk),
            *(melt.density_kg_m3, melt.conductivity_w_mk, melt.heat_j_kgk),
            *(*self.melting_c, self.fusion_j_kg),
        )

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
        rows = np.broadcast_to(self.material.row(), (len(self.enthalpy_j_kg), 9))
        return np.array([_state(h, row)[0] for h, row in zip(self.enthalpy_j_kg, rows, strict=True)])

    @property
    def heat_j_m2(self) -> float:
        """Heat stored above 0 °C, J/m²."""
        return float(self.mass_kg_m2 * self.enthalpy_j_kg.mean())

    def flipped(self) -> "Layer":
        """Return the layer upside down."""
        return replace(self, enthalpy_j_kg=self.enthalpy_j_kg[::-1].copy())


@dataclass(frozen=True)
class Boundary:
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
    temperature_c : float
        The threshold, °C.
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
    bottom, top : Side
        Conditions at the outer faces.
    seconds : float
        Longest time, s.
    joints_m2k_w : sequence of float
        Contact resistance between neighbouring layers, m²·K/W, one fewer than layers.
    stop : StopCondition, optional
        When to stop before `seconds`.
    every_s : float
        Spacing of the recorded times, s.
    step_fraction : float
        Time step as a fraction of the longest stable one, 0-1.

    Returns
    -------
    Course

    Notes
    -----
    d(m h)/dt = q_below − q_above with q = ΔT / (R/2 + R_joint + R'/2), R = m/(ρ k) of each cell. The step is
    `step_fraction` times the least m c / (G_below + G_above), past which an explicit step may overshoot.
    """
    cells = [len(layer.enthalpy_j_kg) for layer in layers]
    ends = np.cumsum([0, *cells])
    enthalpy = np.concatenate([layer.enthalpy_j_kg for layer in layers])
    mass = np.repeat([layer.mass_kg_m2 / n for layer, n in zip(layers, cells, strict=True)], cells)
    rows = np.repeat(np.array([layer.material.row() for layer in layers], np.float64), cells, axis=0)
    joints = np.zeros(len(mass) + 1)
    joints[ends[1:-1]] = joints_m2k_w
    sides = np.array([(s.temperature_c, s.film_w_m2k, s.emissivity) for s in (bottom, top)], np.float64)
    watch = (0, 0, 0.0, True, 0.0)
    if stop is not None:
        first, last = (int(end) for end in ends[stop.layer : stop.layer + 2])
        watch = (first, last, float(stop.temperature_c), stop.rising, float(stop.after_s))
    rows_kept = 2 + (int(seconds / every_s) if np.isfinite(every_s) else 0)
    seconds, every_s = float(seconds), float(every_s)  # an int would compile the kernel a second time
    times, heat = np.zeros(rows_kept), np.zeros((rows_kept, 2))
    temperature = np.zeros((rows_kept, len(mass)))
    kept, reached = _advance(
        enthalpy, mass, rows, joints, sides, watch, seconds, every_s, step_fraction, times, temperature, heat
    )
    return History(
        seconds=times[:kept],
        temperature_c=tuple(np.split(temperature[:kept], ends[1:-1], axis=1)),
        heat_in_j_m2=heat[:kept],
        layers=tuple(
            replace(layer, enthalpy_j_kg=part)
            for layer, part in zip(layers, np.split(enthalpy, ends[1:-1]), strict=True)
        ),
        reached=bool(reached) or stop is None,
    )


@compiled()
def _state(enthalpy, row):  # type: ignore[no-untyped-def]
    """Temperature °C, conductivity W/(m·K) and volume m³/kg of a cell from its enthalpy."""
    density, conductivity, heat, melt_density, melt_conductivity, melt_heat, low, high, fusion = row
    if enthalpy <= heat * low:
        return enthalpy / heat, conductivity, 1 / density
    latent = fusion + (heat + melt_heat) / 2 * (high - low)
    part = (enthalpy - heat * low) / latent if latent > 0 else 1.0
    if part >= 1:
        return high + (enthalpy - heat * low - latent) / melt_heat, melt_conductivity, 1 / melt_density
    mixed = conductivity + part * (melt_conductivity - conductivity)
    return low + part * (high - low), mixed, (1 - part) / density + part / melt_density


@compiled()
def _conductance(side, half, face_c):  # type: ignore[no-untyped-def]
    """From the boundary to the middle of its outer cell, W/(m²·K), radiating at the last face temperature."""
    ambient, film, emissivity = side
    if emissivity > 0:
        one, other = ambient + KELVIN, face_c + KELVIN
        film += emissivity * STEFAN_BOLTZMANN * (one**2 + other**2) * (one + other)
    return 1 / (half + 1 / film)


@compiled()
def _advance(enthalpy, mass, rows, joints, sides, watch, seconds, every, share, times, kept_c, kept_heat):  # type: ignore[no-untyped-def]
    """Advance the stack in place; return how many times were recorded and whether it met the threshold."""
    cells = len(mass)
    temperature, half, room = np.empty(cells), np.empty(cells), np.empty(cells)
    link, flow = np.empty(cells + 1), np.empty(cells + 1)
    face = np.array([np.nan, np.nan])
    first, last, mark, rising, after = watch
    now, row, heat = 0.0, 0, np.zeros(2)
    while True:
        for i in range(cells):
            temperature[i], conductivity, volume = _state(enthalpy[i], rows[i])
            half[i] = mass[i] * volume / conductivity / 2
            room[i] = mass[i] * min(rows[i, 2], rows[i, 5])
        met = last > first and now >= after
        for i in range(first, last):
            if (temperature[i] < mark) == rising and temperature[i] != mark:
                met = False
        over = met or now >= seconds
        if now >= row * every or row == 0 or over:
            times[row], kept_c[row], kept_heat[row] = now, temperature, heat
            row += 1
        if over:
            return row, met
        for end, i in ((0, 0), (1, cells - 1)):
            if np.isnan(face[end]):
                face[end] = temperature[i]
            pull = _conductance(sides[end], half[i], face[end])
            link[end * cells] = pull
            flow[end * cells] = (1 - 2 * end) * pull * (sides[end, 0] - temperature[i])
            face[end] = temperature[i] + pull * (sides[end, 0] - temperature[i]) * half[i]
        for i in range(1, cells):
            link[i] = 1 / (half[i - 1] + joints[i] + half[i])
            flow[i] = link[i] * (temperature[i - 1] - temperature[i])
        step = min(seconds - now, row * every - now)
        if now < after:
            step = min(step, after - now)
        for i in range(cells):
            step = min(step, share * room[i] / (link[i] + link[i + 1]))
        for i in range(cells):
            enthalpy[i] += step * (flow[i] - flow[i + 1]) / mass[i]
        heat[0] += step * flow[0]
        heat[1] -= step * flow[cells]
        now += step
