"""Damage to bytes and text, as by accident, other programs or malice.

Every function draws from the `random.Random` it is given, so that a seed always makes the same case.
"""

import re
from collections.abc import Callable
from random import Random

LONG = 100_000  # characters of a very long name or cell
DEEP = 3_000  # nested brackets: deeper than Python's parsers go

# What can stand where a number, a name or a colour should.
CELLS = (
    *("", " ", "0", "-0.0", "-1", "1e308", "1e-320", "1e999", "nan", "inf", "-inf", "9" * 5000, "0" * 400),
    *(
        "1_000",
        "0x10",
        "true",
        "null",
        "1,5",
        "1.234,5",
        "٣",
        "−3",
        "2026-02-30",
        "07:32:00",
        "#12",
        "#GGGGGG",
    ),
    *("=1+1", "+1", "-1+1", "@SUM(A1)", "'=1", "\t=1", "＝1", "| cmd", "%00", "{0}", "%s%n", "$HOME", "`id`"),
    *("../../evil", "/etc/passwd", "C:\\evil", "a/b", "CON", ".", "..", "\0", "\x1b[31m", "\x7f", "\x85"),
    *("\u202e", "\u2028", "\u200b", "\ufeff", "\ufffe", "e\u0301" * 40, "👩‍🔧" * 30, "ﷺ" * 61, "ü" * 60),
    *(
        "<script>alert(1)</script>",
        "![a](http://a.invalid/a.png)",
        "' OR 1=1 --",
        '"',
        "'",
        '"""',
        "\\",
        "\\u",
    ),
    *("a" * LONG, "[" * DEEP, "{a=" * DEEP, "a." * DEEP + "a", "(", "]", "}", ";", ",", "\t", "sep=;", "\r"),
)
_WORD = re.compile(r"[^\s,;:=\"'\[\]{}]+")


def damaged_bytes(content: bytes, rng: Random) -> bytes:
    """Bytes with one to four faults, as from a bad disk or a broken transfer."""
    for _ in range(rng.choice((1, 1, 2, 4))):
        content = rng.choice(_FAULTS)(content, rng)
    return content


def _flip(content: bytes, rng: Random) -> bytes:
    """One bit flipped, mostly near the start, where headers are."""
    if not content:
        return content
    at = rng.randrange(min(len(content), rng.choice((16, 64, 512, len(content)))))
    return content[:at] + bytes([content[at] ^ 1 << rng.randrange(8)]) + content[at + 1 :]


def _stretch(content: bytes, rng: Random) -> tuple[int, int]:
    """Start and end of a random stretch of the bytes."""
    start = rng.randrange(len(content) + 1)
    return start, min(len(content), start + rng.choice((1, 2, 4, 16, 256, len(content))))


def _overwrite(content: bytes, rng: Random) -> bytes:
    start, end = _stretch(content, rng)
    new = rng.choice((b"\0", b"\xff", b"\x7f", b"\x80", b"PK", rng.randbytes(1))) * (end - start)
    return content[:start] + new[: end - start] + content[end:]


def _drop(content: bytes, rng: Random) -> bytes:
    start, end = _stretch(content, rng)
    return content[:start] + content[end:]


def _double(content: bytes, rng: Random) -> bytes:
    start, end = _stretch(content, rng)
    return content[:end] + content[start:]


def _put_in(content: bytes, rng: Random) -> bytes:
    at = rng.randrange(len(content) + 1)
    return content[:at] + rng.randbytes(rng.choice((1, 2, 4, 64))) + content[at:]


def _cut(content: bytes, rng: Random) -> bytes:
    return content[: rng.randrange(len(content) + 1)]


_FAULTS: tuple[Callable[[bytes, Random], bytes], ...] = (
    *(_flip, _flip, _flip),
    *(_overwrite, _drop, _double, _put_in, _cut),
)


def damaged_text(text: str, rng: Random) -> bytes:
    """A text file with damaged lines and cells, sometimes in an odd encoding."""
    for _ in range(rng.choice((0, 1, 1, 2, 3))):
        text = rng.choice(_EDITS)(text, rng)
    content = _saved(text, rng)
    return damaged_bytes(content, rng) if rng.random() < 0.1 else content


def _cell(text: str, rng: Random) -> str:
    """One word replaced by another cell."""
    words = list(_WORD.finditer(text))
    if not words:
        return rng.choice(CELLS)
    word = rng.choice(words)
    return text[: word.start()] + rng.choice(CELLS) + text[word.end() :]


def _two_cells(text: str, rng: Random) -> str:
    """Two words swapped."""
    words = list(_WORD.finditer(text))
    if len(words) < 2:
        return text
    one, two = sorted(rng.sample(words, 2), key=lambda word: word.start())
    between = text[one.end() : two.start()]
    return text[: one.start()] + two[0] + between + one[0] + text[two.end() :]


def _lines(text: str, rng: Random) -> str:
    """Lines removed, doubled, moved, joined, broken, or repeated many times."""
    lines = text.split("\n")
    at, to = rng.randrange(len(lines)), rng.randrange(len(lines))
    line = lines[at]
    half = rng.randrange(len(line) + 1)
    edits: tuple[Callable[[], object], ...] = (
        lambda: lines.pop(at),
        lambda: lines.insert(to, line),
        lambda: lines.insert(to, lines.pop(at)),
        lambda: lines.__setitem__(slice(at, at + 2), ["".join(lines[at : at + 2])]),
        lambda: lines.__setitem__(slice(at, at + 1), [line[:half], line[half:]]),
        lambda: lines.__setitem__(slice(at, at), [line] * rng.choice((3, 13, 2500))),
        lambda: lines.__setitem__(at, rng.choice(CELLS)),
        lambda: lines.__setitem__(at, line + rng.choice((",", ",,,,", ";", " #", '"', " = 1", "\t"))),
    )
    rng.choice(edits)()
    return "\n".join(lines)


def _mark(text: str, rng: Random) -> str:
    """One punctuation mark inserted, removed or replaced everywhere."""
    mark, other = rng.choice('[]{}"=,;:.#\n'), rng.choice(("", "\0", *'[]{}"=,;:.#\n\t'))
    if rng.random() < 0.3:
        return text.replace(mark, other)
    at = text.find(mark, rng.randrange(len(text) + 1))
    return text[:at] + other + text[at + rng.randrange(2) :]


_EDITS: tuple[Callable[[str, Random], str], ...] = (_cell, _cell, _two_cells, _lines, _lines, _mark)


def _saved(text: str, rng: Random) -> bytes:
    """The text as some program saves it: one in four is not plain UTF-8 with plain line ends."""
    if rng.random() < 0.75:
        return text.encode("utf-8", "surrogatepass")
    ends = rng.choice(("\n", "\r\n", "\r", "\n\r", "\x0b", "\u2028"))
    text = rng.choice(("", "", "\ufeff", "\ufeff\ufeff", "\n\n")) + text.replace("\n", ends)
    code = rng.choice(("utf-8", "utf-8", "utf-16", "utf-16-le", "utf-32", "latin-1", "cp1252", "utf-7"))
    return text.encode(code, "replace")
