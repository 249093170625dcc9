"""The flake list: read and written whole, spreadsheets' quirks and all."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.recipe.flake import KINDS, LetDown
from blendlab.recipe.flake_list import COLUMNS, Stocked, from_csv, to_csv
from blendlab.recipe.measurements import Chip

FLAT = tuple((float(nm), 0.1 + 0.2) for nm in range(400, 701, 20))

labels = (
    st.text(st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"]), min_size=1, max_size=30)
    .map(str.strip)
    .filter(bool)
)
hexes = st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}")
shades = st.lists(st.integers(0, 255), min_size=2, max_size=2, unique=True).map(sorted)
chips = st.builds(
    lambda thickness_mm, shades: Chip(thickness_mm, *(f"#{shade:02x}{shade:02x}40" for shade in shades)),
    st.floats(0.05, 20),
    shades,
)
let_downs = st.builds(LetDown, st.just("~ the partner"), st.floats(0.1, 99), hexes) | st.builds(
    LetDown, st.just("~ the partner"), st.floats(0.1, 99), spectrum=st.just(FLAT)
)
measurements = st.one_of(
    st.fixed_dictionaries({}, optional={"hide_mm": st.floats(0.01, 200), "spectrum": st.just(FLAT)}),
    st.fixed_dictionaries({"chip": chips}),
    st.fixed_dictionaries({"let_down": let_downs}, optional={"spectrum": st.just(FLAT)}),
)
stocked = st.builds(
    lambda known, **row: Stocked(**row, **known),
    known=measurements,
    name=labels,
    srgb=hexes,
    grams=st.floats(0, 1e6),
    piece_g=st.none() | st.floats(1e-3, 1e4),
    source=st.just("") | labels,
    kind=st.none() | st.sampled_from(KINDS),
)
PARTNER = Stocked("~ the partner", "#f0f0f0")


@given(st.lists(stocked, min_size=1, max_size=6, unique_by=lambda flake: flake.name))
def test_what_is_written_reads_back_to_the_last_digit(flakes):
    flakes = (*flakes, PARTNER)
    assert from_csv(to_csv(flakes)) == flakes


def test_common_lists_keep_to_the_six_columns():
    text = to_csv([Stocked("chalk", "#f2f0e8", hide_mm=1.1, grams=800, piece_g=2.3, source="caps")])
    assert text.splitlines() == [",".join(COLUMNS), "chalk,#f2f0e8,1.1,800.0,2.3,caps"]


def test_a_list_from_a_spreadsheet_is_read():
    text = '\ufeffName;SRGB;hide_mm;grams\r\n"chalk; clean";#F2F0E8;1,1;\r\n;;;\r\nblue;#14409a;;1200,5\r\n'
    assert from_csv(text) == (
        Stocked("chalk; clean", "#f2f0e8", hide_mm=1.1),
        Stocked("blue", "#14409a", grams=1200.5),
    )


def test_a_flake_is_charged_with_all_that_is_known_of_it():
    known = Stocked("chalk", "#f2f0e8", grams=800, spectrum=FLAT, hide_mm=1.1, source="meter")
    flake = known.charged(50)
    assert (flake.grams, flake.spectrum, flake.hide_mm, flake.source) == (50, FLAT, 1.1, "meter")


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("blue,14409a,,,,", "line 3: srgb of flake 'blue' must be written #rrggbb, got '14409a'"),
        (",#14409a,,,,", "line 3: flake name must not be empty"),
        ("chalk,#14409a,,,,", "line 3: each flake needs a name of its own, got 'chalk'"),
        ("blue,#14409a,thin,,,", "line 3: hide_mm must be a number, got 'thin'"),
        ("blue,#14409a,0,,,", "line 3: hide_mm of flake 'blue' must be a number from 0.01 to 200"),
        ("blue,#14409a,,-1,,", "line 3: grams on hand of flake 'blue' must be a number from 0"),
        ("blue,#14409a,,,0,", "line 3: piece_g of flake 'blue' must be a number above 0"),
        ("blue,#14409a,,,,,1", "line 3: over_black of the chip must be written #rrggbb, got ''"),
        ("blue,#14409a,,,,,,#000000,#ffffff", "line 3: thickness_mm of the chip must be a number"),
        ("blue,#14409a,1,,,,1,#000000,#444444", "line 3: chip of flake 'blue' must stand without hide_mm"),
        ("blue,#14409a,,,,,,,,400:0.1 410", "line 3: a reflectance of the spectrum must be a number, got ''"),
        ("blue,#14409a,,,,,,,,400:0.1 690:0.1", "line 3: the spectrum of flake 'blue' must have no gap"),
    ],
)
def test_a_broken_line_is_refused_by_its_number(row, said):
    heading = ",".join((*COLUMNS, "chip_mm", "over_black", "over_white", "spectrum"))
    with pytest.raises(InputError) as refusal:
        from_csv(f"{heading}\nchalk,#f2f0e8\n{row}\n")
    assert str(refusal.value).startswith(said)


@pytest.mark.parametrize("text", ["name,srgb\n", "name,srgb\n\n,\n"])
def test_an_empty_list_is_refused(text):
    with pytest.raises(InputError, match="a flake list must hold a flake, got nothing"):
        from_csv(text)
