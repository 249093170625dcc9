"""What a maker measures: checked once, in the maker's words."""

import pytest

from blendlab.checks import InputError
from blendlab.recipe.measurements import Chip, checked_spectrum, spectrum_from_csv
from blendlab.recipe.recipe import Flake, Recipe, Sheet, from_toml, to_toml

NM = range(400, 701, 10)
FLAT = tuple((float(nm), 0.5) for nm in NM)


def as_csv(pairs, heading="reflectance"):
    return f"nm,{heading}\n" + "".join(f"{nm},{value}\n" for nm, value in pairs)


@pytest.mark.parametrize(
    "text",
    [
        as_csv(FLAT),
        as_csv(((nm, 50.0) for nm in NM), "percent"),
        as_csv(FLAT).replace(",", ";").replace("0.5", "0,5"),
        "\ufeff" + as_csv(FLAT).replace("\n", "\r\n\r\n"),
    ],
)
def test_a_spectrum_is_read_in_any_usual_form(text):
    assert spectrum_from_csv(text) == FLAT


def test_a_dark_spectrum_headed_percent_stays_dark():
    dark = spectrum_from_csv(as_csv(((nm, 0.5) for nm in NM), "percent"))
    assert {value for _, value in dark} == {0.005}


@pytest.mark.parametrize(
    ("pairs", "said"),
    [
        (reversed(FLAT), "must rise, got 700 then 690 nm"),
        ((*FLAT, (700.0, 0.5)), "may stand once, got 700 then 700 nm"),
        ((pair for pair in FLAT if not 450 < pair[0] < 480), "no gap above 20 nm, got 450 then 480 nm"),
        ((pair for pair in FLAT if pair[0] > 430), "must reach from 420 nm or below"),
        ((pair for pair in FLAT if pair[0] < 650), "to 680 nm or above"),
        ((*FLAT, (710.0, 1.3)), "at 710 nm must be a number from 0 to 1.2, got 1.3"),
        ((*FLAT, (710.0, 3.0)), "head the column percent"),
        ((*FLAT, (710.0, -0.1)), "got -0.1"),
        ((*FLAT, (710.0, "none")), "reflectance on line 33 must be a number, got 'none'"),
        (((0.4 + nm / 1e6, 0.5) for nm in NM), "give it in nanometres"),
        ((), "must have rows"),
    ],
)
def test_a_broken_spectrum_is_refused_in_one_sentence(pairs, said):
    with pytest.raises(InputError) as refusal:
        spectrum_from_csv(as_csv(pairs))
    assert said in str(refusal.value)


@pytest.mark.parametrize("points", [None, 3, "abc", [1, 2], [[400]], [[400, 0.5, 1]], [[True, 0.5]], []])
def test_malformed_spectra_are_refused(points):
    with pytest.raises(InputError, match="the spectrum"):
        checked_spectrum("the spectrum", points)


@pytest.mark.parametrize(
    "values",
    [
        (0.0, "#101010", "#404040"),
        (1.0, "101010", "#404040"),
        (1.0, "#101010", None),
        ("1", "#101010", "#444444"),
    ],
)
def test_a_broken_chip_is_refused(values):
    with pytest.raises(InputError, match="of the chip"):
        Chip(*values)


@pytest.mark.parametrize("over_white", ["#404040", "#404038", "#204040"])
def test_a_chip_no_lighter_over_white_than_over_black_is_refused(over_white):
    with pytest.raises(
        InputError, match=f"over black than over white, got #404040 over black and {over_white}"
    ):
        Chip(1.0, "#404040", over_white)


MEASURED = Recipe(
    "Measured",
    Sheet(),
    (
        Flake("spectrum", "#bcbcbc", 50, hide_mm=1.1, spectrum=FLAT, source="meter, March"),
        Flake("chip", "#303030", 50, chip=Chip(1.2, "#101010", "#404040")),
    ),
    refractive_index=1.52,
)


def test_measurements_travel_in_the_recipe_file():
    assert from_toml(to_toml(MEASURED)) == MEASURED


@pytest.mark.parametrize("other", [{"hide_mm": 1.0}, {"spectrum": FLAT}])
def test_a_chip_stands_alone(other):
    with pytest.raises(InputError, match=f"must stand without {next(iter(other))}"):
        Flake("chip", "#303030", 50, chip=Chip(1.2, "#101010", "#404040"), **other)


@pytest.mark.parametrize("chip", ["chip = 3", "chip = { thickness_mm = 1 }", "chip = { thick = 1 }"])
def test_a_chip_that_is_not_a_table_of_three_is_refused(chip):
    sheet = "[sheet]\nlength_mm = 100\nwidth_mm = 100\nthickness_mm = 6"
    flake = f'[[flake]]\nname = "chip"\nsrgb = "#303030"\ngrams = 50\n{chip}'
    with pytest.raises(InputError, match="chip of flake 'chip'"):
        from_toml(f'name = "Measured"\n{sheet}\n{flake}\n')


@pytest.mark.parametrize("index", [0.9, 2.1, float("nan"), "glass"])
def test_a_refractive_index_out_of_range_is_refused(index):
    with pytest.raises(InputError, match="refractive_index must be a number from 1 to 2"):
        Recipe("Tile", Sheet(), MEASURED.flakes, refractive_index=index)
