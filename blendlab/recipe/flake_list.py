"""A flake list: the flakes a workshop has on hand, and their CSV form."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from .. import checks
from ..io import spreadsheet
from .flake import Flake, LetDown, let_down_order, with_partners
from .measurements import Chip, Spectrum
from .offcut import Offcut
from .recipe import offcut_from_toml, offcut_to_toml

COLUMNS = ("name", "srgb", "hide_mm", "grams", "piece_g", "source")
_LET_DOWN_COLUMNS = ("let_down_in", "let_down_percent", "let_down_srgb", "let_down_spectrum")
# Written only where one is filled.
MEASURED_COLUMNS = (
    *("chip_mm", "over_black", "over_white", "spectrum", "kind", *_LET_DOWN_COLUMNS, "stock"),
    *("size_mm", "from"),
)
# Alike in a stocked flake and in a flake.
_ALIKE = ("name", "srgb", "hide_mm", "spectrum", "chip", "kind", "let_down", "stock", "cut_from")
MG = 1000  # milligrams in a gram: the finest amount on a list
MAX_GRAMS = 1e7


@dataclass(frozen=True)
class Stocked:
    """One kind of flake on hand.

    Parameters
    ----------
    name, srgb, hide_mm, source, spectrum, chip, kind, let_down, stock, size_mm, cut_from
        As of a `Flake`; an unknown source is empty, a size that is not given the usual one.
    grams : float
        On hand, g, 0 to 10 million, kept to the milligram.
    piece_g : float, optional
        What one collected piece weighs, g, above 0.

    Examples
    --------
    >>> Stocked("harbour blue", "#14409a", grams=240).charged(50).grams
    50.0
    """

    name: str
    srgb: str
    hide_mm: float | None = None
    grams: float = 0.0
    piece_g: float | None = None
    source: str = ""
    spectrum: Spectrum | None = None
    chip: Chip | None = None
    kind: str | None = None
    let_down: LetDown | None = None
    stock: str | None = None
    size_mm: tuple[float, float, float] | None = None
    cut_from: Offcut | None = None

    def __post_init__(self) -> None:
        """Check every value and keep it in its plain form."""
        flake = self.charged(1.0)
        of = f"of flake {checks.shown(flake.name)}"
        grams = checks.number(f"grams on hand {of}", self.grams, 0, MAX_GRAMS, "weigh what is there")
        plain = {key: getattr(flake, key) for key in _ALIKE}
        plain |= {"grams": round(grams * MG) / MG, "source": flake.source or ""}
        plain["size_mm"] = self.size_mm and flake.size_mm
        if self.piece_g is not None:
            remedy = "weigh ten pieces and divide"
            plain["piece_g"] = checks.positive(f"piece_g {of}", self.piece_g, remedy)
        checks.keep(self, **plain)

    def charged(self, grams: float) -> Flake:
        """Return some grams of it, as they go into a recipe."""
        alike = {key: getattr(self, key) for key in _ALIKE}
        if self.size_mm is not None:
            alike["size_mm"] = self.size_mm
        return Flake(grams=grams, source=self.source or None, **alike)


def charge(listed: Iterable[Stocked], grams: Mapping[str, float]) -> tuple[Flake, ...]:
    """Take flakes into a charge, in the order of `grams`; partners of their let-downs come along.

    InputError where a name or the partner of a let-down is not on the list.

    Parameters
    ----------
    grams : mapping of str to float
        Grams by name, each above 0.
    """
    stock = {flake.name: flake for flake in listed}
    chosen = [stock[checks.one_of("a flake", name, stock)].charged(mass) for name, mass in grams.items()]
    return with_partners(chosen, (flake.charged(1.0) for flake in stock.values()))


def to_csv(flakes: Iterable[Stocked]) -> str:
    """Write a flake list that opens in any spreadsheet, and that `from_csv` reads back the same.

    Examples
    --------
    >>> print(to_csv([Stocked("chalk", "#f2f0e8", hide_mm=1.1, grams=800)]), end="")
    name,srgb,hide_mm,grams,piece_g,source
    chalk,#f2f0e8,1.1,800.0,,
    """
    rows = [dict(_cells(flake)) for flake in flakes]
    filled = any(row[column] for row in rows for column in MEASURED_COLUMNS)
    columns = (*COLUMNS, *MEASURED_COLUMNS) if filled else COLUMNS
    return spreadsheet.write(columns, ([row[column] for column in columns] for row in rows))


def _cells(flake: Stocked) -> Iterator[tuple[str, object]]:
    """Yield what each column holds."""
    yield from ((column, getattr(flake, column)) for column in COLUMNS)
    yield "chip_mm", flake.chip and flake.chip.thickness_mm
    yield "over_black", flake.chip and flake.chip.over_black
    yield "over_white", flake.chip and flake.chip.over_white
    yield "spectrum", _spectrum_cell(flake.spectrum)
    yield "kind", flake.kind
    made = flake.let_down
    yield "let_down_in", made and made.partner_name
    yield "let_down_percent", made and made.percent
    yield "let_down_srgb", made and made.srgb
    yield "let_down_spectrum", _spectrum_cell(made.spectrum if made else None)
    yield "stock", flake.stock
    yield "size_mm", flake.size_mm and " x ".join(repr(side) for side in flake.size_mm)
    yield "from", flake.cut_from and offcut_to_toml(flake.cut_from)


def _spectrum_cell(spectrum: Spectrum | None) -> str | None:
    """Write a spectrum as ``400:0.05 410:0.06 …``."""
    return " ".join(f"{nm!r}:{value!r}" for nm, value in spectrum) if spectrum else None


def from_csv(text: str, complete: bool = True) -> tuple[Stocked, ...]:
    """Read a flake list, whole or not at all.

    InputError where the list is empty, a column is unknown or missing, a value breaks its rule, or a name is
    repeated; the message gives the line.

    Parameters
    ----------
    text : str
        CSV as this program or a spreadsheet saved it (`spreadsheet.read`), with the columns `COLUMNS`, of
        which name and srgb are required, and `MEASURED_COLUMNS`. An empty cell is an unknown value; empty
        grams count as 0.
    complete : bool
        Whether the partners of all let-downs must be on the list; False for one row of a longer one.

    Returns
    -------
    tuple of Stocked
        At least one, in the order of the list.
    """
    flakes: dict[str, Stocked] = {}
    rows = spreadsheet.read("a flake list", text, ("name", "srgb"), (*COLUMNS, *MEASURED_COLUMNS))
    for line, cells in rows:
        try:
            flake = _from_cells(cells)
            if flake.name in flakes:
                checks.refuse("each flake needs a name of its own", flake.name, "rename one of the two")
        except checks.InputError as refusal:
            raise checks.InputError(f"line {line}: {refusal}") from None
        flakes[flake.name] = flake
    if not flakes:
        checks.refuse("a flake list must hold a flake", None, "add a line with its name and colour")
    if complete:
        let_down_order([flake.charged(1.0) for flake in flakes.values()])
    return tuple(flakes.values())


def _from_cells(cells: dict[str, str]) -> Stocked:
    """Build one flake from its row."""
    chip = {key: cells.get(key, "") for key in ("chip_mm", "over_black", "over_white")}
    return Stocked(
        name=cells["name"],
        srgb=cells["srgb"],
        hide_mm=_number(cells, "hide_mm"),
        grams=_number(cells, "grams") or 0.0,
        piece_g=_number(cells, "piece_g"),
        source=cells.get("source", ""),
        spectrum=_spectrum(cells.get("spectrum", "")),
        chip=Chip(_number(cells, "chip_mm"), chip["over_black"], chip["over_white"])  # type: ignore[arg-type]
        if any(chip.values())
        else None,
        kind=cells.get("kind") or None,
        let_down=_let_down(cells),
        stock=cells.get("stock") or None,
        size_mm=_sides(cells.get("size_mm", "")),
        cut_from=offcut_from_toml(cells["from"]) if cells.get("from") else None,
    )


def _let_down(cells: dict[str, str]) -> LetDown | None:
    """Read a let-down, None where all its cells are empty."""
    if not any(cells.get(column) for column in _LET_DOWN_COLUMNS):
        return None
    return LetDown(
        cells.get("let_down_in", ""),
        _number(cells, "let_down_percent"),  # type: ignore[arg-type]
        cells.get("let_down_srgb") or None,
        _spectrum(cells.get("let_down_spectrum", "")),
    )


def _sides(cell: str) -> tuple[float, float, float] | None:
    """Read ``20 x 20 x 6``, None where the cell is empty; the flake checks how many there are."""
    remedy = "write length, width and thickness like 20 x 20 x 6"
    sides = [spreadsheet.number("each side in size_mm", side, remedy) for side in cell.split("x") if cell]
    return tuple(sides) or None  # type: ignore[return-value]


def _number(cells: dict[str, str], column: str) -> float | None:
    """Read a number, None where the cell is empty."""
    cell = cells.get(column, "")
    return spreadsheet.number(column, cell, "write it like 1.6, or leave it empty") if cell else None


def _spectrum(cell: str) -> Spectrum | None:
    """Read ``400:0.05 410:0.06 …``, None where the cell is empty; the flake checks the numbers."""
    if not cell:
        return None
    remedy = "write 400:0.05 410:0.06 and so on"
    points = [point.partition(":") for point in cell.split()]
    return tuple(
        (
            spreadsheet.number("a wavelength of the spectrum", nm, remedy),
            spreadsheet.number("a reflectance of the spectrum", value, remedy),
        )
        for nm, _, value in points
    )
