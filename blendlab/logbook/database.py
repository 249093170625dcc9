"""The log's file: one SQLite database in the user's data folder, opened for each operation.

A change takes the database's write lock before it reads, so two programs cannot overwrite each other, and it
either commits or leaves no trace. Reading never writes, not even to migrate: a log of an older version, or in
a folder that cannot be written, is read from a copy in memory. A log of a newer version can be read but not
changed.
"""

import shutil
import sqlite3
import time
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NoReturn

import platformdirs

from .. import checks

FILE = "log.sqlite3"
APPLICATION_ID = 0x424C4C47  # "BLLG", in the file's header: distinguishes our logs from other databases
WAIT_S = 30.0  # for another program to finish writing
PAUSE_S = 0.01  # before the next attempt to turn on the write-ahead log

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
    (
        # The stock becomes a ledger. All that a log holds at the migration counts as bought, and the names of
        # these first entries follow from it, so that two copies of one log migrate to the same ledger.
        """CREATE TABLE movements (
            uid TEXT NOT NULL PRIMARY KEY DEFAULT (lower(hex(randomblob(16)))),
            name TEXT NOT NULL, -- of a flake, which may be off the list by now
            change_mg INTEGER NOT NULL CHECK (change_mg != 0), -- above 0 weighed in, below 0 taken out
            sheet TEXT REFERENCES sheets (uid) ON DELETE CASCADE -- that the flakes went into, if any
        ) STRICT""",
        "CREATE INDEX movements_by_name ON movements (name)",
        """INSERT INTO movements (uid, name, change_mg)
            SELECT 'opening ' || bought_mg || ' ' || name, name, bought_mg FROM (
                SELECT name, stock.grams_mg + coalesce(sum(taken.grams_mg), 0) AS bought_mg
                FROM stock LEFT JOIN taken USING (name) GROUP BY name ORDER BY stock.rowid
            ) WHERE bought_mg > 0""",
        """INSERT INTO movements (uid, name, change_mg, sheet)
            SELECT uid || ' ' || name, name, -grams_mg, uid FROM taken ORDER BY rowid""",
        "DROP TABLE taken",
        "ALTER TABLE stock RENAME TO old_stock",
        """CREATE TABLE stock (
            name TEXT NOT NULL PRIMARY KEY,
            flake TEXT NOT NULL -- as a flake list of this one flake, without its grams
        ) STRICT""",
        "INSERT INTO stock (name, flake) SELECT name, flake FROM old_stock ORDER BY rowid",
        "DROP TABLE old_stock",
    ),
    ("CREATE TABLE mixes (name TEXT NOT NULL PRIMARY KEY, recipe TEXT NOT NULL) STRICT",),
)
VERSION = len(MIGRATIONS)


def default_home(environ: Mapping[str, str]) -> Path:
    """Return the folder of the log: `BLENDLAB_HOME`, else the platform's folder for user data."""
    chosen = environ.get("BLENDLAB_HOME")
    try:
        if chosen:
            return Path(chosen).expanduser()
        return platformdirs.user_data_path("blendlab", appauthor=False).absolute()
    except RuntimeError:  # a ~ of no known user, or a user without a home
        return Path(chosen or "blendlab-log")


@contextmanager
def reading(home: Path) -> Iterator[sqlite3.Connection]:
    """Open the log for reading; if there is none, an empty one in memory.

    InputError where the file cannot be read, or is not a log of ours.
    """
    with _in_words("readable"), closing(_open_to_read(home / FILE)) as log:
        try:
            yield log
        except sqlite3.Error:
            found = _version(log)
            if found > VERSION:  # its tables may have other names
                rule = f"the log must be of a schema that this blendlab knows, up to {VERSION}"
                checks.refuse(rule, found, UPDATE)
            raise


@contextmanager
def writing(home: Path) -> Iterator[sqlite3.Connection]:
    """Open the log for a change in one transaction: all of it is kept, or nothing.

    InputError where the folder cannot be written, the disk is full, the file is not a log of ours, or a newer
    version wrote it.
    """
    with _in_words("writable"):
        home.mkdir(parents=True, exist_ok=True)
        with closing(_connect(home / FILE)) as log:
            _prepare(log)
            log.execute("BEGIN IMMEDIATE")
            try:
                migrate(log)
                yield log
                log.execute("COMMIT")
            finally:
                if log.in_transaction:  # when the disk is full, SQLite has already rolled back by itself
                    log.execute("ROLLBACK")


def warning(home: Path) -> str | None:
    """Return one sentence if the log can be read but not changed, else None."""
    with reading(home) as log:
        found = _version(log)
    return _newer(found) if found > VERSION else None


def migrate(log: sqlite3.Connection) -> None:
    """Migrate a log to this version's schema, within the caller's transaction.

    InputError where the log is of a newer version, or not a log of ours.
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
FOLDER_OF_YOURS = "choose a folder you may write to with BLENDLAB_HOME"
RESTORE = "move it away and bring in an export, or set BLENDLAB_HOME to another folder"
AS_WRITTEN = "the log must be as blendlab wrote it"
_CHANGED = ("not a database", "malformed", "already exists", "no such", "has no column", "constraint")
_REMEDIES = {
    "full": "free some space, then try again; nothing was changed",
    "too large": "free some space, then try again; nothing was changed",
    "i/o error": "free some space or check the disk, then try again",
    "locked": "close the other program that is writing to it, then try again",
}


def _connect(database: Path | str, uri: bool = False) -> sqlite3.Connection:
    """Connect so that damaged text can be read: bytes that are not UTF-8 come as lone surrogates."""
    log = sqlite3.connect(database, uri=uri, timeout=WAIT_S, isolation_level=None)
    log.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
    return log


def _newer(found: int) -> str:
    """Return the sentence about a log of a newer version."""
    return (
        f"this log was written by a newer blendlab (schema {found}, this one knows {VERSION}), "
        "so it is shown but not changed"
    )


def _version(log: sqlite3.Connection) -> int:
    """Return the schema version, 0 for an empty database; refuse a database that is not a log of ours."""
    (version,) = log.execute("PRAGMA user_version").fetchone()
    (owner,) = log.execute("PRAGMA application_id").fetchone()
    (tables,) = log.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    if (version or tables) and owner != APPLICATION_ID:
        checks.refuse("the log must be one of blendlab", checks.Raw(f"another program's {FILE}"), UPDATE)
    if tables and not version:
        checks.refuse(AS_WRITTEN, checks.Raw("tables without the version of their schema"), RESTORE)
    return int(version)


def _prepare(log: sqlite3.Connection) -> None:
    """Turn on foreign keys, the write-ahead log, and a flush to disk at each commit."""
    log.execute("PRAGMA foreign_keys = ON")
    _write_ahead(log)
    log.execute("PRAGMA synchronous = FULL")


def _write_ahead(log: sqlite3.Connection) -> None:
    """Turn on the write-ahead log; SQLite itself does not wait when two programs create a log at once."""
    end = time.monotonic() + WAIT_S
    while True:
        try:
            log.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > end:
                raise
        time.sleep(PAUSE_S)


def _open_to_read(file: Path) -> sqlite3.Connection:
    """Open a log without writing beside it; an older one as a migrated copy in memory."""
    if not file.exists():
        return _in_memory(None)
    log = _connect(f"{file.absolute().as_uri()}?mode=ro", uri=True)
    try:
        if _version(log) >= VERSION:
            return log
        copy = _in_memory(log)
    except sqlite3.OperationalError:  # SQLite cannot put its index of the write-ahead log in this folder
        copy = _copied(file)
    except BaseException:
        log.close()
        raise
    log.close()
    return copy


def _copied(file: Path) -> sqlite3.Connection:
    """Read a log and its write-ahead log into memory, from a copy elsewhere."""
    with TemporaryDirectory() as folder:
        for part in (file, file.with_name(f"{FILE}-wal")):
            if part.exists():
                shutil.copyfile(part, Path(folder) / part.name)
        with closing(_connect(Path(folder) / FILE)) as log:
            return _in_memory(log)


def _in_memory(log: sqlite3.Connection | None) -> sqlite3.Connection:
    """Return a copy in memory, migrated to this version's schema."""
    copy = _connect(":memory:")
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
    """Turn errors of SQLite and the system into one sentence."""
    try:
        yield
    except (sqlite3.Error, OSError) as error:
        _refuse(able, error)


def _refuse(able: str, error: Exception) -> NoReturn:
    """Refuse with the reason and a remedy for it."""
    reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    reason = reason[:1].lower() + reason[1:]
    if any(words in reason for words in _CHANGED):
        checks.refuse(AS_WRITTEN, checks.Raw(f"{FILE} ({reason})"), RESTORE)
    remedy = next((remedy for words, remedy in _REMEDIES.items() if words in reason), FOLDER_OF_YOURS)
    checks.refuse(f"the log must be {able}", checks.Raw(reason), remedy)
