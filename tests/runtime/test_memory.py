"""Memory that is left, on systems that say so in different ways or not at all."""

import math
import subprocess
import sys
from pathlib import Path

import pytest

from blendlab.runtime import memory

MEMINFO = "MemTotal:       16000000 kB\nMemFree:          100000 kB\nMemAvailable:    8000000 kB\n"


def test_the_machine_says_what_it_can_give(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "meminfo").write_text(MEMINFO)
    monkeypatch.setattr(memory, "MEMINFO", tmp_path / "meminfo")
    monkeypatch.setattr(memory, "resource", None)
    assert memory.free_bytes() == 8_000_000 * 1024


def test_a_system_that_says_nothing_is_not_asked_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stands in for Windows and macOS, which have no /proc; Windows has no `resource` either."""
    monkeypatch.setattr(memory, "MEMINFO", tmp_path / "none")
    monkeypatch.setattr(memory, "STATM", tmp_path / "none")
    assert memory.free_bytes() > 0
    monkeypatch.setattr(memory, "resource", None)
    assert memory.free_bytes() == math.inf


@pytest.mark.skipif(memory.resource is None, reason="this system limits no process")
def test_the_limit_of_the_process_counts_what_it_has_taken() -> None:
    code = (
        "import resource\n"
        "from blendlab.runtime.memory import free_bytes\n"
        "resource.setrlimit(resource.RLIMIT_AS, (3 << 30, resource.RLIM_INFINITY))\n"
        "before = free_bytes()\n"
        "taken = bytearray(1 << 29)\n"
        "print(before, free_bytes())\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    before, after = map(float, done.stdout.split())
    assert after < before <= 3 << 30
