"""The clock for the press as a maker sees and hears it, on steps of a few seconds."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from blendlab.logbook import drafts
from blendlab.screens.parts import press_clock_view
from blendlab.workshop.press_clock import PressClock, TimedStep

from .browsing import visit
from .opening import STRIP

pytestmark = pytest.mark.browser

STEPS = (TimedStep("Melt it", 1.0), TimedStep("Fold it", 3.0), TimedStep("Press it", 3600.0))
LISTENING = """
window.rung = 0;
document.addEventListener("playing", () => window.rung++, true);
"""

# Read across a room; asked of the page, for the digits are drawn anew each second.
LARGE = "parseFloat(getComputedStyle(document.querySelector('[role=timer]')).fontSize) >= 72"


def rings(page: Page) -> None:
    """Wait until the sound has started, and forget it."""
    page.wait_for_function("window.rung > 0")
    page.evaluate("window.rung = 0")


@pytest.fixture
def kept_clock(folder: Path) -> Iterator[None]:
    """A clock that waits for its start."""
    drafts.save(folder / "home", press_clock_view.PAGE, PressClock(STEPS).to_text())
    yield
    drafts.clear(folder / "home", press_clock_view.PAGE)


@pytest.mark.usefixtures("kept_clock")
def test_each_step_is_seen_heard_and_survives_a_refresh(page: Page, server: str) -> None:
    page.add_init_script(LISTENING)
    visit(page, server, mix=STRIP)
    page.get_by_role("button", name="Card for this sheet").click()
    digits = page.get_by_role("timer")
    page.get_by_role("button", name="Start", exact=True).click()
    expect(digits).to_be_visible()
    page.wait_for_function(LARGE)
    expect(digits).to_contain_text("over")
    rings(page)
    page.get_by_role("button", name="Next step").click()
    expect(page.get_by_text("Fold it", exact=True)).to_be_visible()
    expect(page.locator("audio")).to_have_count(0)
    expect(digits).to_contain_text("over")
    rings(page)
    page.get_by_role("button", name="Next step").click()
    expect(digits).to_contain_text("59:")
    page.reload()
    expect(page.get_by_text("Press it", exact=True)).to_be_visible()
    expect(digits).to_contain_text("59:")  # from its start, not anew
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.get_by_text("All steps are done.")).to_be_visible()
