"""`blendlab app`: the app on a server of its own, for this computer only."""

import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import NoReturn
from urllib.error import URLError
from urllib.request import urlopen

import pytest

from blendlab import cli
from blendlab.cli import app_command

from .running import Run

PATIENCE_S = 120  # for a busy machine


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


@pytest.mark.skipif(os.name != "posix", reason="SIGTERM cannot be caught there")
def test_the_app_is_served_to_this_computer_until_it_is_ended(tmp_path: Path) -> None:
    port = free_port()
    command = [sys.executable, "-m", "blendlab", "app", "--no-browser", "--port", str(port)]
    own = os.environ | {"BLENDLAB_HOME": str(tmp_path), "HOME": str(tmp_path)}
    with subprocess.Popen(command, cwd=tmp_path, env=own, stdout=subprocess.PIPE, text=True) as running:
        until = time.monotonic() + PATIENCE_S
        page = b""
        while not page and running.poll() is None and time.monotonic() < until:
            try:
                page = urlopen(f"http://127.0.0.1:{port}/", timeout=5).read()
            except (URLError, ConnectionError):
                time.sleep(0.1)
        running.send_signal(signal.SIGTERM)
        printed = running.communicate(timeout=60)[0]
    assert b"<html" in page
    assert running.returncode == cli.ENDED
    assert f"http://127.0.0.1:{port}" in printed  # the address of the settings, so they were found
    with pytest.raises(URLError):
        urlopen(f"http://127.0.0.1:{port}/", timeout=5)


def test_an_impossible_port_is_refused(run: Run) -> None:
    assert (
        "--port must be a whole number from 1024 to 65535, got 80; " in run("app", "--port", "80").refusal()
    )


def test_the_app_opens_for_a_user_without_a_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert app_command._environment() == dict(os.environ)

    def no_home() -> NoReturn:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(Path, "home", no_home)
    assert app_command._environment()["HOME"] == str(tmp_path)
