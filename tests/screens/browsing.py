"""The app on its own server, and helpers to use its pages in a real browser."""

import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from http.client import HTTPConnection
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, expect

from blendlab.recipe.recipe import Recipe
from blendlab.screens.pages import FIRST, TITLES
from blendlab.screens.parts import draft

from .opening import APP

PATIENCE_S = 120  # for a busy machine and a first compilation
SHOTS = os.environ.get("BLENDLAB_SHOTS")  # a folder for screenshots, to look at them by hand
PAGES = {"" if name == FIRST else name: title for name, title in TITLES.items()}  # by address
DESK: dict[str, Any] = {"viewport": {"width": 1280, "height": 2400}}  # settings of a browser's context
PHONE: dict[str, Any] = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


@contextmanager
def serving(folder: Path, port: int | None = None, **further: str) -> Iterator[str]:
    """Address of the app on a quick server of its own, which keeps all it keeps in `folder`."""
    with started(folder, port, "tests.screens.quick_server", **further) as (address, _):
        yield address


@contextmanager
def started(
    folder: Path, port: int | None = None, module: str = "streamlit", **further: str
) -> Iterator[tuple[str, int]]:
    """Address and process of a server that a module runs; `further` goes into its environment."""
    port = port or free_port()
    command = [sys.executable, "-m", module, "run", APP.name]
    command += ["--server.port", str(port), "--server.headless", "true", "--server.fileWatcherType", "none"]
    own = os.environ | {"BLENDLAB_HOME": str(folder / "home")} | further
    with (folder / "said").open("w+") as said:
        running = subprocess.Popen(command, cwd=APP.parent, env=own, stdout=said, stderr=subprocess.STDOUT)
        try:
            _await_answer(port, running)
            yield f"http://127.0.0.1:{port}", running.pid
        finally:
            running.terminate()
            running.wait(timeout=30)
        said.seek(0)
        assert "Traceback" not in said.read()


def _await_answer(port: int, running: subprocess.Popen[Any]) -> None:
    end = time.monotonic() + PATIENCE_S
    while running.poll() is None and time.monotonic() < end:
        with closing(HTTPConnection("127.0.0.1", port, timeout=5)) as asked, suppress(OSError):
            asked.request("GET", "/_stcore/health")
            if asked.getresponse().status == 200:
                return
        time.sleep(0.1)
    pytest.fail("the server does not answer")


@contextmanager
def watched(context: BrowserContext, name: str) -> Iterator[Page]:
    """An empty page; at its end nothing may have broken on it or gone to another host."""
    hosts, broken = set(), []

    def note(asked: Any) -> None:
        at = urlsplit(asked.url)
        if at.scheme not in ("data", "blob"):
            hosts.add(at.hostname)

    page = context.new_page()
    page.on("request", note)
    page.on("websocket", note)
    page.on("pageerror", lambda error: broken.append(error))
    try:
        yield page
    finally:
        shoot(page, name)
    whole(page)
    page.close()
    assert hosts == {"127.0.0.1"}
    assert not broken


@contextmanager
def another(context: BrowserContext, name: str, **settings: Any) -> Iterator[Page]:
    """An empty page of the same browser with settings of its own, watched as any other."""
    assert context.browser
    made = context.browser.new_context(reduced_motion="reduce", **settings)
    made.set_default_timeout(PATIENCE_S * 1000)
    with watched(made, name) as page:
        yield page
    made.close()


def shoot(page: Page, name: str) -> None:
    """Keep a screenshot if `BLENDLAB_SHOTS` is set."""
    if SHOTS:
        Path(SHOTS).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=Path(SHOTS, re.sub(r"\W+", "-", name).strip("-") + ".png"), full_page=True)


def visit(page: Page, server: str, path: str = "", mix: Recipe | str | None = None) -> None:
    """Open one of the app's pages and wait until all of it is there."""
    query = ""
    if mix is not None:
        query = f"?{draft.ADDRESS}={draft._packed(mix) if isinstance(mix, Recipe) else mix}"
    page.goto(f"{server}/{path}{query}")
    expect(page.get_by_role("heading", name=PAGES[path], level=1)).to_be_visible()
    settled(page)


def turn_to(page: Page, path: str) -> None:
    """Go on to another page of the app by its link."""
    page.get_by_role("link", name=PAGES[path], exact=True).first.click()
    expect(page.get_by_role("heading", name=PAGES[path], level=1)).to_be_visible()
    settled(page)


def settled(page: Page) -> None:
    """Wait until the page's script has rested for a moment, and what it shows has come.

    A click starts the script only after a short while; code of a kind of field is fetched when first shown.
    """
    page.evaluate("window.restingSince = null")
    page.wait_for_function(
        """() => {
            const app = document.querySelector('[data-testid="stApp"]');
            const coming = document.querySelector('[data-testid="stSkeleton"]');
            if (app?.dataset.testScriptState !== "notRunning" || coming) window.restingSince = null;
            else window.restingSince ??= performance.now();
            return window.restingSince && performance.now() - window.restingSince > 120;
        }""",
        polling=30,  # ms; asking for every frame keeps the browser drawing
    )


def reconnected(page: Page) -> None:
    """Wait until a page has found a new server by itself."""
    page.locator("[data-testid=stApp][data-test-connection-state=CONNECTED]").wait_for()
    settled(page)


def whole(page: Page) -> None:
    """Nothing on the page ended in an exception."""
    expect(page.get_by_test_id("stException")).to_have_count(0)


def shows_colour(page: Page, label: str, srgb: str) -> None:
    """Wait until a swatch has this colour, ``#rrggbb``."""
    expect(swatch(page, label)).to_have_attribute("aria-label", srgb)


def swatch(page: Page, label: str) -> Locator:
    """The colour of a swatch, its hex as its words."""
    return page.locator(".swatch", has=page.get_by_text(label, exact=True)).locator(".chip")


def picture(page: Page, words: str) -> Locator:
    return page.get_by_role("img", name=words)


def source(shown: Locator) -> str:
    """Address of a picture, which changes with its content."""
    found = shown.get_attribute("src")
    assert found
    return found


def fill(field: Locator, value: str) -> None:
    field.fill(value)
    field.press("Enter")
