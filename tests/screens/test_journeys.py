"""A maker followed from start to end in a real browser; .ci/run keeps the pictures of it."""

import re
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from pypdf import PdfReader

from blendlab.logbook import drafts
from blendlab.screens.parts import draft

from .browsing import DESK, PHONE, another, fill, picture, settled

pytestmark = pytest.mark.browser


class Counting:
    """A maker's hands, which count what they do."""

    def __init__(self, page: Page) -> None:
        self.page, self.fields, self.clicks = page, 0, 0

    def fill(self, label: str, value: str) -> None:
        self.fields += 1
        fill(self.page.get_by_role("textbox", name=label, exact=True), value)

    def choose(self, label: str, value: str) -> None:
        self.fields += 1
        field = self.page.get_by_role("combobox", name=label)
        field.scroll_into_view_if_needed()
        settled(self.page)  # a list of options closes where the page scrolls or grows
        field.click()
        self.page.get_by_role("option", name=value, exact=True).click()

    def click(self, name: str, role: str = "button") -> None:
        self.clicks += 1
        settled(self.page)  # a button that a run of the page draws anew may miss its click
        aim = self.page.get_by_role(role, name=name, exact=True)  # type: ignore[arg-type]
        aim.first.click()  # a row that moves up stands twice for a moment


@pytest.mark.parametrize("width", ["desk", "phone"])
def test_a_lively_tile_of_three_caps_from_its_size_over_its_cut_edge_to_its_card(
    context: BrowserContext, server: str, folder: Path, width: str
) -> None:
    drafts.clear(folder / "home", draft.PAGE)
    with another(context, f"three caps {width}", **(PHONE if width == "phone" else DESK)) as page:
        page.goto(f"{server}?{draft.ADDRESS}={draft._packed(draft.demo())}")
        hands = Counting(page)
        for side, mm in (("Length, mm", "150"), ("Width, mm", "150"), ("Thickness, mm", "8")):
            hands.fill(side, mm)
        for name in ("harbour blue", "marigold"):
            hands.click(f"Remove {name}")
        for name in ("letterbox red", "coal"):
            hands.click(name)
        for name, grams in (("milk-cap white", "140"), ("letterbox red", "75"), ("coal", "35")):
            hands.fill(f"Grams of {name}", grams)
        expect(page.get_by_text(re.compile(r"^Needs \d+ g with trim; you have 250 g\.$"))).to_be_visible()
        hands.choose("How mixed it should look", "streaks")
        hands.click("Edge", "radio")
        expect(picture(page, "Front face after")).to_be_visible()
        hands.click("Card for this sheet")
        card = picture(page, "Batch card of")
        expect(card).to_be_visible()
        expect(card).to_be_in_viewport(ratio=0.3)  # without looking for it
        assert hands.fields <= 7
        assert hands.clicks <= 6
        assert urlsplit(page.url).path == "/"
        with page.expect_download() as coming:
            page.get_by_role("button", name="PDF").click()
        assert coming.value.suggested_filename == "batch-card.pdf"
        (sheet,) = PdfReader(coming.value.path()).pages
        words = sheet.extract_text()
        for each in ("milk-cap white", "letterbox red", "coal", "150 × 150 × 8", "Hot plastic sticks"):
            assert each in words
