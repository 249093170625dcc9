import io
import os
import resource
import signal
import sqlite3
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from dataclasses import replace

import pytest

from blendlab.checks import InputError
from blendlab.logbook import database, photos, sheet_log, stock
from blendlab.logbook.export import export_to
from blendlab.logbook.restore import import_from
from blendlab.recipe.recipe import to_toml

JPEG = b"\xff\xd8\xff one"
KILLS = int(os.environ.get("BLENDLAB_KILLS", "3"))  # 200 by hand


def old_log(home, version, sheet):
    """A log as the program of that version left it, with what it could hold."""
    with closing(sqlite3.connect(home / database.FILE, isolation_level=None)) as connection:
        for statements in database.MIGRATIONS[:version]:
            for statement in statements:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {database.APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {version}")
        connection.execute(
            "INSERT INTO sheets (uid, pressed_on, recipe, notes) VALUES ('ab12', '2025-04-05', ?, 'old')",
            (to_toml(sheet.recipe),),
        )
        if version >= 2:
            flake = "'white', 'name,srgb\nwhite,#f2f0e8\n'"
            if version < 4:
                connection.execute(f"INSERT INTO stock VALUES ({flake}, 1500)")
                connection.execute("INSERT INTO taken VALUES ('ab12', 'white', 250)")
            else:
                connection.execute(f"INSERT INTO stock VALUES ({flake})")
                connection.execute("INSERT INTO movements VALUES ('a', 'white', 1750, NULL)")
                connection.execute("INSERT INTO movements VALUES ('b', 'white', -250, 'ab12')")
        if version >= 3:
            connection.execute("INSERT INTO drafts VALUES ('folds', 'half done')")


def integrity(home):
    with closing(sqlite3.connect(home / database.FILE)) as connection:
        return connection.execute("PRAGMA integrity_check").fetchone()[0]


@pytest.mark.parametrize("version", range(1, database.VERSION + 1))
def test_older_logs_migrate_and_keep_what_they_hold(tmp_path, sheet, version):
    old_log(tmp_path, version, sheet)
    (found,) = sheet_log.search(tmp_path)  # reading migrates a copy only
    assert (found.uid, found.notes, found.recipe) == ("ab12", "old", sheet.recipe)
    with closing(sqlite3.connect(tmp_path / database.FILE)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (version,)
    sheet_log.record(tmp_path, sheet)
    with closing(sqlite3.connect(tmp_path / database.FILE)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (database.VERSION,)
    assert len(sheet_log.search(tmp_path)) == 2
    assert integrity(tmp_path) == "ok"
    if version >= 2:
        sheet_log.undo(tmp_path, "ab12")
        assert stock.stock(tmp_path)[0].grams == 1.75


def test_a_newer_log_is_shown_and_not_changed(tmp_path, sheet):
    kept = sheet_log.record(tmp_path, sheet)
    with closing(sqlite3.connect(tmp_path / database.FILE)) as connection:
        connection.execute("PRAGMA user_version = 99")
        connection.execute("ALTER TABLE sheets ADD COLUMN smell TEXT")
        connection.commit()
    before = (tmp_path / database.FILE).read_bytes()
    assert sheet_log.search(tmp_path) == (kept,)
    assert "written by a newer blendlab (schema 99" in database.warning(tmp_path)
    assert export_to(tmp_path, io.BytesIO()).unreadable == ()
    for change in (lambda: sheet_log.record(tmp_path, sheet), lambda: sheet_log.undo(tmp_path, kept.uid)):
        with pytest.raises(InputError, match=r"a newer blendlab .* update blendlab"):
            change()
    assert (tmp_path / database.FILE).read_bytes() == before


def test_a_log_of_this_version_needs_no_warning(tmp_path, sheet):
    assert database.warning(tmp_path) is None
    sheet_log.record(tmp_path, sheet)
    assert database.warning(tmp_path) is None


@pytest.mark.parametrize(
    "damage", [b"no database at all, and long enough to be one " * 30, b"SQLite format 3\0"]
)
def test_a_file_that_is_not_a_database_is_refused_and_left_alone(tmp_path, sheet, damage):
    (tmp_path / database.FILE).write_bytes(damage)
    for use in (lambda: sheet_log.search(tmp_path), lambda: sheet_log.record(tmp_path, sheet)):
        with pytest.raises(InputError, match="the log must be"):
            use()
    assert (tmp_path / database.FILE).read_bytes() == damage


def test_another_programs_database_is_refused_and_left(tmp_path, sheet):
    with closing(sqlite3.connect(tmp_path / database.FILE)) as connection:
        connection.execute("CREATE TABLE sheets (thread_count INTEGER)")
    for use in (lambda: sheet_log.search(tmp_path), lambda: sheet_log.record(tmp_path, sheet)):
        with pytest.raises(InputError, match="the log must be one of blendlab"):
            use()
    with closing(sqlite3.connect(tmp_path / database.FILE)) as connection:
        assert connection.execute("PRAGMA table_info(sheets)").fetchall()[0][1] == "thread_count"


@contextmanager
def as_a_plain_user(home):
    """Drop root's right to write everywhere, for as long as it takes."""
    root = os.geteuid() == 0
    for folder in (home, *home.parents[:-1]):
        if root and folder.stat().st_uid == 0 and folder.stat().st_mode & 0o055 != 0o055:
            folder.chmod(folder.stat().st_mode | 0o055)
    if root:
        os.seteuid(65534)
    try:
        yield
    finally:
        if root:
            os.seteuid(0)


def test_a_read_only_folder_is_read_and_refused_to_writing(tmp_path, sheet):
    kept = sheet_log.record(tmp_path, sheet, photo=JPEG, clean=lambda raw: raw)
    for file in tmp_path.rglob("*"):
        file.chmod(0o555 if file.is_dir() else 0o444)
    tmp_path.chmod(0o555)
    try:
        with as_a_plain_user(tmp_path):
            assert sheet_log.search(tmp_path) == (kept,)
            assert photos.read(tmp_path, kept.photo) == JPEG
            assert export_to(tmp_path, io.BytesIO()).left_out == ()
            with pytest.raises(InputError, match="a folder you may write to with BLENDLAB_HOME"):
                sheet_log.record(tmp_path, sheet)
            with pytest.raises(InputError, match="BLENDLAB_HOME"):
                sheet_log.record(tmp_path / "new", sheet)
    finally:
        tmp_path.chmod(0o755)
    assert sheet_log.search(tmp_path) == (kept,)


def test_a_full_disk_changes_nothing(tmp_path, sheet):
    """A limit on the size of files stands in for the disk's end; the system's own refusal is met."""
    kept = sheet_log.record(tmp_path, sheet)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (300_000, hard))
    try:
        with pytest.raises(InputError, match=r"free some space|another place"):
            sheet_log.record(tmp_path, sheet, photo=JPEG + bytes(400_000), clean=lambda raw: raw)
        with pytest.raises(InputError, match="the log must be writable"):  # noqa: PT012 - one of these
            for _ in range(100):
                sheet_log.record(tmp_path, replace(sheet, notes="x" * 10_000))
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert kept in sheet_log.search(tmp_path)
    assert integrity(tmp_path) == "ok"
    assert sheet_log.record(tmp_path, sheet) in sheet_log.search(tmp_path)


def test_an_import_onto_a_full_disk_changes_nothing(tmp_path, sheet):
    home, new = tmp_path / "home", tmp_path / "new"
    sheet_log.record(home, sheet, photo=JPEG + bytes(400_000), clean=bytes)
    file = io.BytesIO()
    export_to(home, file)
    kept = sheet_log.record(new, sheet)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (300_000, hard))
    try:
        with pytest.raises(InputError, match="choose another place"):
            import_from(new, file)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert sheet_log.search(new) == (kept,)
    assert import_from(new, file).sheets == 1


def test_a_database_that_may_not_grow_refuses_whole(tmp_path, sheet, monkeypatch):
    sheet_log.record(tmp_path, sheet)
    prepare = database._prepare

    def prepare_full(connection):
        prepare(connection)
        connection.execute("PRAGMA max_page_count = 1")

    monkeypatch.setattr(database, "_prepare", prepare_full)
    words = "disk is full; free some space, then try again; nothing was changed"
    with pytest.raises(InputError, match=words):  # noqa: PT012 - once the free pages are used up
        for _ in range(20):
            before = sheet_log.search(tmp_path)
            sheet_log.record(tmp_path, replace(sheet, notes="x" * 10_000))
    monkeypatch.undo()
    assert sheet_log.search(tmp_path) == before


WRITER = """
import sys
from datetime import date
from pathlib import Path
from blendlab.recipe.recipe import Flake, Recipe, Sheet
from blendlab.logbook import sheet_log
home, who, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
recipe = Recipe(who, Sheet(), (Flake("white", "#f2f0e8", 100), Flake("blue", "#14409a", 20)))
for number in range(count):
    sheet = sheet_log.LoggedSheet(date(2026, 1, 1), recipe, notes=f"{who} {number} " + "x" * 3000)
    photo = b"\\xff\\xd8\\xff" + f"{who} {number}".encode() * 500
    kept = sheet_log.record(home, sheet, photo=photo, clean=lambda raw: raw, take={"white": 1.0})
    print(kept.uid, flush=True)
"""


def writer(home, who, count):
    command = [sys.executable, "-c", WRITER, str(home), who, str(count)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


def test_four_programs_write_at_once(tmp_path, flakes):
    stock.put(tmp_path, flakes)
    writers = [writer(tmp_path, who, 8) for who in ("one", "two", "three", "four")]
    uids = [uid for process in writers for uid in process.communicate(timeout=60)[0].split()]
    assert [process.returncode for process in writers] == [0] * 4
    assert {sheet.uid for sheet in sheet_log.search(tmp_path)} == set(uids)
    assert len(uids) == 32
    assert {flake.name: flake.grams for flake in stock.stock(tmp_path)}["white"] == 1000.125 - 32
    assert integrity(tmp_path) == "ok"


def test_many_connections_make_the_log_at_once(tmp_path, flakes):
    """SQLite answers "locked" at once, without waiting, where two connections turn on the write-ahead log."""
    with ThreadPoolExecutor(8) as pool:
        for number in range(60):
            home = tmp_path / str(number)
            list(pool.map(lambda _, home=home: stock.put(home, flakes), range(8)))
            assert len(stock.stock(home)) == len(flakes)


IMPORTER = """
import sys
from pathlib import Path
from blendlab.logbook.restore import import_from
print("begins", flush=True)
with open(sys.argv[2], "rb") as file:
    import_from(Path(sys.argv[1]), file)
"""


@pytest.mark.parametrize("turn", range(KILLS))
def test_a_killed_import_is_whole_or_nothing(tmp_path, sheet, flakes, turn):
    home, new = tmp_path / "home", tmp_path / "new"
    stock.put(home, flakes)
    for number in range(60):
        photo = JPEG + str(number).encode() * 20_000
        sheet_log.record(home, sheet, photo=photo, clean=bytes, take={"white": 1.0})
    with (tmp_path / "log.zip").open("w+b") as file:
        export_to(home, file)
        command = [sys.executable, "-c", IMPORTER, str(new), file.name]
        with subprocess.Popen(command, stdout=subprocess.PIPE) as process:
            process.stdout.readline()
            time.sleep(0.002 * (turn * 37 % 50))
            process.kill()
        assert len(sheet_log.search(new)) in (0, 20)
        assert import_from(new, file).known in (0, 20)
    assert sheet_log.search(new) == sheet_log.search(home)
    assert stock.stock(new) == stock.stock(home)
    assert all(photos.load(new, sheet.photo)[1] == "" for sheet in sheet_log.search(new))
    assert integrity(new) == "ok"


@pytest.mark.parametrize("turn", range(KILLS))
def test_a_killed_program_loses_nothing_it_reported(tmp_path, flakes, turn):
    """Killed or terminated during a run of writes: what was reported is there, the rest whole or absent."""
    stock.put(tmp_path, flakes)
    with writer(tmp_path, "doomed", 10_000) as process:
        uids = [process.stdout.readline().strip()]  # it is under way
        time.sleep(0.002 * (turn * 37 % 100))
        process.send_signal((signal.SIGKILL, signal.SIGTERM)[turn % 2])
        uids += process.stdout.read().split()
    uids = [uid for uid in uids if len(uid) == 32]
    found = {sheet.uid: sheet for sheet in sheet_log.search(tmp_path)}
    assert set(uids) <= set(found)
    assert len(found) <= len(uids) + 1
    assert integrity(tmp_path) == "ok"
    white = {flake.name: flake.grams for flake in stock.stock(tmp_path)}["white"]
    assert white == pytest.approx(1000.125 - len(found))
    assert all(photos.read(tmp_path, sheet.photo).startswith(b"\xff\xd8\xff") for sheet in found.values())
    last = max(found)  # and the log goes on, without what the killed write left
    sheet_log.undo(tmp_path, last)
    kept = {file.name for file in (tmp_path / photos.FOLDER).iterdir()}
    assert kept == {sheet.photo for uid, sheet in found.items() if uid != last}
