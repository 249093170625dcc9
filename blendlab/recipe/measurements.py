"""What a maker can measure on a flake: two readings of a pressed chip, or a reflectance spectrum."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from .. import checks
from ..io import spreadsheet

Spectrum = tuple[tuple[float, float], ...]

# A spectrum must cover all the light that counts: 420-680 nm carries 99 % of the luminance.
LATEST_START_NM, EARLIEST_END_NM = 420.0, 680.0
MIN_NM, MAX_NM = 200.0, 2600.0
MAX_STEP_NM = 20.0
MAX_REFLECTANCE = 1.2  # plastic with optical brightener can read somewhat above 1 under an instrument's lamp


@dataclass(frozen=True)
class Chip:
    """Colours of one pressed chip laid over black and over white.

    InputError where a value breaks its rule, or the chip is no lighter over white than over black.

    Parameters
    ----------
    thickness_mm : float
        Of the chip, mm, 0.05-20.
    over_black, over_white : str
        Its colours, ``#rrggbb``: over black card and over white paper, with a drop of water or oil
        between so that no air is left.
    """

    thickness_mm: float
    over_black: str
    over_white: str

    def __post_init__(self) -> None:
        """Check every value and keep it in its plain form."""
        remedy = "measure the chip with a caliper, in millimetres"
        checks.keep(
            self,
            thickness_mm=checks.number("thickness_mm of the chip", self.thickness_mm, 0.05, 20, remedy),
            over_black=checks.hex_colour("over_black of the chip", self.over_black),
            over_white=checks.hex_colour("over_white of the chip", self.over_white),
        )
        if _luma(self.over_black) >= _luma(self.over_white):
            checks.refuse(
                "a chip must be darker over black than over white",
                checks.Raw(f"{self.over_black} over black and {self.over_white} over white"),
                "check which reading is which, or press a thinner chip",
            )


def _luma(srgb: str) -> float:
    """Weigh the encoded channels as ITU-R BT.709 does: enough to find the lighter of two greys."""
    red, green, blue = (int(srgb[i : i + 2], 16) for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def checked_spectrum(what: str, points: object) -> Spectrum:
    """Return a reflectance spectrum in its plain form.

    InputError where it is not a list of pairs, wavelengths decrease or repeat, a step is wider than 20 nm,
    420-680 nm is not covered, or a reflectance is out of range.

    Parameters
    ----------
    what : str
        The spectrum as the maker knows it.
    points : object
        Pairs of wavelength in nm and reflectance, 0 to 1.2.
    """
    rows = points if isinstance(points, Sequence) and not isinstance(points, str) else ()
    if not rows or not all(isinstance(row, Sequence) and len(row) == 2 for row in rows):
        checks.refuse(f"{what} must be a list of pairs", points, "give [nm, reflectance] for each wavelength")
    spectrum = tuple(_point(what, nm, reflectance) for nm, reflectance in rows)
    _check_order(what, [nm for nm, _ in spectrum])
    return spectrum


def _point(what: str, nm: object, reflectance: object) -> tuple[float, float]:
    """Check one wavelength and its reflectance."""
    wavelength = checks.number(f"each wavelength of {what}", nm, MIN_NM, MAX_NM, "give it in nanometres")
    remedy = "give 0 to 1, or head the column percent"
    value = checks.number(
        f"the reflectance of {what} at {wavelength:g} nm", reflectance, 0, MAX_REFLECTANCE, remedy
    )
    return wavelength, value


def _check_order(what: str, wavelengths: Sequence[float]) -> None:
    """Refuse wavelengths that decrease, repeat, leave gaps or do not cover the range."""
    for before, after in pairwise(wavelengths):
        step = f"{before:g} then {after:g} nm"
        if after == before:
            checks.refuse(
                f"each wavelength of {what} may stand once", checks.Raw(step), "take out the repeated row"
            )
        if after < before:
            remedy = "sort the rows by wavelength"
            checks.refuse(f"wavelengths of {what} must rise", checks.Raw(step), remedy)
        if after - before > MAX_STEP_NM:
            remedy = "measure in between, or export it in finer steps"
            checks.refuse(f"{what} must have no gap above {MAX_STEP_NM:g} nm", checks.Raw(step), remedy)
    if wavelengths[0] > LATEST_START_NM or wavelengths[-1] < EARLIEST_END_NM:
        checks.refuse(
            f"{what} must reach from {LATEST_START_NM:g} nm or below to {EARLIEST_END_NM:g} nm or above",
            checks.Raw(f"{wavelengths[0]:g} to {wavelengths[-1]:g} nm"),
            "export the whole visible range",
        )


def spectrum_from_csv(text: str) -> Spectrum:
    r"""Read a spectrum saved by an instrument or a spreadsheet.

    InputError as `checked_spectrum`, or where the table cannot be read. Only the heading says which unit it
    is: a dark plastic reads below 1 in either.

    Parameters
    ----------
    text : str
        Two columns headed ``nm`` and either ``reflectance``, 0 to 1, or ``percent``. Gloss (the specular
        part) must be excluded.

    Returns
    -------
    tuple of (float, float)
        Wavelength in nm and reflectance, 0 to 1.2.

    Examples
    --------
    >>> spectrum_from_csv("nm;percent\n" + "\n".join(f"{nm};50,5" for nm in range(400, 701, 10)))[0]
    (400.0, 0.505)
    """
    what = "the spectrum"
    rows = list(spreadsheet.read(what, text, ["nm"], ["nm", "reflectance", "percent"]))
    if not rows:
        checks.refuse(f"{what} must have rows", None, "give nm and reflectance, one wavelength a row")
    columns = [heading for heading in ("reflectance", "percent") if heading in rows[0][1]]
    if len(columns) != 1:
        remedy = "head the second column reflectance (0 to 1) or percent"
        checks.refuse(f"{what} must have one column beside nm", checks.Raw(f"{len(columns)}"), remedy)
    points = [
        tuple(
            spreadsheet.number(f"{heading} on line {line}", cells[heading], "correct or delete that row")
            for heading in ("nm", columns[0])
        )
        for line, cells in rows
    ]
    scale = 100 if columns == ["percent"] else 1
    return checked_spectrum(what, [(nm, value / scale) for nm, value in points])
