"""The app's server asked to end (SIGTERM) while a maker downloads or saves: both end whole."""

import zipfile
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import BrowserContext

from blendlab.io.pictures import png_bytes
from blendlab.logbook import restore, sheet_log
from blendlab.logbook.sheet_log import LoggedSheet

from .browsing import serving, visit, watched
from .opening import STRIP

pytestmark = pytest.mark.browser


def seeded(home: Path) -> LoggedSheet:
    """A log whose ZIP is of some megabytes."""
    noise = np.random.default_rng(1).integers(0, 256, (1000, 1000, 3), dtype=np.uint8)
    return sheet_log.record(
        home, LoggedSheet(date(2026, 3, 14), STRIP, notes="calm"), photo=png_bytes(noise, 4)
    )


def test_a_download_under_way_comes_whole(context: BrowserContext, tmp_path: Path) -> None:
    kept = seeded(tmp_path / "home")
    with watched(context, "download during the end") as page:
        with serving(tmp_path) as server:
            visit(page, server, "log")
            page.get_by_role("button", name="Gather everything").click()
            with page.expect_download() as coming:
                page.get_by_role("button", name="Save the ZIP").click()
        with zipfile.ZipFile(coming.value.path()) as found:
            assert found.testzip() is None
        with Path(coming.value.path()).open("rb") as file:
            restore.import_from(tmp_path / "new", file)
    assert sheet_log.search(tmp_path / "new") == sheet_log.search(tmp_path / "home") == (kept,)


def test_a_save_under_way_is_kept_whole_or_not_at_all(context: BrowserContext, tmp_path: Path) -> None:
    kept = seeded(tmp_path / "home")
    with watched(context, "save during the end") as page, serving(tmp_path) as server:
        visit(page, server, "log")
        page.get_by_test_id("stMain").get_by_text("Open", exact=True).click()
        page.get_by_label("Notes", exact=True).fill("lively")
        page.get_by_test_id("stFormSubmitButton").get_by_role("button").click()
    (found,) = sheet_log.search(tmp_path / "home")
    assert found.notes in ("calm", "lively")
    assert sheet_log.get(tmp_path / "home", kept.uid) == found
    assert [path.suffix for path in (tmp_path / "home" / "photos").iterdir()] == [".jpg"]
