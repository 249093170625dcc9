import csv
import hashlib
import io
import json
import tracemalloc
import zipfile
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from blendlab.checks import InputError
from blendlab.logbook import drafts, mixes, photos, sheet_log, stock, zip_archive
from blendlab.logbook.database import reading
from blendlab.logbook.export import export_to
from blendlab.logbook.restore import import_from
from blendlab.recipe.flake import LetDown
from blendlab.recipe.flake_list import to_csv

JPEG, PNG = b"\xff\xd8\xff one", b"\x89PNG\r\n\x1a\n picture"
TABLES = ("sheets", "stock", "movements", "drafts", "mixes")


def everything(home):
    """All rows and all pictures of a log, to compare two logs to the last bit."""
    with reading(home) as found:
        rows = {table: found.execute(f"SELECT * FROM {table} ORDER BY rowid").fetchall() for table in TABLES}
    files = {file.name: file.read_bytes() for file in sorted((home / photos.FOLDER).glob("*"))}
    return rows, files


@pytest.fixture
def home(tmp_path, sheet, flakes):
    """A workshop's log with everything in it."""
    home = tmp_path / "home"
    stock.put(home, flakes)
    awkward = replace(sheet, notes="=HYPERLINK('x')\r\n\ttrailing \n", rating=None, weight_g=0.1 + 0.2)
    sheet_log.record(home, sheet, photo=JPEG, picture=PNG, clean=bytes, take={"white": 100.2})
    sheet_log.record(home, awkward, photo=JPEG, clean=bytes)
    sheet_log.record(home, replace(sheet, pressed_on=date(2020, 2, 29), prediction={}))
    drafts.save(home, "flakes", 'name = "half done"\n')
    mixes.keep(home, replace(sheet.recipe, name="winter tiles"))
    return home


@pytest.fixture
def exported(home):
    file = io.BytesIO()
    export_to(home, file)
    return file.getvalue()


def rezipped(content, change=None, add=()):
    """The same ZIP, with what is in it changed by hand."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            kept = old.read(name)
            for made, text in change(name, kept) if change else [(name, kept)]:
                new.writestr(made, text)
        for name, text in add:
            new.writestr(name, text)
    return out.getvalue()


def test_an_export_restores_exactly(tmp_path, home, exported):
    done = import_from(tmp_path / "new", io.BytesIO(exported))
    assert (done.sheets, done.flakes, done.known) == (3, 3, 0)
    assert everything(tmp_path / "new") == everything(home)
    again = io.BytesIO()
    export_to(tmp_path / "new", again)
    assert again.getvalue() == exported


def test_mixes_of_one_name_are_both_kept_and_none_twice(tmp_path, sheet, exported):
    new = tmp_path / "new"
    own = replace(sheet.recipe.with_folding(folds=1), name="winter tiles")
    mixes.keep(new, own)
    for _ in range(2):
        import_from(new, io.BytesIO(exported))
        assert mixes.every(new)[0] == (own, replace(sheet.recipe, name="winter tiles 2"))


def with_mixes(exported, change):
    """The export with other kept mixes, sealed anew."""
    with zipfile.ZipFile(io.BytesIO(exported)) as found:
        files = {name: found.read(name) for name in found.namelist() if name != "manifest.toml"}
    log = json.loads(files["log.json"])
    change(log)
    sealed = io.BytesIO()
    zip_archive.write(sealed, (files | {"log.json": json.dumps(log).encode()}).items())
    return sealed


def test_an_export_without_mixes_is_still_read(tmp_path, exported):
    """Exports had none before the log's schema 5."""
    import_from(tmp_path / "new", with_mixes(exported, lambda log: log.pop("mixes")))
    assert mixes.every(tmp_path / "new") == ((), ())


@pytest.mark.parametrize("wrong", [7, [["a"]], [["a", 1]], [["a", ""], ["a", "b"]], [["n" * 1001, ""]]])
def test_mixes_of_a_damaged_export_are_refused(tmp_path, exported, wrong):
    with pytest.raises(InputError):
        import_from(tmp_path / "new", with_mixes(exported, lambda log: log.update(mixes=wrong)))
    assert mixes.every(tmp_path / "new") == ((), ())


def test_a_let_down_is_exported_and_restored_with_its_partner_on_the_list(tmp_path, sheet, flakes):
    home, new = tmp_path / "home", tmp_path / "new"
    made = replace(flakes[1], name="sky", hide_mm=None, let_down=LetDown("white", 5.0, "#a0b4d0"))
    stock.put(home, (made, *flakes))
    kept = sheet_log.record(home, replace(sheet, recipe=with_let_down(sheet.recipe)), take={"sky": 1.5})
    file = io.BytesIO()
    assert export_to(home, file).unreadable == ()
    import_from(new, file)
    assert stock.stock(new) == stock.stock(home)
    assert stock.stock(new)[0].let_down == made.let_down
    assert sheet_log.get(new, kept.uid) == kept


def with_let_down(recipe):
    """The recipe with its second flake known by a let-down in its first."""
    first, second = recipe.flakes
    let_down = LetDown(first.name, 10.0, "#90a0c0")
    return replace(recipe, flakes=(first, replace(second, hide_mm=None, let_down=let_down)))


def test_an_undo_after_a_restore_puts_back_what_was_taken(tmp_path, flakes, exported):
    import_from(tmp_path / "new", io.BytesIO(exported))
    first = sheet_log.search(tmp_path / "new", "keep the blue")[0]
    sheet_log.undo(tmp_path / "new", first.uid)
    assert stock.stock(tmp_path / "new") == flakes


def test_an_export_opens_without_blendlab(exported):
    with zipfile.ZipFile(io.BytesIO(exported)) as found:
        kinds = {name.rsplit(".")[-1] for name in found.namelist()}
        assert kinds == {"csv", "toml", "json", "jpg", "png"}
        rows = list(csv.DictReader(io.StringIO(found.read("sheets.csv").decode())))
    assert [row["name"] for row in rows] == ["Harbour tile"] * 3
    assert not any(cell.startswith(("=", "+", "-", "@")) for row in rows for cell in row.values())


def test_an_import_adds_only_what_is_new(home, exported):
    before = everything(home)
    done = import_from(home, io.BytesIO(exported))
    assert (done.sheets, done.flakes, done.known) == (0, 0, 3)
    assert everything(home) == before
    gone = sheet_log.search(home)[0]
    sheet_log.undo(home, gone.uid)
    assert import_from(home, io.BytesIO(exported)).sheets == 1
    assert sheet_log.get(home, gone.uid) == gone


def test_photos_may_add_up_to_more_than_any_limit(tmp_path, sheet, monkeypatch):
    """Photos hardly pack, so a ZIP that is large itself may unpack to as much."""
    monkeypatch.setattr(zip_archive, "MAX_GROWTH", 20_000)
    rng = np.random.default_rng(5)
    for _ in range(5):
        sheet_log.record(tmp_path / "home", sheet, photo=JPEG + rng.bytes(40_000), clean=bytes)
    file = io.BytesIO()
    export_to(tmp_path / "home", file)
    assert import_from(tmp_path / "new", file).pictures == 5


def older(content, flakes, taken):
    """The ZIP as the first format has it: what sheets took, and what is left, in place of movements."""
    with zipfile.ZipFile(io.BytesIO(content)) as found:
        files = {name: found.read(name) for name in found.namelist() if name != zip_archive.MANIFEST}
    log = json.loads(files["log.json"])
    log = {name: log[name] for name in ("sheets", "drafts")} | {"taken": taken}
    files |= {"log.json": json.dumps(log).encode(), "stock.csv": to_csv(flakes).encode()}
    out = io.BytesIO()
    zip_archive.write(out, files.items())
    return io.BytesIO(
        rezipped(out.getvalue(), lambda n, c: same(n, c.replace(b"version = 2", b"version = 1")))
    )


def test_an_export_of_the_first_format_restores_the_stock(tmp_path, sheet, flakes):
    home, new = tmp_path / "home", tmp_path / "new"
    kept = sheet_log.record(home, sheet)
    file = io.BytesIO()
    export_to(home, file)
    old = older(file.getvalue(), flakes, [[kept.uid, "white", 50_000], [kept.uid, "bottle-crate blue", 1]])
    assert import_from(new, old).flakes == 3
    assert stock.stock(new) == flakes
    sheet_log.undo(new, kept.uid)
    assert {flake.name: flake.grams for flake in stock.stock(new)}["white"] == 1050.125
    stock.add(new, "white", 200)
    assert import_from(new, old).sheets == 1
    assert {flake.name: flake.grams for flake in stock.stock(new)}["white"] == 1200.125
    bad = older(file.getvalue(), flakes, [[kept.uid, "unheard of", 1]])
    with pytest.raises(InputError, match=r"does not fit its stock\.csv"):
        import_from(new, bad)


def test_an_empty_log_exports_and_restores(tmp_path):
    file = io.BytesIO()
    export_to(tmp_path / "none", file)
    done = import_from(tmp_path / "new", file)
    assert (done.sheets, done.flakes) == (0, 0)


def same(name, content):
    return [(name, content)]


def without(dropped):
    return lambda name, content: [] if name == dropped else same(name, content)


def altered(part):
    return lambda name, content: same(name, content + b" " if part in name else content)


def renamed(part, new):
    return lambda name, content: same(new if part in name else name, content)


@pytest.mark.parametrize(
    ("change", "add", "words"),
    [
        (without("manifest.toml"), (), "no manifest"),
        (without("log.json"), (), "files other than those in its manifest"),
        (altered("log.json"), (), "log.json that was altered"),
        (altered("photos/"), (), "a picture that was altered"),
        (altered("recipes/"), (), "a recipe that was altered"),
        (None, [("../../evil.txt", b"x")], r"a file named ../../evil.txt"),
        (None, [("/etc/evil", b"x")], "a file named /etc/evil"),
        (None, [("photos/..\\evil.png", b"x")], "a file named photos/"),
        (None, [("C:\\evil", b"x")], "a file named C:"),
        (None, [("\x1b[2J\u202e", b"x")], r"a file named \x1b[2J\u202e"),
        (None, [("a" * 60_000, b"x")], "a file named aaa"),
        (None, [("photos/" + "0" * 64 + ".png", b"x")], "files other than those"),
        (renamed("stock.csv", "photos/stock.csv"), (), "a file named photos/stock.csv"),
        (lambda n, c: same(n, b"format = 'other'" if n == "manifest.toml" else c), (), "another program's"),
        (lambda n, c: same(n, c.replace(b"version = 2", b"version = 9")), (), "version 9 of the format"),
        (lambda n, c: same(n, b"\xff" if n == "manifest.toml" else c), (), "no UTF-8 text in manifest.toml"),
    ],
)
def test_foreign_and_damaged_zips_import_nothing(tmp_path, exported, change, add, words):
    new = tmp_path / "new"
    with pytest.raises(InputError, match="nothing was imported") as refusal:
        import_from(new, io.BytesIO(rezipped(exported, change, add)))
    assert words in str(refusal.value)
    assert str(refusal.value).isprintable()
    assert len(str(refusal.value)) < 400
    assert not new.exists()
    assert sorted(file.name for file in tmp_path.iterdir()) == ["home"]


def forged(content, name, make):
    """A ZIP changed on purpose, so that its manifest agrees."""
    with zipfile.ZipFile(io.BytesIO(content)) as found:
        files = [(n, found.read(n)) for n in found.namelist() if n != zip_archive.MANIFEST]
    out = io.BytesIO()
    zip_archive.write(out, [(n, make(c)) if n == name or name in n else (n, c) for n, c in files])
    return out.getvalue()


@pytest.mark.parametrize(
    ("name", "make"),
    [
        ("log.json", lambda c: b"[" * 100_000),
        ("log.json", lambda c: c.replace(b'"rating": 4', b'"rating": 40')),
        ("log.json", lambda c: c.replace(b'"rating": 4', b'"rating": "good"')),
        ("log.json", lambda c: c.replace(b"2020-02-29", b"2021-02-29")),
        ("log.json", lambda c: c.replace(b".jpg", b"/../../x")),
        ("log.json", lambda c: c.replace(b'"movements": [', b'"movements": [["x", "white", 1, "x"],')),
        ("log.json", lambda c: c.replace(b'"movements": [', b'"movements": [["x", "white", 1, null],')),
        ("log.json", lambda c: c.replace(b'"movements": [', b'"movements": [["x", "white", 0, null],')),
        ("log.json", lambda c: c.replace(b'"movements": [', b'"movements": [["x", "new", true, null],')),
        ("log.json", lambda c: c.replace(b'"movements": [', b'"movements": [[],')),
        ("log.json", lambda c: c.replace(b'"movements": [', b'"movements": [[[], "white", 1, null],')),
        ("log.json", lambda c: c.replace(b'"movements": [', b'"movements": [["x", "white", 1, []],')),
        ("log.json", lambda c: c.replace(b'"lost": []', b'"lost": [1]')),
        ("log.json", lambda c: c.replace(b'"unreadable_sheets": []', b'"unreadable_sheets": [{"uid": "x"}]')),
        ("log.json", lambda c: c.replace(b'"prediction": {}', b'"prediction": []')),
        (
            "log.json",
            lambda c: c.replace(b'"prediction": {}', b'"prediction": {"cold_g": 1' + b"0" * 400 + b"}"),
        ),
        (
            "log.json",
            lambda c: c.replace(b'"prediction": {}', b'"prediction": {"a": ' + b"[" * 99 + b"]" * 99 + b"}"),
        ),
        ("log.json", lambda c: c.replace(b"100200", b"1e400")),
        ("log.json", lambda c: c.replace(b"100200", b"9" * 30)),
        ("log.json", lambda c: c.replace(b"100200", b"9" * 5000)),
        ("log.json", lambda c: c.replace(b'"notes": "a', b'"notes": ["a"], "": "')),
        ("log.json", lambda c: c.replace(b'"2026-03-14"', b'"' + b"a" * 50_000 + b'"')),
        ("log.json", lambda c: c.replace(b'"folds": 4', b'"folds": NaN')),
        ("log.json", lambda c: c.replace(b"half done", rb"\ud800")),
        ("log.json", lambda c: b"{}"),
        ("stock.csv", lambda c: c.replace(b"#f2f0e8", b"white")),
        ("recipes/", lambda c: b"name = 3"),
        ("photos/", lambda c: b"\xff\xd8\xff other"),
    ],
)
def test_forged_zips_import_nothing(tmp_path, exported, name, make):
    content = forged(exported, name, make)
    assert content != forged(exported, "", bytes)
    with pytest.raises(InputError) as refusal:
        import_from(tmp_path / "new", io.BytesIO(content))
    assert str(refusal.value).isprintable()
    assert len(str(refusal.value)) < 400
    assert sheet_log.search(tmp_path / "new") == ()
    assert stock.stock(tmp_path / "new") == ()


def test_a_zip_that_unpacks_too_large_is_refused(tmp_path, exported, monkeypatch):
    monkeypatch.setattr(zip_archive, "MAX_FILE_BYTES", 100)
    with pytest.raises(InputError, match=r"more than 0\.0001 MB in"):
        import_from(tmp_path / "new", io.BytesIO(exported))
    monkeypatch.setattr(zip_archive, "MAX_GROWTH", 100)
    with pytest.raises(InputError, match="more than 50,000 files, or 1e-07 GB more than the ZIP itself"):
        import_from(tmp_path / "new", io.BytesIO(exported))


def test_a_bomb_is_refused_and_never_held_whole(tmp_path):
    """A thousandfold: 60 kB that unpack to 60 MB, more than any one file may."""
    bomb = io.BytesIO()
    zip_archive.write(bomb, [("log.json", bytes(60_000_000))])
    assert len(bomb.getvalue()) < 100_000
    tracemalloc.start()
    with pytest.raises(InputError, match=r"more than 50 MB in log\.json"):
        import_from(tmp_path / "new", bomb)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 2.5 * zip_archive.MAX_FILE_BYTES
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("kind", [0o120777, 0o040755, 0o010644])
def test_a_link_a_folder_or_a_pipe_is_never_made(tmp_path, exported, kind):
    """Whatever an entry says it is, its bytes are looked at, and nothing is unpacked by its name."""
    out = io.BytesIO(exported)
    entry = zipfile.ZipInfo(f"photos/{'0' * 64}.png")
    entry.external_attr = kind << 16
    with zipfile.ZipFile(out, "a") as found:
        found.writestr(entry, b"/etc/passwd")
    with pytest.raises(InputError, match="files other than those in its manifest"):
        import_from(tmp_path / "new", out)
    digest = f"photos/{hashlib.sha256(b'/etc/passwd').hexdigest()}.png"
    with zipfile.ZipFile(io.BytesIO(exported)) as found:
        files = [(name, found.read(name)) for name in found.namelist() if name != zip_archive.MANIFEST]
    named = next(name for name, _ in files if name.endswith(".png"))
    out = io.BytesIO()
    change = named.removeprefix("photos/").encode(), digest.removeprefix("photos/").encode()
    zip_archive.write(
        out, [(digest, b"/etc/passwd") if n == named else (n, c.replace(*change)) for n, c in files]
    )
    with pytest.raises(InputError, match="a picture must be PNG or JPEG"):
        import_from(tmp_path / "new", out)
    assert sheet_log.search(tmp_path / "new") == ()


def test_a_name_that_occurs_twice_is_refused(tmp_path, exported):
    out = io.BytesIO(exported)
    with pytest.warns(UserWarning, match="Duplicate name"), zipfile.ZipFile(out, "a") as found:
        found.writestr("log.json", b"{}")
    with pytest.raises(InputError, match="no manifest, or a file twice"):
        import_from(tmp_path / "new", out)
