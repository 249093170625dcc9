"""The app as a maker meets it: a real server, a real browser, every page."""

import os
import re
import socket
import subprocess
import sys
import time
import tomllib
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import replace
from http.client import HTTPConnection
from io import BytesIO
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from PIL import Image, ImageCms
from playwright.sync_api import Locator, Page, expect, sync_playwright

from blendlab.colour.means import area_mean, full_blend
from blendlab.recipe import Recipe
from blendlab.screens import draft
from blendlab.workshop import drafts

from .opening import APP, STRIP

pytestmark = pytest.mark.browser

PATIENCE_S = 120  # for a busy machine and a first compilation
SHOTS = os.environ.get("BLENDLAB_SHOTS")  # a folder for screenshots, to look at them by hand
QUIET = (
    "--no-sandbox --disable-gpu --disable-background-networking --no-first-run "
    "--disable-component-update --disable-sync"
)
PAGES = {
    "": "Flakes",
    "wanted": "Wanted colour",
    "folds": "Folds",
    "photo": "Photo",
    "batch": "Batch",
    "blanks": "Blanks",
    "compare": "Compare",
    "log": "Log",
    "shed": "Shed",
    "sources": "Sources",
}


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("server")


@pytest.fixture(scope="session")
def server(folder: Path) -> Iterator[str]:
    """Address of the app on a server of its own, with an empty shed."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "streamlit", "run", APP.name]
    command += ["--server.port", str(port), "--server.headless", "true", "--server.fileWatcherType", "none"]
    own = os.environ | {"BLENDLAB_HOME": str(folder / "home")}
    with (folder / "said").open("w+") as said:
        running = subprocess.Popen(command, cwd=APP.parent, env=own, stdout=said, stderr=subprocess.STDOUT)
        try:
            _await_answer(port, running)
            yield f"http://127.0.0.1:{port}"
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


@pytest.fixture(scope="module")
def context(browser_path: str) -> Iterator[Any]:
    expect.set_options(timeout=PATIENCE_S * 1000)
    with sync_playwright() as tools:
        browser = tools.chromium.launch(executable_path=browser_path, args=QUIET.split())
        made = browser.new_context(viewport={"width": 1280, "height": 2400}, reduced_motion="reduce")
        made.set_default_timeout(PATIENCE_S * 1000)
        yield made
        browser.close()


@pytest.fixture
def page(context: Any, folder: Path, request: pytest.FixtureRequest) -> Iterator[Page]:
    """An empty page; after the test, nothing may have broken on it or gone to another host."""
    drafts.clear(folder / "home", draft.PAGE)  # what another test left unfinished
    hosts, broken = set(), []

    def note(asked: Any) -> None:
        at = urlsplit(asked.url)
        if at.scheme not in ("data", "blob"):
            hosts.add(at.hostname)

    made: Page = context.new_page()
    made.on("request", note)
    made.on("websocket", note)
    made.on("pageerror", lambda error: broken.append(error))
    yield made
    if SHOTS:
        Path(SHOTS).mkdir(parents=True, exist_ok=True)
        made.screenshot(path=Path(SHOTS, re.sub(r"\W+", "-", request.node.name) + ".png"), full_page=True)
    expect(made.get_by_test_id("stException")).to_have_count(0)
    made.close()
    assert hosts == {"127.0.0.1"}
    assert not broken


def visit(page: Page, server: str, path: str = "", mix: Recipe | str | None = None) -> None:
    """Open one of the app's pages and wait until all of it stands."""
    query = ""
    if mix is not None:
        query = f"?{draft.ADDRESS}={draft._packed(mix) if isinstance(mix, Recipe) else mix}"
    page.goto(f"{server}/{path}{query}")
    expect(page.get_by_role("heading", name=PAGES[path], level=1)).to_be_visible()
    settled(page)


def settled(page: Page) -> None:
    expect(page.locator('[data-testid="stApp"][data-test-script-state="notRunning"]')).to_be_attached()


def swatch(page: Page, label: str) -> Locator:
    """The hex of a swatch."""
    return page.locator(".swatch", has=page.get_by_text(label, exact=True)).locator("code")


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


def with_grams(recipe: Recipe, first: float) -> Recipe:
    return replace(recipe, flakes=(replace(recipe.flakes[0], grams=first), *recipe.flakes[1:]))


def test_it_opens_on_the_demo_and_grams_move_the_mean_and_the_sheet(page: Page, server: str) -> None:
    visit(page, server)
    expect(swatch(page, "Seen from afar")).to_have_text(area_mean(draft.demo()).srgb)
    expect(page.get_by_role("textbox", name="Name", exact=True).first).to_have_value(
        draft.demo().flakes[0].name
    )
    sheet = picture(page, "Predicted sheet after")
    before = source(sheet)
    fill(page.get_by_role("spinbutton", name="Grams").first, "20")
    less = with_grams(draft.demo(), 20.0)
    expect(swatch(page, "Seen from afar")).to_have_text(area_mean(less).srgb)
    expect(swatch(page, "Mixed through")).to_have_text(full_blend(less).srgb)
    expect(sheet).not_to_have_attribute("src", before)
    settled(page)
    after = source(sheet)
    page.reload()  # settings survive
    expect(swatch(page, "Seen from afar")).to_have_text(area_mean(less).srgb)
    expect(page.get_by_role("spinbutton", name="Grams").first).to_have_value("20")
    expect(sheet).to_have_attribute("src", after)


def test_what_cannot_be_pressed_is_said_beside_the_field(page: Page, server: str) -> None:
    visit(page, server, mix=STRIP)
    sheet = picture(page, "Predicted sheet after")
    before = source(sheet)
    fill(page.get_by_role("spinbutton", name="Grams").last, "0")
    alert = page.get_by_test_id("stAlert")
    expect(alert).to_have_text(re.compile("^grams of flake 'harbour blue' must be a number above 0, got 0"))
    settled(page)
    assert source(sheet) == before
    fill(page.get_by_role("spinbutton", name="Grams").last, "10")
    expect(alert).to_have_count(0)


def test_the_tiles_follow_the_mix_and_a_rung_is_chosen_and_kept(page: Page, server: str) -> None:
    visit(page, server, "folds", STRIP)
    tiles = page.get_by_role("img", name=re.compile(r"^\d+ folds, "))
    expect(tiles).to_have_count(11)
    before = [source(tile) for tile in tiles.all()]
    assert len(set(before)) == 11
    page.get_by_role("button", name=re.compile("^7 · ")).click()
    expect(page.get_by_role("heading", name="After 7 folds")).to_be_visible()
    expect(picture(page, "face after 7 folds")).to_be_visible()
    page.get_by_role("link", name="Flakes").click()
    fill(page.get_by_role("spinbutton", name="Grams").first, "5")
    less = with_grams(STRIP, 5.0)
    expect(swatch(page, "Mixed through")).to_have_text(full_blend(less).srgb)
    page.get_by_role("link", name="Folds").click()
    expect(page.get_by_role("heading", name="After 7 folds")).to_be_visible()
    expect(tiles).to_have_count(11)
    settled(page)
    after = [source(tile) for tile in tiles.all()]
    assert set(after).isdisjoint(before)
    page.get_by_role("slider", name="How lively").press("ArrowRight")
    advice = page.get_by_text(re.compile(r"^Fold \d+ times\. .* clouded\."))
    expect(advice).to_be_visible()
    settled(page)
    told = advice.inner_text()
    page.reload()
    expect(page.get_by_role("heading", name="After 7 folds")).to_be_visible()
    expect(advice).to_have_text(told)
    settled(page)
    assert [source(tile) for tile in tiles.all()] == after


def test_the_downloaded_picture_has_its_true_size(page: Page, server: str) -> None:
    visit(page, server, "folds", STRIP)
    with page.expect_download() as coming:
        page.get_by_test_id("stDownloadButton").get_by_role("button").click()
    assert coming.value.suggested_filename == "top-3-folds.png"
    with Image.open(coming.value.path()) as found:
        assert (found.format, found.mode, found.size) == ("PNG", "RGB", (320, 80))
        # 4 pixels a mm; a PNG states whole pixels per metre, and half of one is 0.013 dpi.
        assert found.info["dpi"] == pytest.approx((101.6, 101.6), abs=0.013)
        profile = ImageCms.ImageCmsProfile(BytesIO(found.info["icc_profile"]))
        assert "sRGB" in ImageCms.getProfileDescription(profile)
        found.load()


@pytest.mark.parametrize("path", PAGES)
def test_on_a_phone_nothing_hangs_over_the_edge_and_every_picture_has_words(
    page: Page, server: str, path: str
) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    visit(page, server, path, STRIP)
    over = page.evaluate(
        """() => ["html", "body", "[data-testid=stApp]", "[data-testid=stMain]"].filter(
            at => document.querySelector(at).scrollWidth > document.querySelector(at).clientWidth)"""
    )
    assert not over
    hanging = page.evaluate(
        """() => [...document.querySelectorAll("[data-testid=stMain] :is(img, button, input, .swatch, h1)")]
            .filter(element => element.getBoundingClientRect().right > innerWidth + 1)
            .map(element => element.outerHTML.slice(0, 200))"""
    )
    assert not hanging
    wordless = page.evaluate(
        """() => [...document.querySelectorAll("[data-testid=stMain] img")].filter(picture => !picture.alt)
            .map(picture => picture.src)"""
    )
    assert not wordless


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_page_follows_the_light_or_dark_of_the_machine(page: Page, server: str, theme: Any) -> None:
    page.emulate_media(color_scheme=theme)
    visit(page, server, mix=STRIP)
    settings = tomllib.loads(APP.with_name(".streamlit").joinpath("config.toml").read_text("utf-8"))["theme"]
    ground, ink = (
        f"rgb({', '.join(str(int(colour[at : at + 2], 16)) for at in (1, 3, 5))})"
        for colour in (settings[theme]["backgroundColor"], settings[theme]["textColor"])
    )
    expect(page.get_by_test_id("stApp")).to_have_css("background-color", ground)
    expect(page.get_by_role("heading", level=1)).to_have_css("color", ink)
    expect(swatch(page, "Seen from afar").locator("xpath=preceding-sibling::b")).to_have_css("color", ink)


MARKUP = ("![a](http://a.invalid/a.png)", "<img src='http://b.invalid/b.png'>")


def test_markup_in_names_is_text_everywhere_and_fetches_nothing(page: Page, server: str) -> None:
    flakes = tuple(replace(flake, name=name) for flake, name in zip(STRIP.flakes, MARKUP, strict=True))
    visit(page, server, mix=replace(STRIP, name=MARKUP[0], flakes=flakes))
    for grams, name in zip(page.get_by_role("spinbutton", name="Grams").all(), MARKUP, strict=True):
        fill(grams, "0")
        expect(page.get_by_test_id("stAlert").filter(has_text=name)).to_be_visible()
    for button, name in zip(page.get_by_role("button", name="close icon").all(), MARKUP, strict=True):
        button.hover()
        expect(page.get_by_role("tooltip")).to_have_text(f"Remove {name}")
    for path in PAGES.keys() - {"folds"}:  # which shows no names
        visit(page, server, path, replace(STRIP, name=MARKUP[0], flakes=flakes))
    assert page.locator("img[src*=invalid]").count() == 0


def test_an_address_that_holds_no_mix_opens_the_demo_and_says_why(page: Page, server: str) -> None:
    visit(page, server, mix="![a](http://a.invalid/a.png)")
    expect(page.get_by_test_id("stAlert")).to_contain_text(
        "The demo mix is shown: the page's address must hold"
    )
    expect(swatch(page, "Seen from afar")).to_have_text(area_mean(draft.demo()).srgb)
