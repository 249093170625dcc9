"""Makers followed from start to end in a real browser; .ci/run keeps the pictures of it."""

import re
from dataclasses import replace
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from pypdf import PdfReader

from blendlab.colour.means import full_blend
from blendlab.logbook import drafts
from blendlab.recipe.recipe import Flake
from blendlab.screens.parts import draft

from .browsing import (
    DESK,
    PATIENCE_S,
    PHONE,
    fill,
    free_port,
    picture,
    serving,
    settled,
    shoot,
    shows_colour,
    swatch,
    turn_to,
    visit,
    watched,
)
from .opening import STRIP

pytestmark = pytest.mark.browser

GRAMS = re.compile("^Grams")
SHEET = Path(__file__).resolve().parents[2] / "swatches" / "past-sheet.jpg"


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
        aim = self.page.get_by_role(role, name=name, exact=True)  # type: ignore[arg-type]
        aim.first.click()  # a row that moves up stands twice for a moment


@pytest.mark.parametrize("width", ["desk", "phone"])
def test_a_lively_tile_of_three_caps_from_its_size_over_its_cut_edge_to_its_card(
    context: BrowserContext, server: str, folder: Path, width: str
) -> None:
    drafts.clear(folder / "home", draft.PAGE)
    assert context.browser
    phone = {"viewport": PHONE, "has_touch": True, "is_mobile": True}
    made = context.browser.new_context(
        reduced_motion="reduce", **(phone if width == "phone" else {"viewport": DESK})
    )  # type: ignore[arg-type]
    made.set_default_timeout(PATIENCE_S * 1000)
    with watched(made, f"three caps {width}") as page:
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
    made.close()


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
    expect(page.get_by_role("heading", name=re.compile(r"^\d+ folds, most likely"))).to_be_visible()
    settled(page)
    shoot(page, "log 1 match")
    fill(page.get_by_role("textbox", name="Total grams"), "180")
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


def test_work_is_there_again_after_a_refresh_a_restart_and_apart_in_a_second_tab(
    context: BrowserContext, tmp_path: Path
) -> None:
    port = free_port()
    with serving(tmp_path, port) as server, watched(context, "first tab") as first:
        visit(first, server, mix=STRIP)
        weigh(first, 44)
        first.reload()
        shows(first, 44)
        with watched(context, "second tab") as second:
            visit(second, server)  # goes on where the first one stands
            shows(second, 44)
            weigh(second, 12)
        first.get_by_role("button", name="rose", exact=True).click()
        shows(first, 44, flakes=3)
    with serving(tmp_path, port) as server, watched(context, "after the restart") as again:
        visit(again, server)
        shows(again, 44, flakes=3)


def test_the_first_edit_after_a_restart_with_the_page_open_counts(
    context: BrowserContext, tmp_path: Path
) -> None:
    port = free_port()
    with watched(context, "before the restart") as page:
        with serving(tmp_path, port) as server:
            visit(page, server, mix=STRIP)
            page.get_by_role("button", name="rose", exact=True).click()
            page.get_by_role("button", name="Remove chalk white").click()
            expect(page.get_by_role("textbox", name=GRAMS)).to_have_count(2)
            settled(page)
        with serving(tmp_path, port):
            page.wait_for_timeout(6_000)  # the page finds the new server by itself
            fill(page.get_by_role("textbox", name=GRAMS).first, "12,5")
            blue = replace(STRIP.flakes[1], grams=12.5)
            mix = replace(STRIP, flakes=(blue, Flake("rose", "#e39aa6", 20.0)))
            shows_colour(page, "Fully mixed", full_blend(mix).srgb)
            expect(page.get_by_text("blendlab was started again while this page was open")).to_be_visible()
            settled(page)
            expect(page.get_by_role("textbox", name=GRAMS).first).to_have_value("12,5")
            page.get_by_role("button", name="Card for this sheet").click()
            expect(page.get_by_role("textbox", name="Trim per edge, mm")).to_be_visible()
            settled(page)
        with serving(tmp_path, port):
            page.wait_for_timeout(6_000)
            fill(page.get_by_role("textbox", name="Trim per edge, mm"), "3,5")
            expect(page.get_by_text("blendlab was started again while this page was open")).to_be_visible()
            settled(page)
            expect(page.get_by_role("textbox", name="Trim per edge, mm")).to_have_value("3,5")
            page.reload()
            settled(page)
            page.get_by_role("button", name="Card for this sheet").click()
            expect(page.get_by_role("textbox", name="Trim per edge, mm")).to_have_value("3.5")


def weigh(page: Page, grams: int) -> None:
    """Change the first flake's grams and wait for the mean they make."""
    fill(page.get_by_role("textbox", name=GRAMS).first, str(grams))
    mix = replace(STRIP, flakes=(replace(STRIP.flakes[0], grams=float(grams)), STRIP.flakes[1]))
    shows_colour(page, "Fully mixed", full_blend(mix).srgb)
    settled(page)


def shows(page: Page, grams: int, flakes: int = 2) -> None:
    """Find the first flake's grams on the page, and as many flakes."""
    fields = page.get_by_role("textbox", name=GRAMS)
    expect(fields).to_have_count(flakes)
    expect(fields.first).to_have_value(str(grams))
    settled(page)


def test_on_a_phone_all_is_within_three_screens_and_large_enough_for_a_thumb(
    context: BrowserContext, server: str
) -> None:
    """44 px is the size asked for by WCAG 2.2 (W3C 2023), 2.5.5."""
    assert context.browser
    phone = context.browser.new_context(
        viewport=PHONE, has_touch=True, is_mobile=True, reduced_motion="reduce"
    )  # type: ignore[arg-type]
    phone.set_default_timeout(PATIENCE_S * 1000)
    with watched(phone, "phone") as page:
        visit(page, server, mix=STRIP)
        expect(page.locator(".st-key-present").get_by_role("link", name="Make")).to_be_in_viewport()
        small = page.evaluate(SMALL)
        assert not small
        for role, name in (
            ("button", "Card for this sheet"),
            ("button", "3 folds, shown large"),
            ("textbox", "Thickness, mm"),
            ("textbox", "Grams of harbour blue"),
            ("button", "letterbox red"),
            ("radio", "half"),
        ):
            box = page.get_by_role(role, name=name, exact=True).bounding_box()  # type: ignore[arg-type]
            assert box
            assert box["y"] + box["height"] < 3 * PHONE["height"], name
        grams = page.get_by_role("textbox", name="Grams of harbour blue")
        grams.scroll_into_view_if_needed()
        expect(picture(page, "Top face after 3 folds")).to_be_in_viewport(ratio=0.9)  # stuck to the top
    phone.close()


# What is tapped and is lower than 44 px; a hair of it may be lost to rounding.
SMALL = """() => [...document.querySelectorAll(
    "[data-testid=stMain] :is(button, summary, input[type=text], [role=combobox]), .st-key-pages a")]
  .filter(one => one.checkVisibility() && !one.closest('.st-key-note, [data-testid=stTooltipIcon]'))
  .map(one => [one, (one.closest('[data-testid=stTextInputRootElement]') ?? one).getBoundingClientRect()])
  .filter(([, box]) => box.height > 0 && box.height < 43.5)
  .map(([one, box]) => `${box.height} ${one.outerHTML.slice(0, 160)}`)"""


def test_by_keyboard_alone(page: Page, server: str) -> None:
    visit(page, server, mix=STRIP)
    page.add_style_tag(content="* {transition: none !important}")  # a look in between is neither
    reach(page, "textbox", GRAMS)
    page.keyboard.press("Control+a")
    page.keyboard.type("5")
    page.keyboard.press("Enter")
    flakes = (replace(STRIP.flakes[0], grams=5.0), STRIP.flakes[1])
    shows_colour(page, "Fully mixed", full_blend(replace(STRIP, flakes=flakes)).srgb)
    settled(page)
    reach(page, "button", "5 folds")
    page.keyboard.press("Enter")
    expect(picture(page, "Top face after 5 folds")).to_be_visible()
    settled(page)
    assert page.evaluate("document.activeElement.innerText") == "5 folds, shown large"
    page.evaluate("document.activeElement.blur()")
    reach(page, "radio", "Top")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Space")
    expect(picture(page, "Bottom face after")).to_be_visible()


def reach(page: Page, role: str, name: str | re.Pattern[str]) -> None:
    """Press Tab until a control has the focus, which must be seen wherever it stands on the way."""
    aim = page.get_by_role(role, name=name).first  # type: ignore[arg-type]
    for _ in range(100):
        if aim.evaluate("one => one === document.activeElement || one.contains(document.activeElement)"):
            return
        page.keyboard.press("Tab")
        unseen = page.evaluate(UNSEEN)
        assert not unseen, f"no focus to be seen on {unseen}"
    pytest.fail(f"Tab never comes to {role} {name}")


# The focused element where neither it nor what it stands in differs in outline, shadow, frame or ground.
UNSEEN = """async () => {
  const at = document.activeElement;
  if (at === document.body) return '';
  const shown = ['outline', 'boxShadow', 'borderColor', 'backgroundColor', 'textDecoration', 'opacity'];
  const looks = (one) => shown.map(what => getComputedStyle(one)[what]).join('|');
  const chain = [at, ...at.querySelectorAll('*')];
  for (let one = at.parentElement, n = 0; one && n < 4; one = one.parentElement, n++) chain.push(one);
  const drawn = () => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)));
  const focused = chain.map(looks);
  at.blur();
  await drawn();
  const plain = chain.map(looks);
  at.focus({focusVisible: true, preventScroll: true});
  await drawn();
  return focused.some((look, n) => look !== plain[n]) ? '' : at.outerHTML.slice(0, 200);
}"""
