"""The press, its liners and the boards: the maker's bench, checked, and its properties at three paces.

A pace picks one end of every published range at once, so that the three together enclose what the
published numbers allow: `quick` conducts best and holds least heat, `slow` the other way round.
"""

from dataclasses import dataclass
from math import exp
from typing import Any, Literal

from .. import checks
from .conduction import KELVIN, Material, Phase, Side
from .properties import hdpe, heat

Pace = Literal["quick", "usual", "slow"]
PACES: tuple[Pace, ...] = ("quick", "usual", "slow")
LINERS = tuple(heat()["liner"])
BOARDS = tuple(heat()["board"])

LEAST_OVER_MELTING_C = 15.0  # plates cooler than this above the melting range press for hours


@dataclass(frozen=True)
class PressSetup:
    """The press and the boards; times are common practice where the maker gives none.

    Parameters
    ----------
    plate_length_mm, plate_width_mm : float
        Inside of the press plates, mm.
    largest_load_g : float
        What is melted and folded in one go, g.
    plate_c : float
        Plate temperature, °C; refused where the plastic or the liner would break down.
    heated_plates : int
        2, or 1 for a press that heats from one side, where the slab is turned over.
    liner : str
        One of `LINERS`.
    board : str
        One of `BOARDS`, above and below the sheet while it cools.
    board_mm : float
        Thickness of each board, mm.
    room_c : float
        Room temperature, °C.
    soak_s : float
        Left under the plates after the slowest point has melted, s.
    open_s : float
        Slab open to the room air for each fold, s.
    press_s : float
        Shortest press after a fold, s.
    turn_s : float
        With one heated plate, time between turnings, s.
    release_c : float
        The sheet leaves the clamps when its hottest point has fallen to this, °C.

    Raises
    ------
    InputError
        Where a value breaks its rule; for the plates, with the reason.
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
        """Refuse plates that are too cool to melt the charge, or hot enough to break something down."""
        breakdown, liner = hdpe()["breakdown_c"]["value"], heat()["liner"][self.liner]
        coolest = hdpe()["melting_end_c"]["value"] + LEAST_OVER_MELTING_C
        usual = "press near 180 °C"
        plate_c = checks.number("plate_c", self.plate_c, -273, 1e4, usual)
        if plate_c > breakdown:
            rule = f"plates must stay at or below {breakdown:g} °C, where HDPE breaks down in air and fumes"
            checks.refuse(rule, self.plate_c, usual)
        if plate_c > liner["limit_c"]:
            rule = f"plates must stay at or below {liner['limit_c']:g} °C, the limit of a {liner['name']}"
            checks.refuse(rule, self.plate_c, f"{usual}, or take another liner")
        if plate_c < coolest:
            rule = f"plates must be at {coolest:g} °C or more to melt HDPE through"
            checks.refuse(rule, self.plate_c, usual)


@dataclass(frozen=True)
class Setting:
    """A bench with its properties at one pace.

    Attributes
    ----------
    solid, loose : Material
        HDPE as a solid slab, and as a bed of loose flakes that melts into the same.
    board : Material
        Of the boards.
    plate, facing, air : Side
        The heated plate behind its liner; the plate over it, heated or not; open air.
    board_joint_m2k_w : float
        From the sheet to a board, through its liner, m²·K/W.
    """

    solid: Material
    loose: Material
    board: Material
    plate: Side
    facing: Side
    air: Side
    board_joint_m2k_w: float


def setting(bench: PressSetup, pace: Pace) -> Setting:
    """Return the bench's properties at a pace.

    Notes
    -----
    The bed of loose flakes conducts as the geometric mean of plastic and air by volume, k = k_s^(1−φ) k_a^φ
    (Woodside & Messmer 1961, J. Appl. Phys. 32:1688, from memory). A liner stores next to nothing, so it is
    a resistance; boards store as much heat as half the sheet, so they are layers of their own.
    """
    plastic, around = hdpe(), heat()
    eager, heavy = {"quick": ("high", "low"), "usual": ("usual", "usual"), "slow": ("low", "high")}[pace]
    liner, board = around["liner"][bench.liner], around["board"][bench.board]
    solid = Phase(
        1e3 * plastic["density_cold_g_cm3"]["usual"],
        plastic["conductivity_solid_w_mk"][eager],
        1e3 * plastic["heat_solid_j_gk"][heavy],
    )
    porosity = around["bed_porosity"][heavy]
    loose = Phase(
        solid.density_kg_m3 * (1 - porosity),
        solid.conductivity_w_mk ** (1 - porosity) * around["air_conductivity_w_mk"]["value"] ** porosity,
        solid.heat_j_kgk,
    )
    melt = Phase(
        1e3 * melt_density_g_cm3(bench.plate_c),
        plastic["conductivity_melt_w_mk"][eager],
        1e3 * plastic["heat_melt_j_gk"][heavy],
    )
    melting = (plastic["melting_start_c"]["value"], plastic["melting_end_c"]["value"])
    fusion = 1e3 * plastic["fusion_j_g"][heavy]
    through_liner = 1e-3 * liner["thickness_mm"] / liner["conductivity_w_mk"]
    plate = Side(bench.plate_c, 1 / (through_liner + 1 / around["plate_contact_w_m2k"][eager]))
    cover = Side(bench.room_c, around["cover_w_m2k"][heavy])
    return Setting(
        solid=Material(solid, melt, melting, fusion),
        loose=Material(loose, melt, melting, fusion),
        board=Material(Phase(*(board[key] for key in ("density_kg_m3", "conductivity_w_mk", "heat_j_kgk")))),
        plate=plate,
        facing=plate if bench.heated_plates == 2 else cover,
        air=Side(bench.room_c, around["air_film_w_m2k"][eager], around["emissivity"][eager]),
        board_joint_m2k_w=through_liner + 1 / around["board_contact_w_m2k"][eager],
    )


def melt_density_g_cm3(temperature_c: float) -> float:
    """Density of HDPE melt at ordinary pressure, g/cm³ (Rodgers 1993, in the table).

    Examples
    --------
    >>> round(melt_density_g_cm3(190), 2)
    0.76
    """
    fit: dict[str, Any] = hdpe()["melt_volume"]
    return float(1 / (fit["at_zero_cm3_g"] * exp(fit["growth_per_k"] * (temperature_c + KELVIN))))
