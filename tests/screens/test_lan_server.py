"""`blendlab app --lan`, its code entered in a real browser."""

import os
import re
import socket
import subprocess
import sys
import time
from http.client import HTTPConnection
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, expect

from blendlab.checks import InputError
from blendlab.screens import lan_server

from .browsing import PATIENCE_S, PHONE, free_port, shoot, watched

# A web socket's opening request, with the key of the example in RFC 6455, 1.3.
UPGRADE = {
    "Connection": "Upgrade",
    "Upgrade": "websocket",
    "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==",
    "Sec-WebSocket-Version": "13",
}


@pytest.mark.parametrize("address", ["10.1.2.3", "192.168.1.20", "172.16.0.9", "127.0.0.1"])
def test_addresses_of_a_home_network_pass(address: str) -> None:
    assert lan_server.checked(address) == address


@pytest.mark.parametrize("address", ["0.0.0.0", "8.8.8.8", "::1", "shed", "192.168.1", "192.168.1.20:80"])
def test_any_other_address_is_refused(address: str) -> None:
    with pytest.raises(InputError, match="--lan must be this computer's own address on a home network, got"):
        lan_server.checked(address)


def test_a_port_in_use_is_refused() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(InputError, match=f"got 127.0.0.1:{port} in use"):
            lan_server.free_port("127.0.0.1", port)


def test_an_output_without_blocks_gets_the_words(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    welcome = lan_server._welcome("http://10.1.2.3:8501", "1234 5678")
    assert "█" in welcome
    lan_server._print(welcome)
    assert capsys.readouterr().out == f"{welcome}\n"
    with Path(os.devnull).open("w", encoding="ascii") as plain:
        monkeypatch.setattr(sys, "stdout", plain)
        lan_server._print(welcome)


def status(port: int, path: str, **headers: str) -> int:
    asked = HTTPConnection("127.0.0.1", port, timeout=30)
    try:
        asked.request("GET", path, headers=headers)
        return asked.getresponse().status
    finally:
        asked.close()


def test_a_phone_enters_the_code_once(context: BrowserContext, tmp_path: Path) -> None:
    port = free_port()
    command = [sys.executable, "-m", "blendlab", "app", "--lan", "127.0.0.1", "--port", str(port)]
    own = os.environ | {"BLENDLAB_HOME": str(tmp_path), "PYTHONIOENCODING": "utf-8"}
    with subprocess.Popen(command, cwd=tmp_path, env=own, stdout=subprocess.PIPE, text=True) as running:
        assert running.stdout
        code = ""
        while not code and (line := running.stdout.readline()):
            code = "".join(re.findall(r"this code: (\d{4} \d{4})", line))
        try:
            _await(port)
            assert status(port, "/_stcore/health") == 401
            assert status(port, "/_stcore/stream", **UPGRADE) == 403
            with watched(context, "pairing") as page:
                page.set_viewport_size(PHONE["viewport"])
                page.goto(f"http://127.0.0.1:{port}/")
                page.get_by_label("Code").fill("0000 0000" if code != "0000 0000" else "1")
                page.get_by_role("button", name="Open").click()
                expect(page.get_by_role("status")).to_have_text("This is not the code. Try again.")
                shoot(page, "pairing asked")
                page.get_by_label("Code").fill(code)
                page.get_by_role("button", name="Open").click()
                expect(page.get_by_test_id("stApp")).to_be_visible()
                expect(page.get_by_role("heading", level=1).first).to_be_visible()  # over the web socket
                page.reload()
                expect(page.get_by_role("heading", level=1).first).to_be_visible()
                context.clear_cookies()
                page.reload()
                expect(page.get_by_label("Code")).to_be_visible()
                page.goto("about:blank")
        finally:
            running.terminate()
            running.communicate(timeout=60)


def _await(port: int) -> None:
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        try:
            status(port, "/")
            return
        except OSError:
            time.sleep(0.1)
    pytest.fail("the server does not answer")
