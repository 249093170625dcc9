"""Ways to stop, seen from outside the process."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from blendlab import cli

from .running import STRIP, process


def test_a_refusal_is_one_line_from_outside_too(tmp_path: Path) -> None:
    assert "must be there to be read" in process("blend", str(tmp_path / "none.toml")).refusal()


def test_ctrl_c_stops_without_a_word(tmp_path: Path) -> None:
    pipe = tmp_path / "slow.toml"
    os.mkfifo(pipe)
    command = [sys.executable, "-m", "blendlab", "blend", str(pipe)]
    running = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    with pipe.open("w"):  # opens once the other side waits for the recipe
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


def test_a_request_to_end_during_a_write_leaves_the_older_file_and_no_crumbs(strip: Path) -> None:
    out = strip.with_name("sheet.png")
    out.write_bytes(b"older")
    words = ("sheet", str(strip), "--folds", "0", "--samples", "1", "--out", str(out))
    command = [sys.executable, "-c", SLOW_DISK, *words]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as running:
        assert running.stdout is not None
        assert running.stdout.readline() == "writing\n"  # all bytes are in the new file, none is final
        assert len(list(strip.parent.iterdir())) == 3
        running.send_signal(signal.SIGTERM)
        said = running.communicate(timeout=60)
    assert (running.returncode, *said) == (cli.ENDED, "", "")
    assert out.read_bytes() == b"older"
    assert {path.name for path in strip.parent.iterdir()} == {"strip.toml", "sheet.png"}


def test_a_reader_that_has_left_is_no_accident(strip: Path) -> None:
    read, write = os.pipe()
    os.close(read)
    try:
        ran = process("blend", str(strip), stdout=write)
    finally:
        os.close(write)
    assert (ran.status, ran.err) == (cli.UNREAD, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no full device to write to")
def test_a_result_that_cannot_be_delivered_is_said_so(strip: Path) -> None:
    with Path("/dev/full").open("w") as full:
        ran = process("blend", str(strip), stdout=full)
    assert "No space left" in ran.refusal()


def test_names_the_console_has_no_letters_for_are_spelt_out(strip: Path) -> None:
    strip.write_text(STRIP.replace("marigold", "金盞花"), encoding="utf-8")
    out = os.fsencode(strip.parent) + b"/caf\xe9.png"  # a name from a system of another alphabet
    words = ("sheet", str(strip), "--folds", "0", "--samples", "1", "--out", os.fsdecode(out))
    ran = process(*words, env=os.environ | {"PYTHONIOENCODING": "ascii"})
    assert any(line.endswith(r"%  \u91d1\u76de\u82b1") for line in ran.words())
    assert out in [os.fsencode(path) for path in strip.parent.iterdir()]
