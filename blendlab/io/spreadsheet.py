"""Tables as spreadsheets save them: comma-separated text and its quirks.

The reader accepts a byte order mark, semicolons or tabs between cells, decimal commas, quoted cells, blank
lines and a leading ``sep=`` line. The writer makes plain CSV in which no cell can act as a formula.
"""

import csv
import math
import re
from collections.abc import Collection, Iterable, Iterator, Sequence

from .. import checks

MAX_ROWS = 2000
_DELIMITERS = (";", "\t", ",")
# Text that would start a formula gets an apostrophe in front: at the start of a cell, and inside it after a
# character that another country's spreadsheet may take for a delimiter. Text that already has one gets one
# more, so that removing one always restores the text.
_BREAK, _FORMULA = r"(^|[;\t\r\n])", r"""(?=(?:['"]|[^\S\t\r\n])*[=+\-@＝＋－＠])"""
_WOULD_BE_FORMULA, _GUARDED = re.compile(_BREAK + _FORMULA), re.compile(f"{_BREAK}'{_FORMULA}")
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?", re.ASCII)


def read(
    what: str, text: str, needed: Collection[str], allowed: Collection[str]
) -> Iterator[tuple[int, dict[str, str]]]:
    r"""Read the rows below a line of headings.

    InputError where a heading is unknown, missing or repeated, a row has more cells than the headings, or a
    quote is not closed.

    Parameters
    ----------
    what : str
        The table's name in error messages, such as ``"a flake list"``.
    needed, allowed : collection of str
        Required headings, and all allowed ones, in lower case.

    Yields
    ------
    int, dict of str to str
        Line number and the cells by heading, trimmed; a missing cell is empty.

    Examples
    --------
    >>> list(read("a list", "Name;grams\nwhite;1,5\n", ["name"], ["name", "grams"]))
    [(2, {'name': 'white', 'grams': '1,5'})]
    """
    lines = _rows(what, text)
    _, headings = next(lines, (0, []))
    headings = [heading.lower() for heading in headings]
    while headings and not headings[-1]:
        headings.pop()
    checks.keys(f"the headings of {what}", dict.fromkeys(headings), needed, allowed)
    if len(set(headings)) < len(headings):
        twice = next(heading for heading in headings if headings.count(heading) > 1)
        checks.refuse(f"each heading of {what} may stand once", twice, "take out one of the columns")
    for count, (number, cells) in enumerate(lines, start=1):
        if count > MAX_ROWS:
            checks.refuse(f"{what} must have at most {MAX_ROWS} rows", count, "split the file")
        if any(cells[len(headings) :]):
            rule = f"line {number} of {what} must have at most {len(headings)} cells"
            checks.refuse(rule, len(cells), "put text that holds a comma in quotes")
        yield number, {**dict.fromkeys(headings, ""), **dict(zip(headings, cells, strict=False))}


def _rows(what: str, text: str) -> Iterator[tuple[int, list[str]]]:
    """Yield each line that is not blank, split into trimmed cells, with its number."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    named = re.match("sep=(.)\n", text)
    delimiter = named[1] if named else _delimiter(text)
    reader = csv.reader(re.findall(".*\n|.+", text), delimiter=delimiter, strict=True)
    try:
        for cells in reader:
            if named and reader.line_num == 1:
                continue
            trimmed = [_GUARDED.sub(r"\1", cell.strip()) for cell in cells]
            if any(trimmed):
                yield reader.line_num, trimmed
    except csv.Error as error:
        remedy = "close the quotes there, or save the table as CSV again"
        checks.refuse(f"line {reader.line_num} of {what} must be well-formed CSV", error, remedy)


def _delimiter(text: str) -> str:
    """Return the delimiter that the headings use most; no heading contains one."""
    headings = next((line for line in text.split("\n") if line.strip()), "")
    return max(_DELIMITERS, key=headings.count)


def number(what: str, cell: str, remedy: str) -> float:
    """Read a number with a decimal point or a decimal comma.

    InputError where the cell holds anything else, including thousands separators.

    Examples
    --------
    >>> number("grams", "1,5", ""), number("grams", " 250", "")
    (1.5, 250.0)
    """
    plain = cell.strip()
    value = float(plain.replace(",", ".")) if _NUMBER.fullmatch(plain) else math.nan
    if not math.isfinite(value):
        checks.refuse(f"{what} must be a number", cell, remedy)
    return value


def write(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Write a table as CSV; None is an empty cell, and no text can act as a formula.

    Examples
    --------
    >>> print(write(["name", "grams"], [["=1+1", 2.5], ["white, clean", None]]), end="")
    name,grams
    '=1+1,2.5
    "white, clean",
    """
    lines = _Lines()
    writer = csv.writer(lines)
    writer.writerow(headings)
    writer.writerows([_guarded(cell) for cell in row] for row in rows)
    return "".join(lines)


class _Lines(list[str]):
    r"""Stands in for the file that `csv.writer` writes to: ``\r`` and ``\n`` in cells stay quoted."""

    def write(self, line: str) -> None:
        """Append a line, ending in a plain newline."""
        self.append(line.removesuffix("\r\n") + "\n")


def _guarded(cell: object) -> object:
    """Put an apostrophe before text that a spreadsheet would run as a formula; `_rows` removes it."""
    return _WOULD_BE_FORMULA.sub(r"\1'", cell) if isinstance(cell, str) else cell
