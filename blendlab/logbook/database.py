"""The log's file: one SQLite database in the user's data folder, opened anew for every operation.

Writing takes the database's write lock before it reads, so two programs cannot step on each other, and
commits or leaves no trace. Reading never writes, not even to migrate: an older or an unwritable log is
read from a copy in memory. A log of a newer version can be read but not changed.
"""

import shutil
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NoReturn

import platformdirs

from .. import checks

FILE = "log.sqlite3"
APPLICATION_ID = 0x424C4C47  # "BLLG", in the file's header: tells our logs from other databases
WAIT_S = 30.0  # for another program's write to end

MIGRATIONS: tuple[tuple[str, ...], ...] = (
    (
        """CREATE TABLE sheets (
            uid TEXT NOT NULL PRIMARY KEY DEFAULT (lower(hex(randomblob(16)))),
            pressed_on TEXT NOT NULL,
            recipe TEXT NOT NULL,
            programme TEXT NOT NULL DEFAULT '',
            length_mm REAL, width_mm REAL, thickness_mm REAL, weight_g REAL,
            notes TEXT NOT NULL DEFAULT '',
            rating INTEGER CHECK (rating BETWEEN 1 AND 5),
            prediction TEXT NOT NULL DEFAULT '{}',
            photo TEXT, picture TEXT
        ) STRICT""",
        "CREATE INDEX sheets_by_date ON sheets (pressed_on)",
    ),
    (
        """CREATE TABLE stock (
            name TEXT NOT NULL PRIMARY KEY,
            flake TEXT NOT NULL, -- as a flake list of this one flake, without its grams
            grams_mg INTEGER NOT NULL CHECK (grams_mg >= 0)
        ) STRICT""",
        """CREATE TABLE taken (
            uid TEXT NOT NULL REFERENCES sheets (uid) ON DELETE CASCADE,
            name TEXT NOT NULL REFERENCES stock (name) ON UPDATE CASCADE ON DELETE CASCADE,
            grams_mg INTEGER NOT NULL CHECK (grams_mg > 0),
            PRIMARY KEY (uid, name)
        ) STRICT""",
    ),
    ("CREATE TABLE drafts (page TEXT NOT NULL PRIMARY KEY, text TEXT NOT NULL) STRICT",),
)
VERSION = len(MIGRATIONS)


def default_home(environ: Mapping[str, str]) -> Path:
    """Return the folder for the log: `BLENDLAB_HOME`, else the platform's folder for user data."""
    chosen = environ.get("BLENDLAB_HOME")
    return Path(chosen) if chosen else platformdirs.user_data_path("blendlab", appauthor=False)


@contextmanager
def reading(home: Path) -> Iterator[sqlite3.Connection]:
    """Open the log to read; where there is none, an empty one that exists nowhere.

    Raises
    ------
    InputError
        Where the file cannot be read, or is no log of ours.
    """
    with _in_words("readable"), closing(_open_to_read(home / FILE)) as log:
        yield log


@contextmanager
def writing(home: Path) -> Iterator[sqlite3.Connection]:
    """Open the log to change it, in one transaction: all of it is kept, or nothing.

    Raises
    ------
    InputError
        Where the folder cannot be written, the disk is full, the file is no log of ours, or a newer
        version wrote it.
    """
    with _in_words("writable"):
        home.mkdir(parents=True, exist_ok=True)
        log = sqlite3.connect(home / FILE, timeout=WAIT_S, isolation_level=None)
        with closing(log):
            _prepare(log)
            log.execute("BEGIN IMMEDIATE")
            try:
                migrate(log)
                yield log
                log.execute("COMMIT")
            finally:
                if log.in_transaction:  # where the disk was full, SQLite has already gone back by itself
                    log.execute("ROLLBACK")


def warning(home: Path) -> str | None:
    """Return one sentence where the log can be read but not changed, else None."""
    with reading(home) as log:
        found = _version(log)
    return _newer(found) if found > VERSION else None


def migrate(log: sqlite3.Connection) -> None:
    """Bring a log to this version's schema, within the caller's transaction.

    Raises
    ------
    InputError
        Where the log is of a newer version, or no log of ours.
    """
    found = _version(log)
    if found > VERSION:
        checks.refuse("the log must be of this version or an older one", checks.Raw(_newer(found)), UPDATE)
    for statements in MIGRATIONS[found:]:
        for statement in statements:
            log.execute(statement)
    if found < VERSION:
        log.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        log.execute(f"PRAGMA user_version = {VERSION}")


UPDATE = "update blendlab, or set BLENDLAB_HOME to another folder"


def _newer(found: int) -> str:
    """Say that a log is of a newer version."""
    return (
        f"this log was written by a newer blendlab (schema {found}, this one knows {VERSION}), "
        "so it is shown but not changed"
    )


def _version(log: sqlite3.Connection) -> int:
    """Return the schema version, 0 for an empty database; refuse a database that is not ours."""
    (version,) = log.execute("PRAGMA user_version").fetchone()
    (owner,) = log.execute("PRAGMA application_id").fetchone()
    (tables,) = log.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    if (version or tables) and owner != APPLICATION_ID:
        checks.refuse("the log must be one of blendlab", checks.Raw(f"another program's {FILE}"), UPDATE)
    return int(version)


def _prepare(log: sqlite3.Connection) -> None:
    """Set what holds for one connection: foreign keys, a write-ahead log, each commit on the disk."""
    log.execute("PRAGMA foreign_keys = ON")
    log.execute("PRAGMA journal_mode = WAL")
    log.execute("PRAGMA synchronous = FULL")


def _open_to_read(file: Path) -> sqlite3.Connection:
    """Open a log so that nothing is written beside it; an older one as a migrated copy in memory."""
    if not file.exists():
        return _in_memory(None)
    address = f"{file.absolute().as_uri()}?mode=ro"
    log = sqlite3.connect(address, uri=True, timeout=WAIT_S, isolation_level=None)
    try:
        if _version(log) >= VERSION:
            return log
        copy = _in_memory(log)
    except sqlite3.OperationalError:  # a folder in which SQLite cannot put its index of the write-ahead log
        copy = _copied(file)
    except BaseException:
        log.close()
        raise
    log.close()
    return copy


def _copied(file: Path) -> sqlite3.Connection:
    """Read a log and its write-ahead log into memory by way of a copy elsewhere."""
    with TemporaryDirectory() as folder:
        for part in (file, file.with_name(f"{FILE}-wal")):
            if part.exists():
                shutil.copyfile(part, Path(folder) / part.name)
        with closing(sqlite3.connect(Path(folder) / FILE)) as log:
            return _in_memory(log)


def _in_memory(log: sqlite3.Connection | None) -> sqlite3.Connection:
    """Return a copy in memory, of this version's schema at least."""
    copy = sqlite3.connect(":memory:", isolation_level=None)
    try:
        if log is not None:
            log.backup(copy)
        if _version(copy) < VERSION:
            migrate(copy)
    except BaseException:
        copy.close()
        raise
    return copy


@contextmanager
def _in_words(able: str) -> Iterator[None]:
    """Turn what SQLite and the system report into one sentence."""
    try:
        yield
    except (sqlite3.Error, OSError) as error:
        _refuse(able, error)


def _refuse(able: str, error: Exception) -> NoReturn:
    """Refuse with the reason, and the remedy that fits it."""
    reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    remedies = {
        "full": "free some space, then try again; nothing was changed",
        "too large": "free some space, then try again; nothing was changed",
        "locked": "close the other program that is writing to it, then try again",
        "not a database": "move the file away, or restore it from an export",
        "malformed": "restore it from an export",
    }
    usual = "choose a folder you may write to with BLENDLAB_HOME"
    remedy = next((remedy for sign, remedy in remedies.items() if sign in reason.lower()), usual)
    checks.refuse(f"the log must be {able}", checks.Raw(reason[:1].lower() + reason[1:]), remedy)
