"""The kinds of files that a maker brings: numbered hostile cases of each, and the reader under test."""

import io
import re
import shutil
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import numpy as np

from blendlab.checks import InputError
from blendlab.io import photo_files, text_files
from blendlab.logbook import drafts, export, photos, restore, sheet_log, stock
from blendlab.logbook.sheet_log import LoggedSheet
from blendlab.recipe.flake import LetDown, Partner
from blendlab.recipe.flake_list import Stocked, from_csv, to_csv
from blendlab.recipe.measurements import Chip, spectrum_from_csv
from blendlab.recipe.recipe import Flake, Folding, from_toml, to_toml

from .damage import damaged_text
from .images import damaged_photo
from .images import photos as sound_photos
from .zips import bomb, damaged_zip

SWATCHES = Path(__file__).parents[2] / "swatches"
MAX_SENTENCE = 400  # characters: three lines on a screen
MEMORY = Path("/dev/shm")  # a RAM disk where there is one: thousands of logs are written and deleted
BOMBS = 200  # one ZIP in so many is a bomb: each takes the reader a fifth of a second


@dataclass(frozen=True)
class Kind:
    """One kind of file: how to make a hostile one, and how the program reads it in a scratch folder.

    The reader raises AssertionError where the answer is wrong.
    """

    name: str
    make: Callable[[Random], bytes]
    read: Callable[[bytes, Path], None]

    def case(self, number: int) -> bytes:
        """The case with this number, always the same."""
        return self.make(Random(f"{self.name} {number}"))


@dataclass(frozen=True)
class Ended:
    """How a case ended: with an answer, or with the text of a refusal."""

    said: str | None
    seconds: float


def tried(kind: Kind, content: bytes) -> Ended:
    """Read a case; anything but an answer or one sentence raises."""
    with TemporaryDirectory(dir=MEMORY if MEMORY.exists() else None) as folder:
        start = time.perf_counter()
        said = None
        try:
            kind.read(content, Path(folder))
        except InputError as refusal:
            said = str(refusal)
        ended = Ended(said, time.perf_counter() - start)
    if said is not None:
        check_sentence(said)
    return ended


def check_sentence(said: str) -> None:
    """Assert that a refusal is one sentence: the rule, the value, the remedy."""
    assert said.isprintable(), repr(said)
    assert re.search(r"^\S.*\S, got .*\S; \S.*[^\s.,;:]$", said), said
    assert len(said) <= MAX_SENTENCE, said


# --- recipes, flake lists, spectra

FLAT = tuple((float(nm), 0.1 + nm / 2000) for nm in range(400, 701, 20))
CHIP = Chip(1.25, "#101018", "#e0e0f0")


def _text(content: bytes, folder: Path) -> str:
    """The text of a file, read as every command reads it."""
    file = folder / "given"
    file.write_bytes(content)
    return text_files.read_text(file)


@cache
def _recipes() -> tuple[str, ...]:
    plain = from_toml((SWATCHES / "harbour.toml").read_text())
    white, blue, *_ = plain.flakes
    full = replace(
        plain,
        flakes=(
            replace(white, hide_mm=None, spectrum=FLAT, source="own instrument"),
            replace(blue, hide_mm=None, chip=CHIP),
            Flake("scrap", "#808080", 5, size_mm=(9.0, 6.5, 1.2), kind="tinted"),
            Flake("tide", "#14409a", 5, let_down=LetDown("scrap", 10, "#6a7084")),
            Flake("reed", "#507038", 5, let_down=LetDown(Partner("chalk", "#f2f0e8"), 10, spectrum=FLAT)),
        ),
        folding=Folding(moves=("edges-in", "turn", "half", "twist:90", "flip"), spacers_mm=(6.0, 8.0)),
        reach_factor=1.5,
        sheet=replace(plain.sheet, finish="matte"),
    )
    return (*(path.read_text() for path in sorted(SWATCHES.glob("*.toml"))), to_toml(full), to_toml(full))


def _read_recipe(content: bytes, folder: Path) -> None:
    recipe = from_toml(_text(content, folder))
    assert from_toml(to_toml(recipe)) == recipe
    assert np.isclose(recipe.shares.sum(), 1)


@cache
def _lists() -> tuple[str, ...]:
    measured = (
        Stocked("chalk", "#f2f0e8", grams=800, spectrum=FLAT, source="caps, the café"),
        Stocked('blue; "new"', "#14409a", grams=2.5, chip=CHIP),
        Stocked("=1+1", "#101010", hide_mm=0.6, piece_g=2.3, kind="opaque"),
        Stocked("tide", "#14409a", let_down=LetDown("chalk", 10, "#7f93c8")),
    )
    plain = (SWATCHES / "flakes.csv").read_text()
    return plain, to_csv(measured), to_csv(measured).replace(",", ";").replace(".", ",")


def _read_list(content: bytes, folder: Path) -> None:
    flakes = from_csv(_text(content, folder))
    assert from_csv(to_csv(flakes)) == flakes


@cache
def _spectra() -> tuple[str, ...]:
    plain = "nm,reflectance\n" + "".join(f"{nm:g},{value:.4f}\n" for nm, value in FLAT)
    percent = "sep=;\r\nnm;percent\r\n" + "".join(f"{nm:g};{100 * v:.2f}\r\n" for nm, v in FLAT)
    return plain, percent.replace(".", ","), plain.replace(",", "\t")


def _read_spectrum(content: bytes, folder: Path) -> None:
    spectrum = spectrum_from_csv(_text(content, folder))
    assert Flake("measured", "#808080", 1, spectrum=spectrum).spectrum == spectrum


# --- the log


@cache
def _zip() -> bytes:
    """An export of a small log that has one of everything."""
    photo, *_ = sound_photos()
    recipe = from_toml(_recipes()[-1])
    with TemporaryDirectory() as folder:
        home = Path(folder)
        stock.put(home, [Stocked("scrap", "#808080", grams=100), Stocked("=1", "#101010", grams=1)])
        first = LoggedSheet(date(2026, 3, 14), recipe, ("melt 3 min",), 200.5, notes="calm", rating=4)
        first = replace(first, prediction={"folds": 4, "mean": {"lab": [71.25, -1.5, -9.75]}})
        sheet_log.record(home, first, photo=photo, take={"scrap": 5.0})
        sheet_log.record(home, replace(first, notes="=1+1\n@x", rating=None, prediction={}))
        drafts.save(home, "mix", 'name = "half done"\n')
        file = io.BytesIO()
        export.export_to(home, file)
    return _renamed(file.getvalue())


def _renamed(content: bytes) -> bytes:
    """The ZIP with its sheets and movements named 111…, 222…: SQLite draws other names every time."""
    from .zips import files_of, forged

    files = files_of(content)
    log = dict(files)["log.json"]
    for n, uid in enumerate(dict.fromkeys(re.findall(rb"(?<=[\" ])[0-9a-f]{32}(?=[\" ])", log)), start=1):
        new = f"{n:x}" * 32
        files = [(name.replace(uid.decode(), new), kept.replace(uid, new.encode())) for name, kept in files]
    return forged(files)


def _make_zip(rng: Random) -> bytes:
    return bomb(_zip(), rng) if rng.randrange(BOMBS) == 0 else damaged_zip(_zip(), rng)


def _read_zip(content: bytes, folder: Path) -> None:
    home, again = folder / "home", io.BytesIO()
    try:
        restore.import_from(home, io.BytesIO(content))
    except InputError:
        if home.exists():
            assert sheet_log.search(home) == stock.stock(home) == ()
        assert {path.name for path in folder.iterdir()} <= {"home"}
        raise
    assert {path.name for path in folder.iterdir()} == {"home"}
    export.export_to(home, again)
    for sheet in sheet_log.search(home):
        if sheet.photo:
            photo_files.small_picture(photos.read(home, sheet.photo), 64)
    shutil.rmtree(home)
    restore.import_from(home, again)


# --- photos


def _read_photo(content: bytes, folder: Path) -> None:
    file = folder / "given"
    file.write_bytes(content)
    try:
        photo_files.small_picture(content, 64)  # what a page shows of a kept photo
    except InputError as refusal:
        check_sentence(str(refusal))
    srgb8 = photo_files.read_photo(file)
    assert srgb8.dtype == np.uint8
    assert srgb8.ndim == 3
    assert srgb8.shape[2] == 3
    assert min(srgb8.shape[:2]) >= photo_files.MIN_PHOTO_PX
    assert srgb8.size <= 3 * photo_files.MAX_PHOTO_PX


KINDS = (
    Kind("recipe", lambda rng: damaged_text(rng.choice(_recipes()), rng), _read_recipe),
    Kind("flake list", lambda rng: damaged_text(rng.choice(_lists()), rng), _read_list),
    Kind("spectrum", lambda rng: damaged_text(rng.choice(_spectra()), rng), _read_spectrum),
    Kind("log", _make_zip, _read_zip),
    Kind("photo", damaged_photo, _read_photo),
)
