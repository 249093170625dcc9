"""One kind of flake: its colour, its amount, and what was measured on it."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import ClassVar

from .. import checks
from ..io import toml
from .measurements import Chip, Spectrum, checked_spectrum
from .offcut import Offcut, checked_offcut

KINDS = ("opaque", "tinted", "natural")
STOCKS = ("bottle", "cap", "crate")
PERCENT = (0.1, 99.0)  # of a let-down
MEASURES = ("hide_mm", "spectrum", "chip", "kind", "let_down", "stock")  # of a flake of one colour


@dataclass(frozen=True)
class Flake:
    """One kind of plastic flake in the charge.

    Parameters
    ----------
    name : str
        What the maker calls it; unique in a recipe, at most 60 characters.
    srgb : str
        Colour of a thick piece, ``#rrggbb``.
    grams : float
        Mass in the charge, g, above 0.
    hide_mm : float, optional
        Thickness at which it hides a printed line, mm, 0.01-200; estimated from the colour if unknown.
    size_mm : tuple of float
        Length, width and thickness of one flake, mm, each 0.2-100.
    spectrum : tuple of (float, float), optional
        Measured reflectance of a thick piece without gloss: wavelength in nm and 0 to 1.2. Blends are then
        computed from it, and `srgb` only labels the flake.
    chip : Chip, optional
        Readings of a pressed chip over black and over white, in place of `hide_mm` and `spectrum`;
        `srgb` again only labels the flake.
    source : str, optional
        Where these values come from, in the maker's words, at most 200 characters.
    kind : str, optional
        One of `KINDS`, used where the strength was not measured: ``"opaque"`` hides, ``"tinted"`` is coloured
        but lets light through, ``"natural"`` is milky and unpigmented.
    let_down : LetDown, optional
        Colour of a chip of a known part of it in a known flake, in place of `hide_mm` and `chip`.
    stock : str, optional
        What it was cut from, one of `STOCKS`: how stiffly it melts. Bottles are stiff and stay coarser among
        caps and crates. Where no flake of a recipe says it, all are stretched alike.
    cut_from : Offcut, optional
        The older sheet that it was cut from, in place of every measurement; `srgb` again only labels the
        flake. In a recipe file its key is ``from``.

    Examples
    --------
    >>> Flake("bottle-crate blue", "#14409A", 50).srgb
    '#14409a'
    """

    name: str
    srgb: str
    grams: float
    hide_mm: float | None = None
    size_mm: tuple[float, float, float] = (7.0, 7.0, 1.6)
    spectrum: Spectrum | None = None
    chip: Chip | None = None
    source: str | None = None
    kind: str | None = None
    let_down: "LetDown | None" = None
    stock: str | None = None
    cut_from: Offcut | None = field(default=None, metadata={toml.KEY: "from"})

    def __post_init__(self) -> None:
        """Check every value and keep it in its plain form."""
        checks.keep(self, name=checks.label("flake name", self.name))
        of = f"of flake {checks.shown(self.name)}"
        checks.keep(
            self,
            srgb=checks.hex_colour(f"srgb {of}", self.srgb),
            grams=checks.positive(f"grams {of}", self.grams, "weigh the flakes, or leave them out"),
            size_mm=_sides(f"size_mm {of}", self.size_mm),
        )
        if self.hide_mm is not None:
            remedy = "measure it, or leave it out to have it estimated from the colour"
            checks.keep(self, hide_mm=checks.number(f"hide_mm {of}", self.hide_mm, 0.01, 200, remedy))
        if self.spectrum is not None:
            checks.keep(self, spectrum=checked_spectrum(f"the spectrum {of}", self.spectrum))
        if self.chip is not None:
            checks.keep(self, chip=_chip(f"chip {of}", self))
        if self.kind is not None:
            checks.keep(self, kind=checks.one_of(f"kind {of}", self.kind, KINDS))
        if self.stock is not None:
            checks.keep(self, stock=checks.one_of(f"stock {of}", self.stock, STOCKS))
        if self.let_down is not None:
            checks.keep(self, let_down=_let_down(f"let_down {of}", self))
        if self.source is not None:
            checks.keep(self, source=checks.label(f"source {of}", self.source, longest=200))
        if self.cut_from is not None:
            _stands_without(f"from {of}", self, MEASURES)
            checked_offcut(of, self.cut_from, self.size_mm)

    def renamed(self, name: str, new: str) -> "Flake":
        """Return the flake with `name`, its own or its partner's, replaced by another."""
        let_down = self.let_down
        if let_down is not None and let_down.partner == name:
            let_down = replace(let_down, partner=new)
        return replace(self, name=new if self.name == name else self.name, let_down=let_down)


@dataclass(frozen=True)
class Partner(Flake):
    """A flake outside the charge in which another one was let down; it has no grams and no size."""

    TOML_KEYS: ClassVar = ("name", "srgb", "hide_mm", "spectrum", "chip", "kind", "let_down")

    grams: float = 1.0


@dataclass(frozen=True)
class LetDown:
    """Colour of a chip pressed from a known part of a flake mixed completely with a known flake.

    InputError where a value breaks its rule, or not exactly one of `srgb` and `spectrum` is given.

    Parameters
    ----------
    partner : str or Partner
        The flake it was mixed with, such as a white cap: its name where it is in the same recipe or list, or
        the flake itself. In a recipe file its key is ``in``.
    percent : float
        Part of the let-down flake by mass, 0.1-99 %.
    srgb : str, optional
        Colour of the chip, ``#rrggbb``, thick, without gloss.
    spectrum : tuple of (float, float), optional
        Measured reflectance of the chip, in place of `srgb`.

    Examples
    --------
    >>> LetDown("white cap", 10, "#7F93C8").srgb
    '#7f93c8'
    """

    partner: str | Partner = field(metadata={toml.KEY: "in"})
    percent: float
    srgb: str | None = None
    spectrum: Spectrum | None = None

    def __post_init__(self) -> None:
        """Check every value and keep it in its plain form."""
        remedy = "weigh both parts and press another chip"
        checks.keep(
            self,
            partner=_partner(self.partner),
            percent=checks.number("percent of the let-down", self.percent, *PERCENT, remedy),
        )
        if (self.srgb is None) == (self.spectrum is None):
            given = checks.Raw("neither" if self.srgb is None else "both")
            remedy = "give the colour of the chip, or its spectrum"
            checks.refuse("a let-down must have either srgb or spectrum", given, remedy)
        if self.srgb is not None:
            checks.keep(self, srgb=checks.hex_colour("srgb of the let-down", self.srgb))
        else:
            checks.keep(self, spectrum=checked_spectrum("the spectrum of the let-down", self.spectrum))

    @property
    def partner_name(self) -> str:
        """Name of the flake it was mixed with."""
        return self.partner if isinstance(self.partner, str) else self.partner.name


def let_down_order(flakes: Sequence[Flake]) -> tuple[int, ...]:
    """Order in which to work out let-downs: each after the flake it was made in.

    InputError where a partner is not among the flakes, or let-downs form a circle.

    Returns
    -------
    tuple of int
        Positions of the flakes that have a let-down.
    """
    made = {flake.name: (row, flake.let_down) for row, flake in enumerate(flakes) if flake.let_down}
    names = {flake.name for flake in flakes}
    marbled = {flake.name for flake in flakes if flake.cut_from}
    for name, (_, let_down) in made.items():
        if isinstance(let_down.partner, str) and let_down.partner not in names:
            rule = f"the let-down of flake {checks.shown(name)} must be in a flake that is known"
            checks.refuse(rule, let_down.partner, "add that flake, or correct its name")
        if let_down.partner in marbled:
            rule = f"the let-down of flake {checks.shown(name)} must be in a flake of one colour"
            checks.refuse(rule, let_down.partner, "name a flake that is not cut from a sheet")
    order: list[int] = []
    while made:
        ready = [n for n, (_, made_in) in made.items() if made_in.partner not in made]
        if not ready:
            circle = checks.Raw(" and ".join(checks.shown(name) for name in made))
            checks.refuse("let-downs must not form a circle", circle, "measure one of these flakes otherwise")
        order += [made.pop(name)[0] for name in ready]
    return tuple(order)


def with_partners(flakes: Iterable[Flake], known: Iterable[Flake]) -> tuple[Flake, ...]:
    """Return flakes with the partners of their let-downs filled in unless they are among them.

    InputError where a partner is in neither.

    Parameters
    ----------
    known : iterable of Flake
        Where their partners are looked up, such as the whole flake list.
    """
    chosen, listed = tuple(flakes), {flake.name: flake for flake in known}
    let_down_order((*listed.values(), *(flake for flake in chosen if flake.name not in listed)))
    names = {flake.name for flake in chosen}
    return tuple(_alone(flake, names, listed) for flake in chosen)


def _alone(flake: Flake, names: Collection[str], listed: Mapping[str, Flake]) -> Flake:
    """Fill in the partner of a flake's let-down unless it is among the names."""
    let_down = flake.let_down
    if let_down is None or not isinstance(let_down.partner, str) or let_down.partner in names:
        return flake
    found = _alone(listed[let_down.partner], (), listed)
    partner = Partner(**{key: getattr(found, key) for key in Partner.TOML_KEYS})
    return replace(flake, let_down=replace(let_down, partner=partner))


def _partner(given: object) -> str | Partner:
    """Return a partner's name, or the partner, which may be given as a table."""
    what = "the flake that a let-down is made in"
    found = toml.build(Partner, what, given) if isinstance(given, Mapping) else given
    if not isinstance(found, Partner):
        return checks.label(what, found)
    if found.let_down is not None and isinstance(found.let_down.partner, str):
        remedy = "write that flake as a table as well"
        checks.refuse(f"{what} must bring its own partner", found.let_down.partner, remedy)
    return found


def _let_down(what: str, flake: Flake) -> LetDown:
    """Return a flake's let-down, which may be given as a table; no other measure of strength goes with it."""
    _stands_without(what, flake, ("hide_mm", "chip"))
    found = flake.let_down
    if isinstance(found, Mapping):
        found = toml.build(LetDown, what, found)
    if not isinstance(found, LetDown):
        checks.refuse(f"{what} must be a table", found, "give in, percent, and srgb or spectrum")
    if found.partner_name == flake.name:
        remedy = "name the flake that it was mixed with"
        checks.refuse(f"{what} must be in another flake", found.partner_name, remedy)
    return found


def _chip(what: str, flake: Flake) -> Chip:
    """Return a flake's chip, which may be given as a table; it excludes the other measurements."""
    _stands_without(what, flake, ("hide_mm", "spectrum"))
    if isinstance(flake.chip, Mapping):
        return toml.build(Chip, what, flake.chip)
    if not isinstance(flake.chip, Chip):
        checks.refuse(f"{what} must be a table", flake.chip, "give thickness_mm, over_black and over_white")
    return flake.chip


def _stands_without(what: str, flake: Flake, others: Collection[str]) -> None:
    """Refuse a measurement beside those that it excludes."""
    for other in others:
        if getattr(flake, other) is not None:
            checks.refuse(f"{what} must stand without {other}", getattr(flake, other), "take one of them out")


def _sides(what: str, value: object) -> tuple[float, ...]:
    """Return length, width and thickness of one flake, mm."""
    if not isinstance(value, tuple | list) or len(value) != 3:
        remedy = "give length, width and thickness in millimetres, such as [7.0, 7.0, 1.6]"
        checks.refuse(f"{what} must be three numbers", value, remedy)
    remedy = "measure a few flakes and give a usual one, in millimetres"
    return tuple(checks.number(f"each side in {what}", side, 0.2, 100, remedy) for side in value)
