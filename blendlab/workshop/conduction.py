"""Heat through a stack of layers that may melt: one dimension, enthalpy method, finite volumes.

The unknown of a cell is its enthalpy and its size is a mass per area, so that neither energy nor mass can
leak: what leaves one cell enters the next, and a layer swells as it melts without any cell being moved.
Temperature follows from enthalpy, which makes melting part of the same equation (Voller & Cross 1981,
Int. J. Heat Mass Transfer 24:545). The step is explicit and as long as stability allows.
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
    """What a layer is made of; without `melt` it stays solid.

    Parameters
    ----------
    solid : Phase
        Below the melting range.
    melt : Phase, optional
        Above it.
    melting_c : tuple of float
        Where melting starts and ends, °C; both may be the same.
    fusion_j_kg : float
        Heat of fusion, given off evenly over the range.
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
        """Enthalpy above 0 °C, J/kg, at a temperature; at a sharp melting point, of the solid."""
        t = np.asarray(temperature_c, dtype=np.float64)
        if self.melt is None:
            return self.solid.heat_j_kgk * t
        low, high = self.melting_c
        solid, melt = self.solid.heat_j_kgk, self.melt.heat_j_kgk
        span = self.fusion_j_kg + (solid + melt) / 2 * (high - low)
        part = np.clip((t - low) / (high - low), 0, 1) if high > low else (t > low).astype(np.float64)
        return solid * np.minimum(t, low) + span * part + melt * np.maximum(t - high, 0)


@dataclass(frozen=True)
class Layer:
    """A layer cut into cells of equal mass, bottom cell first.

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
        """Return a layer of one temperature, °C, in so many cells."""
        return cls(material, mass_kg_m2, np.full(cells, material.enthalpy(temperature_c)))

    @property
    def temperature_c(self) -> Array:
        """Temperature in the middle of each cell, °C."""
        rows = np.broadcast_to(self.material.row(), (len(self.enthalpy_j_kg), 9))
        return np.array([_state(h, row)[0] for h, row in zip(self.enthalpy_j_kg, rows, strict=True)])

    @property
    def heat_j_m2(self) -> float:
        """Heat held above 0 °C, J/m²."""
        return float(self.mass_kg_m2 * self.enthalpy_j_kg.mean())

    def turned(self) -> "Layer":
        """Return the layer upside down."""
        return replace(self, enthalpy_j_kg=self.enthalpy_j_kg[::-1].copy())


@dataclass(frozen=True)
class Side:
    """What one side of the stack meets.

    Parameters
    ----------
    temperature_c : float
        Of the plate or the surroundings, °C.
    film_w_m2k : float
        Contact conductance or convection coefficient, W/(m²·K); 0 insulates, infinity holds the face.
    emissivity : float
        Of the outer face, 0-1, radiating to surroundings at `temperature_c`; 0 against a plate.
    """

    temperature_c: float
    film_w_m2k: float
    emissivity: float = 0.0


@dataclass(frozen=True)
class Until:
    """When to stop early: one layer wholly above, or wholly below, a temperature.

    Parameters
    ----------
    layer : int
        Which layer, from the bottom.
    temperature_c : float
        The mark, °C.
    rising : bool
        True: stop when its coldest cell has reached the mark; False: when its hottest has.
    after_s : float
        But not before this time, s.
    """

    layer: int
    temperature_c: float
    rising: bool
    after_s: float = 0.0


@dataclass(frozen=True)
class Course:
    """What happened, and the state it ended in.

    Attributes
    ----------
    seconds : ndarray, shape (times,)
        Time from the start, first 0, last the end.
    temperature_c : tuple of ndarray, one a layer, shape (times, cells)
        In the middle of each cell.
    heat_in_j_m2 : ndarray, shape (times, 2)
        Heat taken up so far through the bottom and the top.
    layers : tuple of Layer
        At the end.
    reached : bool
        Whether the `Until` was met; True where none was given.
    """

    seconds: Array
    temperature_c: tuple[Array, ...]
    heat_in_j_m2: Array
    layers: tuple[Layer, ...]
    reached: bool


def conduct(
    layers: Sequence[Layer],
    bottom: Side,
    top: Side,
    seconds: float,
    *,
    joints_m2k_w: Sequence[float] = (),
    until: Until | None = None,
    every_s: float = np.inf,
    step_share: float = 0.9,
) -> Course:
    """Let heat flow through a stack for a time, or until a layer has passed a mark.

    Parameters
    ----------
    layers : sequence of Layer
        From the bottom up.
    bottom, top : Side
        What the outer faces meet.
    seconds : float
        How long, at most.
    joints_m2k_w : sequence of float
        Contact resistance between neighbouring layers, m²·K/W, one fewer than layers.
    until : Until, optional
        When to stop before.
    every_s : float
        Spacing of the times recorded.
    step_share : float
        Step as a share of the longest stable one, 0-1.

    Returns
    -------
    Course

    Notes
    -----
    d(m h)/dt = q_below − q_above with q = ΔT / (R/2 + R_joint + R'/2), R = m/(ρ k) of each cell. The step is
    `step_share` times the least m c / (G_below + G_above), past which an explicit step may overshoot.
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
    if until is not None:
        first, last = (int(end) for end in ends[until.layer : until.layer + 2])
        watch = (first, last, float(until.temperature_c), until.rising, float(until.after_s))
    rows_kept = 2 + (int(seconds / every_s) if np.isfinite(every_s) else 0)
    span, apart = float(seconds), float(every_s)  # whole numbers would have the kernel compiled anew
    times, heat = np.zeros(rows_kept), np.zeros((rows_kept, 2))
    temperature = np.zeros((rows_kept, len(mass)))
    kept, reached = _advance(
        enthalpy, mass, rows, joints, sides, watch, span, apart, step_share, times, temperature, heat
    )
    return Course(
        seconds=times[:kept],
        temperature_c=tuple(np.split(temperature[:kept], ends[1:-1], axis=1)),
        heat_in_j_m2=heat[:kept],
        layers=tuple(
            replace(layer, enthalpy_j_kg=part)
            for layer, part in zip(layers, np.split(enthalpy, ends[1:-1]), strict=True)
        ),
        reached=bool(reached) or until is None,
    )


@compiled()
def _state(enthalpy, row):  # type: ignore[no-untyped-def]
    """Temperature °C, conductivity W/(m·K) and volume m³/kg of a cell from its enthalpy."""
    density, conductivity, heat, melt_density, melt_conductivity, melt_heat, low, high, fusion = row
    if enthalpy <= heat * low:
        return enthalpy / heat, conductivity, 1 / density
    span = fusion + (heat + melt_heat) / 2 * (high - low)
    part = (enthalpy - heat * low) / span if span > 0 else 1.0
    if part >= 1:
        return high + (enthalpy - heat * low - span) / melt_heat, melt_conductivity, 1 / melt_density
    mixed = conductivity + part * (melt_conductivity - conductivity)
    return low + part * (high - low), mixed, (1 - part) / density + part / melt_density


@compiled()
def _conductance(side, half, face_c):  # type: ignore[no-untyped-def]
    """From a side to the middle of its outer cell, W/(m²·K), radiation at the face's last temperature."""
    ambient, film, emissivity = side
    if emissivity > 0:
        one, other = ambient + KELVIN, face_c + KELVIN
        film += emissivity * STEFAN_BOLTZMANN * (one**2 + other**2) * (one + other)
    return 1 / (half + 1 / film)


@compiled()
def _advance(enthalpy, mass, rows, joints, sides, watch, seconds, every, share, times, kept_c, kept_heat):  # type: ignore[no-untyped-def]
    """Step the stack on in place; return how many times were kept and whether the mark was met."""
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
