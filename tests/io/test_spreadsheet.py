"""Tables as spreadsheets save them; RFC 4180 is the common core."""

import csv
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.io import spreadsheet

HEADINGS = ("name", "grams")
labels = st.text(st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"]), min_size=1, max_size=20).filter(
    lambda text: text == text.strip()
)


def read(text):
    return [row for _, row in spreadsheet.read("a list", text, ["name"], HEADINGS)]


@pytest.mark.parametrize(
    "text",
    [
        "name,grams\nwhite,2.5\n",
        "\ufeffname,grams\r\nwhite,2.5\r\n",
        "name;grams\nwhite;2,5\n",
        "name\tgrams\nwhite\t2,5\n",
        'name,grams\n"white","2,5"\n',
        "\n\n Name , GRAMS \n,\n  white , 2.5 \n\n,,\n",
        "sep=;\r\nname;grams\r\nwhite;2.5\r\n",
        "name,grams,,\nwhite,2.5,,\n",
    ],
)
def test_every_quirk_reads_the_same(text):
    (row,) = read(text)
    assert row["name"] == "white"
    assert spreadsheet.number("grams", row["grams"], "") == 2.5


def test_quoted_names_keep_delimiters_and_quotes():
    assert read('name,grams\n"white, ""clean"" ; new",1\n')[0]["name"] == 'white, "clean" ; new'


def test_a_missing_cell_is_empty():
    assert read("name,grams\nwhite\n") == [{"name": "white", "grams": ""}]


def test_lines_are_counted_as_an_editor_does():
    rows = spreadsheet.read("a list", "name,grams\n\nwhite,1\n\nblue,2\n", ["name"], HEADINGS)
    assert [line for line, _ in rows] == [3, 5]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "needs name"),
        ("grams\n3\n", "got no name"),
        ("name,colour\nwhite,3\n", "got 'colour'; use name or grams"),
        ("name,name\nwhite,3\n", "may stand once, got 'name'"),
        ("name,grams\nwhite,3,4\n", "line 2 of a list must have at most 2 cells, got 3"),
        ('name,grams\n"white,3\n', "well-formed CSV"),
    ],
)
def test_a_malformed_table_is_refused_in_one_sentence(text, said):
    with pytest.raises(InputError) as refusal:
        read(text)
    assert said in str(refusal.value)
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize("cell", ["", "white", "1.234,5", "1,234.5", "1 000", "nan", "1e999", "--1", "٣"])
def test_a_cell_that_is_not_a_number_is_refused(cell):
    with pytest.raises(InputError, match="grams on line 2 must be a number"):
        spreadsheet.number("grams on line 2", cell, "weigh it")


@given(st.lists(st.tuples(labels, st.floats(0, 1e6)), min_size=1))
def test_what_is_written_reads_back(rows):
    found = read(spreadsheet.write(HEADINGS, rows))
    assert [(row["name"], float(row["grams"])) for row in found] == rows


@pytest.mark.parametrize(
    "name", ["=1+1", "+1", "-1", "@SUM(A1)", "'=1+1", "''-1", "＝1+1", "x;=1;", "a;' @b"]
)
def test_no_cell_can_act_as_a_formula(name):
    text = spreadsheet.write(HEADINGS, [(name, 1.0)])
    assert "'" in list(csv.reader(StringIO(text)))[1][0]
    assert read(text)[0]["name"] == name


@given(st.lists(st.text(st.sampled_from("=+-@＝'; \t\r\n\",a1"), max_size=12), min_size=1, max_size=4))
def test_no_text_starts_a_formula_with_any_delimiter(cells):
    """OWASP, "CSV Injection": cells that begin with = + - @, after blanks, tabs or line ends too, are run."""
    text = spreadsheet.write([f"c{n}" for n in range(len(cells))], [cells])
    for delimiter in ",;\t":
        for row in csv.reader(StringIO(text, newline=""), delimiter=delimiter):
            assert not [cell for cell in row if cell.strip().startswith(tuple("=+-@＝"))]
    (_, found) = csv.reader(StringIO(text, newline=""))
    assert [spreadsheet._GUARDED.sub(r"\1", cell) for cell in found] == cells
