"""Damaged and forged exports of a log."""

import io
import json
import struct
import warnings
import zipfile
from collections.abc import Callable, Iterable
from functools import cache
from random import Random
from typing import Any

from blendlab.logbook import zip_archive

from .damage import CELLS, DEEP, damaged_bytes, damaged_text

Files = list[tuple[str, bytes]]

NAMES = (
    *("../evil", "../../../../etc/passwd", "/etc/passwd", "C:\\evil", "..\\evil", "photos/../../evil.png"),
    *("photos/" + "0" * 64 + ".png", "photos/", "recipes/", "LOG.JSON", "log.json\0.txt", "log.json/", ""),
    *("\u202egpj.exe", "a" * 60_000, "\x1b[2J", "ü.png", "manifest.toml", "log.json", "stock.csv"),
)
VALUES = (
    *(
        None,
        True,
        False,
        0,
        -1,
        1.5,
        2**31,
        2**63,
        2**64,
        10**40,
        1e300,
        "",
        "0",
        "ü",
        "\0",
        "a\nb",
        "\u2028",
    ),
    *(
        [],
        {},
        [[]],
        [1],
        {"a": 1},
        ["x", "y", 1],
        "../../evil",
        "0" * 32,
        "9" * 32,
        int("9" * 32),
        "2021-02-29",
    ),
    *("@1e400@", "@NaN@", "@-Infinity@", f"@{'9' * 5000}@", f"@{'[' * DEEP}@", "@\\ud800@", "a" * 20_000),
)
LINK = 0o120777 << 16  # the attributes of a symbolic link, as Info-ZIP writes them
ZEROS = 60_000_000  # bytes of a bomb: more than one file of a log may unpack to


def files_of(content: bytes) -> Files:
    """Names and bytes of a ZIP, without the manifest."""
    with zipfile.ZipFile(io.BytesIO(content)) as found:
        return [(name, found.read(name)) for name in found.namelist() if name != zip_archive.MANIFEST]


def forged(files: Iterable[tuple[str, bytes]]) -> bytes:
    """A ZIP whose manifest agrees with its contents, as a forger would make it."""
    out = io.BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # zipfile's own word on a name that stands twice
        zip_archive.write(out, files)
    return out.getvalue()


def damaged_zip(content: bytes, rng: Random) -> bytes:
    """An export with one kind of damage, sometimes two."""
    found = rng.choice(_MISHAPS)(content, rng)
    return damaged_bytes(found, rng) if rng.random() < 0.1 else found


def _texts(content: bytes, rng: Random) -> bytes:
    """One text damaged; the manifest agrees."""
    files = files_of(content)
    texts = [n for n, (name, _) in enumerate(files) if not name.startswith("photos/")]
    at = rng.choice(texts)
    name, text = files[at]
    files[at] = name, damaged_text(text.decode(), rng)
    return forged(files)


def _values(content: bytes, rng: Random) -> bytes:
    """A value of log.json replaced by one of another type or size; the manifest agrees."""
    files = dict(files_of(content))
    whole = json.loads(files["log.json"])
    for _ in range(rng.choice((1, 1, 2))):
        holder, key = rng.choice(list(_nodes(whole)))
        if rng.random() < 0.1:
            del holder[key]
        else:
            holder[key] = rng.choice(VALUES)
    text = json.dumps(whole).replace('"@', "").replace('@"', "")  # what no Python value stands for
    files["log.json"] = text.replace(r"\\ud800", r'"\ud800"').encode()
    return forged(files.items())


def _nodes(value: Any) -> Iterable[tuple[Any, Any]]:
    """Every item of a JSON value, as its container and its key."""
    if isinstance(value, dict | list):
        for key, part in list(value.items() if isinstance(value, dict) else enumerate(value)):
            yield value, key
            yield from _nodes(part)


def _listed(content: bytes, rng: Random) -> bytes:
    """Files removed, doubled, added or renamed, with a manifest that agrees or the old one."""
    files = files_of(content)
    at = rng.randrange(len(files))
    name, kept = files[at]
    what = rng.randrange(4)
    if what == 0:
        del files[at]
    elif what == 1:
        files.append((rng.choice(NAMES), kept))
    elif what == 2:
        files[at] = rng.choice(NAMES), kept
    else:
        files[at] = name, rng.choice((b"", kept * 2, b"\xff\xd8\xff", rng.choice(CELLS).encode()))
    return forged(files) if rng.random() < 0.7 else _unlisted(content, files)


def _unlisted(content: bytes, files: Files) -> bytes:
    """The files under the manifest of another ZIP."""
    out = io.BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(out, "w") as new:
        warnings.simplefilter("ignore")
        for name, kept in files:
            new.writestr(zipfile.ZipInfo(name), kept)
        with zipfile.ZipFile(io.BytesIO(content)) as old:
            new.writestr(zip_archive.MANIFEST, old.read(zip_archive.MANIFEST))
    return out.getvalue()


def _manifest(content: bytes, rng: Random) -> bytes:
    """The manifest itself damaged."""
    files = files_of(content)
    with zipfile.ZipFile(io.BytesIO(content)) as old:
        manifest = old.read(zip_archive.MANIFEST).decode()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as new:
        for name, kept in files:
            new.writestr(name, kept)
        new.writestr(zip_archive.MANIFEST, damaged_text(manifest, rng))
    return out.getvalue()


def _entry(content: bytes, rng: Random) -> bytes:
    """One more entry that no export has: a link, a folder, another compression, a bomb."""
    entry = zipfile.ZipInfo(rng.choice(NAMES) or "a")
    entry.external_attr = rng.choice((0, LINK, 0o40755 << 16, 0xFFFFFFFF))
    entry.compress_type = rng.choice((0, 8, 12, 14))
    entry.comment = rng.choice((b"", b"x" * 60_000))
    out = io.BytesIO(content)
    with warnings.catch_warnings(), zipfile.ZipFile(out, "a") as old:
        warnings.simplefilter("ignore")
        old.comment = rng.choice((b"", b"PK\5\6" * 99))
        old.writestr(entry, rng.choice((b"", b"/etc/passwd", content)))
    return out.getvalue()


@cache
def _bomb() -> bytes:
    """Some 60 kB that unpack to `ZEROS` bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        new.writestr("log.json", b"\0" * ZEROS)
        new.writestr(zip_archive.MANIFEST, "")
    return out.getvalue()


def bomb(content: bytes, rng: Random) -> bytes:
    """A file that unpacks a thousandfold, with its true size stated or a false one."""
    claimed = rng.choice((ZEROS, 0, 1000, 0xFFFFFFFF))
    true, stated = struct.pack("<L", ZEROS), struct.pack("<L", claimed)
    return _bomb().replace(true, stated)


def _headers(content: bytes, rng: Random) -> bytes:
    """A header field set to an extreme: sizes, offsets, checksums, flags, counts."""
    found = bytearray(content)
    for _ in range(rng.choice((1, 1, 3))):
        starts = [at for mark in (b"PK\1\2", b"PK\3\4", b"PK\5\6") for at in _all(content, mark)]
        at = rng.choice(starts) + rng.randrange(4, 46, 2)
        size = rng.choice((1, 2, 4))
        value = rng.choice((0, 1, 2, 255, 65535, 2**31 - 1, 2**31, 2**32 - 1, rng.randrange(2**32)))
        found[at : at + size] = (value % 256**size).to_bytes(size, "little")
    return bytes(found)


def _all(content: bytes, mark: bytes) -> Iterable[int]:
    """Every offset of a mark."""
    at = content.find(mark)
    while at >= 0:
        yield at
        at = content.find(mark, at + 1)


def _around(content: bytes, rng: Random) -> bytes:
    """Bytes before, after or instead of the ZIP."""
    junk = rng.choice((b"", b"#!/bin/sh\n", b"PK\5\6" + b"\0" * 18, b"PK", rng.randbytes(99), content))
    return rng.choice((junk + content, content + junk, junk))


_MISHAPS: tuple[Callable[[bytes, Random], bytes], ...] = (
    *(damaged_bytes, _texts, _texts, _values, _values, _values),
    *(_listed, _manifest, _entry, _headers, _headers, _around),
)
