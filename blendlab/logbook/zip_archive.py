"""A ZIP with a manifest: the same contents give the same bytes, and only a whole, unaltered one is read.

The manifest lists every file with its digest. Names, sizes and digests are checked before anything is used;
sizes are those that unpack, not those claimed.
"""

import hashlib
import io
import re
import struct
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any, BinaryIO, NoReturn
from zlib import error as ZlibError

from .. import checks
from ..io import toml

FORMAT = "blendlab workshop log"
VERSION = 2
READABLE = (1, 2)  # versions; 1 has what sheets took instead of a ledger
MANIFEST = "manifest.toml"
MAX_FILES = 50_000
MAX_GROWTH = 2_000_000_000  # bytes by which all files together, unpacked, may exceed the ZIP
MAX_FILE_BYTES = 50_000_000  # of one

DAMAGE = (
    zipfile.BadZipFile,
    ZlibError,
    EOFError,
    OverflowError,
    RuntimeError,
    ValueError,
    struct.error,
)  # what Python's own readers raise
_LONG_AGO = (1980, 1, 1, 0, 0, 0)  # a fixed time, so that the same log gives the same ZIP


def write(file: BinaryIO, contents: Iterable[tuple[str, bytes]]) -> None:
    """Write files, given as names and bytes, and then their manifest."""
    files = []
    with zipfile.ZipFile(file, "w") as archive:
        for name, content in contents:
            archive.writestr(zipfile.ZipInfo(name, _LONG_AGO), content, zipfile.ZIP_DEFLATED)
            digest = hashlib.sha256(content).hexdigest()
            files.append({"name": name, "sha256": digest})
        manifest = toml.write({"format": FORMAT, "version": VERSION, "file": files})
        archive.writestr(zipfile.ZipInfo(MANIFEST, _LONG_AGO), manifest)


class Archive:
    """An open ZIP whose files are those of its manifest, unaltered."""

    def __init__(self, archive: zipfile.ZipFile, size: int, known: re.Pattern[str]) -> None:
        self._archive = archive
        infos = archive.infolist()
        if len(infos) > MAX_FILES or sum(info.file_size for info in infos) > size + MAX_GROWTH:
            refuse(f"more than {MAX_FILES:,} files, or {MAX_GROWTH / 1e9:g} GB more than the ZIP itself")
        if any(info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED) for info in infos):
            refuse("files packed in an unusual way")
        names = [info.filename for info in infos if info.filename != MANIFEST]
        for name in names:
            if not known.fullmatch(name):
                refuse(f"a file named {name}")
        self.names = frozenset(names)
        if len(self.names) != len(infos) - 1:
            refuse("no manifest, or a file twice")
        manifest = self._manifest()
        self.version = manifest["version"]
        self._check(_digests(manifest))

    def bytes(self, name: str) -> bytes:
        """Unpack a file."""
        try:
            with self._archive.open(name) as file:
                content = file.read(MAX_FILE_BYTES + 1)
        except KeyError:
            refuse(f"no {_described(name)}")
        if len(content) > MAX_FILE_BYTES:
            refuse(f"more than {MAX_FILE_BYTES / 1e6:g} MB in {_described(name)}")
        return content

    def text(self, name: str) -> str:
        """Unpack a text file."""
        try:
            return self.bytes(name).decode("utf-8")
        except UnicodeDecodeError:
            refuse(f"no UTF-8 text in {_described(name)}")

    def _manifest(self) -> dict[str, Any]:
        """Read the manifest."""
        manifest = toml.parse("the manifest", self.text(MANIFEST))
        if manifest.get("format") != FORMAT:
            refuse("another program's manifest")
        if manifest.get("version") not in READABLE:
            found = checks.shown(manifest.get("version"))
            refuse(f"version {found} of the format, where this blendlab reads up to {VERSION}")
        return manifest

    def _check(self, digests: dict[str, object]) -> None:
        """Compare every file with its digest in the manifest."""
        if digests.keys() != self.names:
            refuse("files other than those in its manifest")
        for name in self.names:
            if hashlib.sha256(self.bytes(name)).hexdigest() != digests[name]:
                refuse(f"{_described(name)} that was altered")


def _digests(manifest: dict[str, Any]) -> dict[str, object]:
    """Return what the digest of each file should be."""
    rows = manifest.get("file", [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        refuse("a manifest without files")
    return {str(row.get("name")): row.get("sha256") for row in rows}


def _described(name: str) -> str:
    """Name a file for a sentence: the long digests of pictures and recipes tell a maker nothing."""
    folder, _, file = name.partition("/")
    return {"photos": "a picture", "recipes": "a recipe"}.get(folder, name) if file else name


@contextmanager
def opened(file: BinaryIO, known: re.Pattern[str]) -> Iterator[Archive]:
    """Open a ZIP to read it; any damage becomes one sentence.

    InputError where it is not a ZIP, not ours, altered, too large, or damaged further on.

    Parameters
    ----------
    known : pattern
        What a name in it may be.
    """
    try:
        size = file.seek(0, io.SEEK_END)
        with zipfile.ZipFile(file) as archive:
            yield Archive(archive, size, known)
    except checks.InputError:
        raise
    except DAMAGE as error:
        refuse(f"another file, or a damaged one ({error})")


def refuse(found: str) -> NoReturn:
    """Refuse a ZIP: nothing of it has been imported."""
    rule = "an import must be a whole, unaltered export of a blendlab log"
    checks.refuse(rule, checks.Raw(found), "nothing was imported; choose a file that blendlab exported")
