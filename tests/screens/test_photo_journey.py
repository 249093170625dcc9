"""From a photo of a past sheet over its match to the log, in a real browser."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from .browsing import fill, picture, settled, shoot, swatch, turn_to, visit

pytestmark = pytest.mark.browser

GRAMS = re.compile("^Grams")
SHEET = Path(__file__).resolve().parents[2] / "swatches" / "past-sheet.jpg"


def test_from_a_photo_over_its_match_to_the_log(page: Page, server: str, folder: Path) -> None:
    visit(page, server, "photo")
    page.locator("input[type=file]").first.set_input_files(SHEET)
    expect(page.get_by_role("button", name=re.compile("^upper left corner"))).to_have_text("1")
    for label in ("Length, mm", "Width, mm"):
        fill(page.get_by_role("textbox", name=label, exact=True), "60")
        settled(page)
    page.get_by_role("button", name="Match it").click()
    page.get_by_role("button", name="Stop", exact=True).click()
    expect(page.get_by_role("progressbar")).to_have_count(0)
    settled(page)
    expect(page.get_by_role("heading", name=re.compile("most likely"))).to_have_count(0)
    page.get_by_role("button", name="Match it").click()
    expect(page.get_by_role("heading", name=re.compile(r"^\d+ folds?, most likely"))).to_be_visible()
    settled(page)
    shoot(page, "log 1 match")
    fill(page.get_by_role("textbox", name="Mass of the sheet"), "180")
    settled(page)
    page.get_by_role("button", name="Use this recipe").click()
    settled(page)

    expect(page.get_by_text("The mix is now what the photo shows.")).to_be_visible()
    grams = page.get_by_role("textbox", name=GRAMS)
    assert sum(float(one.input_value()) for one in grams.all()) == pytest.approx(180, abs=0.5)
    blend = swatch(page, "Fully mixed").get_attribute("aria-label") or ""
    fill(grams.first, "30")
    expect(swatch(page, "Fully mixed")).not_to_have_attribute("aria-label", blend)
    settled(page)

    page.get_by_role("button", name="Pressed it", exact=True).click()
    page.get_by_role("button", name="Log it as pressed").click()
    expect(page.get_by_text(re.compile("^Logged"))).to_be_visible()
    settled(page)
    shoot(page, "log 2 pressed")
    turn_to(page, "log")
    expect(picture(page, "Predicted picture of from a photo")).to_be_visible()
    page.get_by_test_id("stBaseButton-tertiary").filter(has_text="Open").click()
    fill(page.get_by_role("textbox", name="Weight, g"), "171")
    page.get_by_role("textbox", name="Notes", exact=True).fill("paler at the rim")
    expect(page.get_by_text("Saved.")).to_have_count(0)  # Enter alone does not save
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved.")).to_be_visible()
    settled(page)
    notes = page.get_by_role("textbox", name="Notes", exact=True)
    expect(notes).to_have_count(1)  # the field before the save may be a moment in going
    expect(notes).to_have_value("paler at the rim")
    shoot(page, "log 3 log")
