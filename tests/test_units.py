"""Units against published conversion factors, and how quantities are written and read in either system."""

import re
from pathlib import Path

import pytest

import blendlab
from blendlab.checks import InputError
from blendlab.screens.parts.number_fields import read, shown
from blendlab.units import COUNT, METRIC, OZ_IN, SYSTEMS

PACKAGE = Path(blendlab.__file__).parent

# NIST Special Publication 811 (2008), appendix B.8, which prints exact factors in bold: ounce (avoirdupois)
# to kilogram 2.834 952 E-02, pound (avoirdupois) 4.535 923 7 E-01, inch to metre 2.54 E-02.
NIST_OUNCE_G, NIST_POUND_G, NIST_INCH_MM = 28.34952, 453.59237, 25.4


def test_the_factors_are_those_published() -> None:
    assert OZ_IN.length.metric == NIST_INCH_MM
    assert 16 * OZ_IN.mass.metric == NIST_POUND_G
    assert OZ_IN.mass.metric == pytest.approx(NIST_OUNCE_G, abs=5e-6)  # seven digits printed


def test_paper_is_as_large_as_its_standard_says_in_either_system() -> None:
    # ANSI/ASME Y14.1: letter paper, ANSI A, is 8.5 by 11 inches, 216 by 279 mm rounded.
    letter_mm = tuple(read("side", typed, 0, 1000, OZ_IN.length) for typed in ("8.5", "11"))
    assert METRIC.sides(letter_mm, 0) == "216 × 279 mm"
    assert OZ_IN.sides(letter_mm) == "8.5 × 11 in"


@pytest.mark.parametrize("units", SYSTEMS.values(), ids=list(SYSTEMS))
@pytest.mark.parametrize("typed", ["12.5", "12,5", " 12.5 ", "+12.5"])
def test_a_number_is_read_in_the_unit_of_its_field(units, typed) -> None:  # type: ignore[no-untyped-def]
    for unit in (units.mass, units.length):
        assert read("it", typed, 0, 1e6, unit) == 12.5 * unit.metric
        assert read("it", f"{typed} {unit.symbol}", 0, 1e6, unit) == 12.5 * unit.metric
        assert shown(12.5 * unit.metric, unit) == "12.5"


@pytest.mark.parametrize(
    ("typed", "unit", "remedy"),
    [
        ("3 oz", METRIC.mass, "3 oz is 85.049 g: type that"),
        ("0,5 lb", METRIC.mass, "0,5 lb is 226.796 g: type that"),
        ("85 g", OZ_IN.mass, "85 g is 2.998 oz: type that"),
        ("6 in", METRIC.length, "6 in is 152.4 mm: type that"),
        ('6"', METRIC.length, '6" is 152.4 mm: type that'),
        ("150 mm", OZ_IN.length, "150 mm is 5.906 in: type that"),
    ],
)
def test_another_unit_is_refused_with_what_to_type(typed, unit, remedy) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match="must be a plain number") as refused:
        read("it", typed, 0, 1e6, unit)
    assert str(refused.value).endswith(remedy)
    assert f"of {unit.name}, got " in str(refused.value)


@pytest.mark.parametrize("unit", [METRIC.length, OZ_IN.length, COUNT])
def test_the_limits_that_a_refusal_names_can_be_typed(unit) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError) as refused:
        read("side", "99999", 10, 5000, unit)
    limits = re.search("from ([0-9.]+) to ([0-9.]+)", str(refused.value))
    assert limits
    for limit in limits.groups():
        assert 10 <= read("side", limit, 10, 5000, unit) <= 5000


@pytest.mark.parametrize(
    ("metric", "other"),
    [
        (
            "thickness_mm of the sheet must be a number from 1 to 60, got 95.25; press it thinner",
            "thickness of the sheet must be from 0.03937 to 2.362 in, got 3.75 in; press it thinner",
        ),
        ("make it of 2 x 1 tiles of 254 x 127.0 mm", "make it of 2 x 1 tiles of 10 x 5 in"),
        ("loads from 28.35 to 56.7 g", "loads from 1 to 2 oz"),
        ("it floats at 0.95 g/cm³, 180 °C", "it floats at 0.95 g/cm³, 180 °C"),
        ("150 mm is 5.906 in: type that", "150 mm is 5.906 in: type that"),
    ],
)
def test_a_refusal_speaks_in_the_units_chosen(metric: str, other: str) -> None:
    assert OZ_IN.sentence(metric) == other
    assert METRIC.sentence(metric) == metric


def test_percent_is_written_one_way() -> None:
    """With a space, as in the SI Brochure (9th edition, 2019, section 5.4.7); a page's styles have none."""
    lines = (line for path in PACKAGE.rglob("*.py") for line in path.read_text("utf-8").splitlines())
    joined = [line.strip() for line in lines if re.search(r"[\dg]%\}|\}% ", line)]
    assert [line for line in joined if not re.search("width:|left:", line)] == []
