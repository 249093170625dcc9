import functools
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from streamlit.components.v2 import manifest_scanner

from blendlab.logbook import drafts
from blendlab.look import ladder
from blendlab.look.view import SurfaceSpec
from blendlab.recipe.recipe import Recipe
from blendlab.screens.parts import cache, draft
from blendlab.workshop import predicted_sheet

from .browsing import DESK, PATIENCE_S, serving, watched
from .quick_server import SMALL_PX, SMALLER

# No name of a host means anything to this browser: the network is closed.
QUIET = (
    "--no-sandbox --disable-gpu --disable-background-networking --no-first-run "
    "--disable-component-update --disable-sync"
)
CLOSED = "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"
# Two pages of suggestions, which every window would load, after what Playwright turns off itself.
WITHOUT = (
    "--disable-features=AvoidUnnecessaryBeforeUnloadCheckSync,DestroyProfileOnBrowserClose,HttpsUpgrades,"
    "LensOverlay,MediaRouter,PaintHolding,ThirdPartyStoragePartitioning,OptimizationHints,"
    "WebUIOmniboxPopup,WebUIOmniboxAimPopup"
)
BRIEF = "--js-flags=--no-maglev --no-turbofan"  # a page lives for seconds: optimising its code takes longer


@pytest.fixture(autouse=True, scope="package")
def small_tiles() -> Iterator[None]:
    """Small tiles, sketches and views in this process: the same pages in a fraction of the time."""
    view = cache.view

    def small(recipe: Recipe, px: int, asked: SurfaceSpec = cache.TOP) -> cache.Shown:
        return view(recipe, px // SMALLER, asked)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cache, "view", small)
        patch.setattr(cache, "SKETCH_PX", SMALL_PX)
        patch.setattr(ladder, "TILE_PX", SMALL_PX)
        patch.setattr(predicted_sheet, "PICTURE_PX", SMALL_PX)
        # Each app opened in this process would read what every installed package says of itself.
        patch.setattr(
            manifest_scanner,
            "scan_component_manifests",
            functools.cache(manifest_scanner.scan_component_manifests),
        )
        yield


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder for log, stock and drafts of each test's own: a test must never touch the maker's."""
    folder = tmp_path / "home"
    monkeypatch.setenv("BLENDLAB_HOME", str(folder))
    return folder


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("server")


@pytest.fixture(scope="session")
def server(folder: Path) -> Iterator[str]:
    """Address of the app on a server that all browser tests share, with no flakes entered at first."""
    with serving(folder) as address:
        yield address


@pytest.fixture(scope="session")
def browser(browser_path: str) -> Iterator[Browser]:
    expect.set_options(timeout=PATIENCE_S * 1000)
    with sync_playwright() as tools:
        settings = [*QUIET.split(), CLOSED, WITHOUT, BRIEF]
        launched = tools.chromium.launch(executable_path=browser_path, args=settings)
        yield launched
        launched.close()


@pytest.fixture(scope="module")
def context(browser: Browser) -> Iterator[BrowserContext]:
    made = browser.new_context(reduced_motion="reduce", **DESK)  # type: ignore[arg-type]
    made.set_default_timeout(PATIENCE_S * 1000)
    yield made
    made.close()


@pytest.fixture
def page(context: BrowserContext, folder: Path, request: pytest.FixtureRequest) -> Iterator[Page]:
    """An empty page, and nothing that another test left unfinished."""
    drafts.clear(folder / "home", draft.PAGE)
    with watched(context, request.node.name) as made:
        yield made
