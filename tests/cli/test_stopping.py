"""Ctrl-C, SIGTERM, closed pipes and full devices, seen from outside the process."""

import errno
import os
import signal
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from types import SimpleNamespace
from typing import NoReturn

import pytest

from blendlab import cli
from blendlab.look import light_paths, prepared_sheet

from .running import STRIP, Run, process

posix = pytest.mark.skipif(os.name != "posix", reason="signals, pipes and shells are those of POSIX")


def test_a_refusal_is_one_line_in_a_process_of_its_own(tmp_path: Path) -> None:
    assert "must be there to be read" in process("blend", str(tmp_path / "none.toml")).refusal()


@posix
def heed_ctrl_c() -> None:
    """Undo what a shell does to its background jobs, which ignore Ctrl-C and pass that on."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def test_ctrl_c_prints_nothing(tmp_path: Path) -> None:
    pipe = tmp_path / "slow.toml"
    os.mkfifo(pipe)
    command = [sys.executable, "-m", "blendlab", "blend", str(pipe)]
    running = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, preexec_fn=heed_ctrl_c
    )
    with pipe.open("w"):  # opens once the command is about to read the recipe
        running.send_signal(signal.SIGINT)
    said = running.communicate(timeout=60)  # a signal just before the read is heeded once that ends
    assert (running.returncode, *said) == (cli.STOPPED, "", "")


EARLY = """
import os, signal, sys
import blendlab.__main__
class Interrupted:
    def find_spec(name, *_):
        if name == "blendlab.{module}":
            os.kill(os.getpid(), signal.SIGINT)
sys.meta_path.insert(0, Interrupted)
sys.argv[1:] = ["blend", "none.toml"]
sys.exit(blendlab.__main__.main())
"""


@posix
@pytest.mark.parametrize("module", ["cli", "cli.arguments", "recipe.recipe"])
def test_ctrl_c_while_the_command_starts_prints_nothing(module: str) -> None:
    code = EARLY.format(module=module)
    command = [sys.executable, "-c", code]
    done = subprocess.run(command, capture_output=True, text=True, check=False, preexec_fn=heed_ctrl_c)
    assert (done.returncode, done.stdout, done.stderr) == (cli.STOPPED, "", "")


SLOW_DISK = """
import os, sys, time
from blendlab import cli
def wait(_):
    print("writing", flush=True)
    time.sleep(60)
os.fsync = wait
sys.exit(cli.main(sys.argv[1:]))
"""


@posix
def test_sigterm_during_a_write_keeps_the_older_file_and_leaves_no_other(strip: Path) -> None:
    out = strip.with_name("sheet.png")
    out.write_bytes(b"older")
    words = ("sheet", str(strip), "--folds", "0", "--samples", "1", "--out", str(out))
    command = [sys.executable, "-c", SLOW_DISK, *words]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as running:
        assert running.stdout is not None
        assert running.stdout.readline() == "writing\n"  # the new file is complete but not yet renamed
        assert len(list(strip.parent.iterdir())) == 3
        running.send_signal(signal.SIGTERM)
        said = running.communicate(timeout=60)
    assert (running.returncode, *said) == (cli.ENDED, "", "")
    assert out.read_bytes() == b"older"
    assert {path.name for path in strip.parent.iterdir()} == {"strip.toml", "sheet.png"}


@pytest.mark.parametrize("words", [("blend", "R"), ("--help",), ("blend", "--help"), ("--version",)])
def test_a_closed_pipe_is_not_an_error(strip: Path, words: tuple[str, ...]) -> None:
    read, write = os.pipe()
    os.close(read)
    try:
        ran = process(*(word.replace("R", str(strip)) for word in words), stdout=write)
    finally:
        os.close(write)
    assert (ran.status, ran.err) == (cli.UNREAD, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no full device to write to")
@pytest.mark.parametrize("words", [("blend", "R"), ("--help",), ("blend", "--help"), ("--version",)])
def test_a_result_that_cannot_be_written_is_an_error(strip: Path, words: tuple[str, ...]) -> None:
    with Path("/dev/full").open("w") as full:
        ran = process(*(word.replace("R", str(strip)) for word in words), stdout=full)
    assert "No space left" in ran.refusal()


def test_a_pipe_closed_as_windows_says_it_is_not_an_error(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stands in for Windows, where writing to a closed pipe is EINVAL."""
    with (tmp_path / "out").open("w") as out, monkeypatch.context() as closed:

        def write(_: str) -> NoReturn:
            raise OSError(errno.EINVAL, "Invalid argument")

        stream = SimpleNamespace(write=write, flush=lambda: None, fileno=out.fileno)
        closed.setattr(sys, "stdout", stream)
        assert cli.main(["--version"]) == cli.UNREAD


def test_a_closed_standard_output_is_refused_before_the_work(
    run: Run, strip: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The interpreter has None for a stream that was closed when it started."""
    out = strip.with_name("sheet.png")
    with monkeypatch.context() as closed:
        closed.setattr(sys, "stdout", None)
        assert cli.main(["sheet", str(strip), "--folds", "0", "--out", str(out)]) == 2
    assert "somewhere to go, got a closed standard output; " in capsys.readouterr().err
    assert not out.exists()


def test_nothing_else_is_printed_where_standard_error_is_closed(
    run: Run, strip: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(light_paths, "is_warm", lambda: False)
    with monkeypatch.context() as closed:
        closed.setattr(sys, "stderr", None)
        ran = run("ladder", strip, "--folds", "0", "--tries", "0", "--json")
        refused = run("blend", "none.toml")
    ran.only_object()
    assert (refused.status, refused.out) == (2, "")


@posix
def test_closed_streams_seen_from_outside(strip: Path) -> None:
    blend = f"{sys.executable} -m blendlab blend"
    for words, status, out, err in (
        (f"{blend} {strip} --json >&-", 2, "", "blendlab: the result must have"),
        (f"{blend} {strip} --json 2>&-", 0, "{", ""),
        (f"{blend} none.toml 2>&-", 2, "", ""),
        (f"{blend} none.toml 2>/dev/full", 2, "", ""),
    ):
        done = subprocess.run(["/bin/sh", "-c", words], capture_output=True, text=True, check=False)
        assert (done.returncode, done.stdout[:1], done.stderr[:30]) == (status, out, err)


def test_work_beyond_the_memory_is_refused(run: Run, strip: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> NoReturn:
        raise MemoryError("Unable to allocate 9 GiB")

    monkeypatch.setattr(prepared_sheet, "prepare", full)
    line = run("sheet", strip, "--out", strip.with_name("a.png")).refusal()
    assert "this computer's memory, got Unable to allocate 9 GiB; " in line
    assert not strip.with_name("a.png").exists()


def test_a_command_runs_in_any_thread(strip: Path) -> None:
    """Only the main thread may handle signals, and a command needs none of them."""
    with ThreadPoolExecutor(1) as pool:
        assert pool.submit(cli.main, ["blend", str(strip)]).result() == 0


@posix
def test_characters_that_the_console_lacks_are_escaped(strip: Path) -> None:
    strip.write_text(STRIP.replace("marigold", "金盞花"), encoding="utf-8")
    out = os.fsencode(strip.parent) + b"/caf\xe9.png"  # a name that is not UTF-8
    words = ("sheet", str(strip), "--folds", "0", "--samples", "1", "--out", os.fsdecode(out))
    ran = process(*words, env=os.environ | {"PYTHONIOENCODING": "ascii"})
    assert any(line.endswith(r"%  \u91d1\u76de\u82b1") for line in ran.words())
    assert out in [os.fsencode(path) for path in strip.parent.iterdir()]
