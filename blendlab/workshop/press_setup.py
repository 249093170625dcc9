"""The press, its liners and the boards, and their thermal properties at three paces.

A pace takes one end of every published range at once, so the three bound what the published numbers allow:
`quick` conducts best and stores least heat, `slow` the opposite.
"""

from dataclasses import dataclass
from math import exp
from typing import Any, Literal

from .. import checks
from .conduction import KELVIN, Boundary, Material, Phase
from .properties import hdpe, heat

Pace = Literal["quick", "usual", "slow"]
PACES: tuple[Pace, ...] = ("quick", "usual", "slow")
LINERS = tuple(heat()["liner"])
BOARDS = tuple(heat()["board"])

MIN_OVER_MELTING_C = 15.0  # plates closer than this to the melting range need hours


@dataclass(frozen=True)
class PressSetup:
    """The press and the boards; the default times are common practice.

    Parameters
    ----------
    plate_length_mm, plate_width_mm : float
        Usable size of the press plates, mm.
    largest_load_g : float
        Most that is melted and folded at once, g.
    plate_c : float
        Plate temperature, °C; refused where the plastic or the liner would break down.
    heated_plates : int
        2, or 1 for a press that heats from one side, so the slab is turned over.
    liner : str
        One of `LINERS`.
    board : str
        One of `BOARDS`, above and below the sheet while it cools.
    soak_s : float
        Time between the plates after the last point has melted, s.
    open_s : float
        Time that the slab is exposed to the air for each fold, s.
    press_s : float
        Shortest press after a fold, s.
    turn_s : float
        With one heated plate, time before the slab is turned over, s.
    release_c : float
        Hottest point at which the sheet leaves the clamps, °C.
    """

    plate_length_mm: float = 380.0
    plate_width_mm: float = 380.0
    largest_load_g: float = 200.0
    plate_c: float = 180.0
    heated_plates: int = 2
    liner: str = "ptfe"
    board: str = "plywood"
    board_mm: float = 18.0
    room_c: float = 20.0
    soak_s: float = 60.0
    open_s: float = 30.0
    press_s: float = 90.0
    turn_s: float = 180.0
    release_c: float = 40.0

    def __post_init__(self) -> None:
        """Check every value."""
        for name in ("plate_length_mm", "plate_width_mm"):
            checks.number(name, getattr(self, name), 20, 5000, "measure the plates")
        checks.number("largest_load_g", self.largest_load_g, 5, 1e5, "about 200 g is usual on a small press")
        checks.one_of("liner", self.liner, LINERS)
        checks.one_of("board", self.board, BOARDS)
        checks.whole("heated_plates", self.heated_plates, 1, 2, "count the plates that are heated")
        self._check_plates()
        checks.number("board_mm", self.board_mm, 1, 100, "measure one board")
        checks.number("room_c", self.room_c, -10, 35, "give the room's temperature in °C")
        for name in ("soak_s", "open_s", "press_s"):
            checks.number(name, getattr(self, name), 0, 3600, "give it in seconds")
        checks.number("turn_s", self.turn_s, 10, 3600, "give it in seconds")
        lowest = self.room_c + 5
        checks.number(
            "release_c", self.release_c, lowest, hdpe()["safe_core_c"]["value"],
            "release a sheet that is safe to handle and still a little warmer than the room",
        )  # fmt: skip

    def _check_plates(self) -> None:
        """Refuse plates too cool to melt the charge, or hot enough to break down the plastic or the liner.

        The limits are those that the cautions say to stay below.
        """
        breakdown, liner = hdpe()["breakdown_c"]["value"], heat()["liner"][self.liner]
        coolest = hdpe()["melting_end_c"]["value"] + MIN_OVER_MELTING_C
        usual = "press near 180 °C"
        plate_c = checks.number("plate_c", self.plate_c, -273, 1e4, usual)
        found = checks.Raw(f"{plate_c:.10g} °C")
        if plate_c >= breakdown:
            rule = f"plates must stay below {breakdown:g} °C, where HDPE breaks down in air and fumes"
            checks.refuse(rule, found, usual)
        if plate_c >= liner["limit_c"]:
            rule = f"plates must stay below {liner['limit_c']:g} °C, the limit of a {liner['name']}"
            checks.refuse(rule, found, f"{usual}, or take another liner")
        if plate_c < coolest:
            rule = f"plates must be at {coolest:g} °C or more to melt HDPE through"
            checks.refuse(rule, found, usual)


@dataclass(frozen=True)
class ThermalModel:
    """Thermal properties of a press setup at one pace.

    Attributes
    ----------
    solid, loose : Material
        HDPE as a solid slab, and as a bed of loose flakes that melts into one.
    cooling : Material
        HDPE cooling from the melt: it crystallises below its melting range and releases its heat there.
    plate, upper_plate, air : Boundary
        The heated plate behind its liner; the upper plate, heated or not; open air.
    liner_m2k_w : float
        Thermal resistance of a liner, m²·K/W.
    board_joint_m2k_w : float
        Contact resistance from the sheet to a board, through its liner, m²·K/W.
    """

    solid: Material
    loose: Material
    cooling: Material
    board: Material
    plate: Boundary
    upper_plate: Boundary
    air: Boundary
    liner_m2k_w: float
    board_joint_m2k_w: float


def thermal_model(press: PressSetup, pace: Pace) -> ThermalModel:
    """Return the thermal properties of a press setup at a pace.

    Notes
    -----
    The bed of loose flakes conducts as the geometric mean of plastic and air by volume, k = k_s^(1−φ) k_a^φ
    (Woodside & Messmer 1961, J. Appl. Phys. 32:1688, from memory). A liner stores almost no heat, so it
    is a resistance; boards store as much as half the sheet, so they are layers of their own.
    """
    plastic, contacts = hdpe(), heat()
    ends = {"quick": ("high", "low"), "usual": ("usual", "usual"), "slow": ("low", "high")}
    conducting, storing = ends[pace]
    liner, board = contacts["liner"][press.liner], contacts["board"][press.board]
    solid = Phase(
        1e3 * plastic["density_cold_g_cm3"]["usual"],
        plastic["conductivity_solid_w_mk"][conducting],
        1e3 * plastic["heat_solid_j_gk"][storing],
    )
    porosity = contacts["bed_porosity"][storing]
    loose = Phase(
        solid.density_kg_m3 * (1 - porosity),
        solid.conductivity_w_mk ** (1 - porosity) * contacts["air_conductivity_w_mk"]["value"] ** porosity,
        solid.heat_j_kgk,
    )
    melt = Phase(
        1e3 * melt_density_g_cm3(press.plate_c),
        plastic["conductivity_melt_w_mk"][conducting],
        1e3 * plastic["heat_melt_j_gk"][storing],
    )
    melting = (plastic["melting_start_c"]["value"], plastic["melting_end_c"]["value"])
    fusion = 1e3 * plastic["fusion_j_g"][storing]
    through_liner = 1e-3 * liner["thickness_mm"] / liner["conductivity_w_mk"]
    plate = Boundary(press.plate_c, 1 / (through_liner + 1 / contacts["plate_contact_w_m2k"][conducting]))
    cover = Boundary(press.room_c, contacts["cover_w_m2k"][storing])
    return ThermalModel(
        solid=Material(solid, melt, melting, fusion),
        loose=Material(loose, melt, melting, fusion),
        cooling=_crystallising(solid, melt, melting, fusion),
        board=Material(Phase(*(board[key] for key in ("density_kg_m3", "conductivity_w_mk", "heat_j_kgk")))),
        plate=plate,
        upper_plate=plate if press.heated_plates == 2 else cover,
        air=Boundary(
            press.room_c, contacts["air_film_w_m2k"][conducting], contacts["emissivity"][conducting]
        ),
        liner_m2k_w=through_liner,
        board_joint_m2k_w=through_liner + 1 / contacts["board_contact_w_m2k"][conducting],
    )


def _crystallising(solid: Phase, melt: Phase, melting_c: tuple[float, float], fusion_j_kg: float) -> Material:
    """Return HDPE cooling from the melt: it sets at lower temperatures and releases less heat there.

    Solid and melt keep their enthalpies, so by Kirchhoff's law the heat of crystallisation is the heat of
    fusion less (c_melt − c_solid) for each degree between the middles of the two ranges.
    """
    table = hdpe()
    setting_c = (table["setting_end_c"]["value"], table["setting_start_c"]["value"])
    lower_k = (sum(melting_c) - sum(setting_c)) / 2
    return Material(solid, melt, setting_c, fusion_j_kg - (melt.heat_j_kgk - solid.heat_j_kgk) * lower_k)


def melt_density_g_cm3(temperature_c: float) -> float:
    """Density of HDPE melt at ordinary pressure, g/cm³ (Rodgers 1993, in the table).

    Examples
    --------
    >>> round(melt_density_g_cm3(190), 2)
    0.76
    """
    fit: dict[str, Any] = hdpe()["melt_volume"]
    return float(1 / (fit["at_zero_cm3_g"] * exp(fit["growth_per_k"] * (temperature_c + KELVIN))))
