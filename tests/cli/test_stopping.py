"""Ctrl-C, SIGTERM, closed pipes and full devices, seen from outside the process."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from blendlab import cli

from .running import STRIP, process


def test_a_refusal_is_one_line_in_a_process_of_its_own(tmp_path: Path) -> None:
    assert "must be there to be read" in process("blend", str(tmp_path / "none.toml")).refusal()


def test_ctrl_c_prints_nothing(tmp_path: Path) -> None:
    pipe = tmp_path / "slow.toml"
    os.mkfifo(pipe)
    command = [sys.executable, "-m", "blendlab", "blend", str(pipe)]
    running = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    with pipe.open("w"):  # opens once the command is reading the recipe
        running.send_signal(signal.SIGINT)
        said = running.communicate(timeout=60)
    assert (running.returncode, *said) == (cli.STOPPED, "", "")


SLOW_DISK = """
import os, sys, time
from blendlab import cli
def wait(_):
    print("writing", flush=True)
    time.sleep(60)
os.fsync = wait
sys.exit(cli.main(sys.argv[1:]))
"""


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


def test_a_closed_pipe_is_not_an_error(strip: Path) -> None:
    read, write = os.pipe()
    os.close(read)
    try:
        ran = process("blend", str(strip), stdout=write)
    finally:
        os.close(write)
    assert (ran.status, ran.err) == (cli.UNREAD, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no full device to write to")
def test_a_result_that_cannot_be_written_is_an_error(strip: Path) -> None:
    with Path("/dev/full").open("w") as full:
        ran = process("blend", str(strip), stdout=full)
    assert "No space left" in ran.refusal()


def test_characters_that_the_console_lacks_are_escaped(strip: Path) -> None:
    strip.write_text(STRIP.replace("marigold", "金盞花"), encoding="utf-8")
    out = os.fsencode(strip.parent) + b"/caf\xe9.png"  # a name that is not UTF-8
    words = ("sheet", str(strip), "--folds", "0", "--samples", "1", "--out", os.fsdecode(out))
    ran = process(*words, env=os.environ | {"PYTHONIOENCODING": "ascii"})
    assert any(line.endswith(r"%  \u91d1\u76de\u82b1") for line in ran.words())
    assert out in [os.fsencode(path) for path in strip.parent.iterdir()]
