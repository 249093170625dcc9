"""The cache of compiled code: who may write to it, and what damage or a full disk does."""

import logging
import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from numba.core import caching

from blendlab.runtime import code_cache, compiled
from blendlab.runtime.code_cache import chosen_folder, is_trusted

Log = pytest.LogCaptureFixture
posix = pytest.mark.skipif(not hasattr(os, "getuid"), reason="folders have no owner here")


def doubled(x: int) -> int:
    return 2 * x


@pytest.fixture
def kernel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[], int]:
    """Compile a function as a new process would, with its code kept in `tmp_path`, and call it."""
    monkeypatch.setattr(compiled, "cache_folder", lambda: tmp_path)
    code_cache._warn.cache_clear()
    return lambda: compiled.compiled()(doubled)(21)


def kept(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def test_code_is_kept_and_found_again(
    kernel: Callable[[], int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert kernel() == 42
    index, data = (next(path for path in kept(tmp_path) if path.suffix == end) for end in (".nbi", ".nbc"))
    saved: list[object] = []
    monkeypatch.setattr(caching.FunctionCache, "save_overload", lambda *_: saved.append(_))
    assert kernel() == 42
    assert saved == []
    assert kept(tmp_path) == sorted((index, data))


@pytest.mark.parametrize("ending", [".nbi", ".nbc"])
@pytest.mark.parametrize("part", [0, 0.1, 0.5, 0.99, None])
def test_damaged_code_is_compiled_again_and_kept(
    kernel: Callable[[], int], tmp_path: Path, caplog: Log, ending: str, part: float
) -> None:
    kernel()
    (file,) = (path for path in kept(tmp_path) if path.suffix == ending)
    sound = file.read_bytes()
    file.write_bytes(b"\0" * len(sound) if part is None else sound[: int(part * len(sound))])
    assert kernel() == 42
    assert len(file.read_bytes()) == len(sound)
    assert caplog.text == ""


def test_a_full_disk_is_reported_once_and_stops_nothing(
    kernel: Callable[[], int],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(caching.IndexDataCacheFile, "_save_data", full)
    assert (kernel(), kernel()) == (42, 42)
    assert [record.levelno for record in caplog.records] == [logging.WARNING]
    assert caplog.records[0].getMessage().startswith("blendlab: compiled code cannot be kept, so every start")


def test_a_folder_that_takes_no_file_stops_nothing(
    kernel: Callable[[], int],
    tmp_path: Path,
    caplog: pytest.LogCaptureFixture,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    (tmp_path / "file").touch()
    monkeypatch.setattr(compiled, "cache_folder", lambda: tmp_path / "file")
    assert kernel() == 42
    monkeypatch.setattr(compiled, "cache_folder", lambda: None)
    assert kernel() == 42
    assert len(caplog.records) == 1
    assert kept(tmp_path) == [tmp_path / "file"]


@posix
def test_only_a_folder_of_the_user_s_own_is_trusted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    new, link = tmp_path / "made" / "new", tmp_path / "link"
    assert is_trusted(new)
    assert new.stat().st_mode & 0o777 == 0o700
    assert is_trusted(new)
    for mode, trusted in ((0o755, True), (0o720, False), (0o777, False), (0o702, False), (0o700, True)):
        new.chmod(mode)
        assert is_trusted(new) == trusted
    link.symlink_to(new)
    assert not is_trusted(link)
    (tmp_path / "file").touch()
    assert not is_trusted(tmp_path / "file")
    monkeypatch.setattr(os, "getuid", lambda: new.stat().st_uid + 1)
    assert not is_trusted(new)


@posix
def test_a_planted_folder_is_passed_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another user may make folders in the shared temporary folder, by any name that can be foreseen."""
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    monkeypatch.setattr(code_cache.platformdirs, "user_cache_path", lambda *_, **__: tmp_path / "file" / "x")
    monkeypatch.setattr(code_cache.tempfile, "tempdir", str(tmp_path))
    (tmp_path / "file").touch()  # so that no home can be written
    first = chosen_folder("0123")
    assert first == chosen_folder("0123") == tmp_path / f"blendlab-{os.getuid()}-0123"
    first.chmod(0o777)
    fresh = chosen_folder("0123")
    assert fresh is not None
    assert fresh not in (first, chosen_folder("0123"))
    assert fresh.stat().st_mode & 0o777 == 0o700


def test_a_chosen_folder_is_used_as_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", "/chosen")
    assert chosen_folder("0123") == Path("/chosen")


WITHOUT_HOME = """
import os, sys
import pwd
def nobody(uid):
    raise KeyError(uid)
pwd.getpwuid = nobody
from blendlab.runtime.compiled import cache_folder
print(cache_folder())
"""


@posix
def test_a_user_without_a_home_has_a_cache(tmp_path: Path) -> None:
    own = {name: value for name, value in os.environ.items() if name not in ("HOME", "XDG_CACHE_HOME")}
    own |= {"TMPDIR": str(tmp_path), "PYTHONPATH": str(Path(compiled.__file__).parents[2])}
    own.pop("NUMBA_CACHE_DIR", None)
    command = [sys.executable, "-c", WITHOUT_HOME]
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=own, cwd=tmp_path)
    assert done.stderr == ""
    folder = Path(done.stdout.strip())
    assert folder.parent == tmp_path
    assert folder.name.startswith(f"blendlab-{os.getuid()}-")
    assert not (tmp_path / "~").exists()


class Planted:
    """What another user would plant."""

    def __reduce__(self) -> tuple[Callable[..., object], tuple[str]]:
        return os.mkdir, ("ran",)


@posix
def test_planted_code_does_not_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kernel_folder = tmp_path / f"blendlab-{os.getuid()}-0123"
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    monkeypatch.setattr(code_cache.platformdirs, "user_cache_path", lambda *_, **__: Path("~"))
    monkeypatch.setattr(code_cache.tempfile, "tempdir", str(tmp_path))
    monkeypatch.setattr(compiled, "cache_folder", lambda: chosen_folder("0123"))
    assert compiled.compiled()(doubled)(21) == 42
    for file in kept(kernel_folder):
        file.write_bytes(pickle.dumps(Planted()))
    kernel_folder.chmod(0o777)
    assert compiled.compiled()(doubled)(21) == 42
    assert not (tmp_path / "ran").exists()
