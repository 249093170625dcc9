import os
from pathlib import Path

import pytest

from blendlab.checks import InputError
from blendlab.io import atomic_write
from blendlab.io.atomic_write import write_bytes


def names(folder: Path) -> set[str]:
    """Names of everything in a folder, hidden or not."""
    return {path.name for path in folder.iterdir()}


@pytest.mark.parametrize("bad", ["none/a.png", "file/a.png", "a\0.png", "x" * 300])
def test_paths_that_cannot_be_written_are_refused(tmp_path: Path, bad: str) -> None:
    (tmp_path / "file").write_text("kept")
    with pytest.raises(InputError, match=r"^the place to write to must be writable \("):
        write_bytes(tmp_path / bad, b"new")
    assert names(tmp_path) == {"file"}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_only_a_plain_file_is_ever_replaced(tmp_path: Path) -> None:
    kept, link, folder, pipe = (tmp_path / name for name in ("kept", "link", "folder", "pipe"))
    loose, round_, aside = (tmp_path / name for name in ("loose", "round", "aside"))
    kept.write_text("kept")
    link.symlink_to(kept)
    loose.symlink_to(tmp_path / "none")  # a write through it would make a file of another name
    round_.symlink_to(round_)
    aside.symlink_to(folder)
    folder.mkdir()
    os.mkfifo(pipe)
    for path in (link, loose, round_, aside, folder, pipe):
        with pytest.raises(InputError, match=r"^the place to write to must be a plain file, got"):
            write_bytes(path, b"new")
    assert kept.read_text() == "kept"
    assert link.is_symlink()
    assert names(tmp_path) == {"folder", "kept", "link", "loose", "round", "aside", "pipe"}
    assert not names(folder)
    write_bytes(kept, b"new")
    assert kept.read_text() == "new"


def test_a_write_that_fails_halfway_keeps_the_old_file_and_leaves_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.toml"
    path.write_text("old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match=r"\(no space left on device\)"):
        write_bytes(path, b"new")
    assert path.read_text() == "old"
    assert names(tmp_path) == {"a.toml"}


def test_a_new_file_has_the_usual_permissions(tmp_path: Path) -> None:
    (tmp_path / "plain").write_text("")
    write_bytes(tmp_path / "ours", b"")
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "plain").stat().st_mode


@pytest.mark.parametrize(
    "name", ["CON", "con.png", "Nul.tar.gz", "COM1", "lpt\u00b9.png", "a:b.png", "a.", "a.png ", "a?.png"]
)
def test_names_that_windows_reserves_are_refused_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """Stands in for Windows, where `a:b.png` would be a hidden stream of `a` and `CON` the screen."""
    path = tmp_path / name
    monkeypatch.setattr(atomic_write, "ON_WINDOWS", True)
    for act in (atomic_write.check_place, lambda path: write_bytes(path, b"new")):
        with pytest.raises(InputError, match=r"^the file must have a name that Windows allows, got '.*'; "):
            act(path)
    assert not names(tmp_path)


def test_usual_names_are_allowed_everywhere() -> None:
    for name in ("console.png", "a.b.png", "comb.png", "com10.png", ".hidden", "récipe.toml", "nullarbor"):
        assert not atomic_write._RESERVED.fullmatch(name)
