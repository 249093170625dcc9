"""Makers followed from start to end in a real browser; .ci/run keeps the pictures of it."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from pypdf import PdfReader

from blendlab.colour.means import full_blend
from blendlab.recipe.recipe import Flake

from .browsing import (
    PHONE,
    fill,
    free_port,
    picture,
    serving,
    settled,
    shoot,
    source,
    swatch,
    turn_to,
    visit,
    watched,
)
from .opening import STRIP

pytestmark = pytest.mark.browser

GRAMS = re.compile("^Grams")
SHEET = Path(__file__).resolve().parents[2] / "swatches" / "past-sheet.jpg"


def test_from_a_new_mix_over_a_saw_cut_to_the_printed_card(page: Page, server: str) -> None:
    visit(page, server, mix=STRIP)
    page.get_by_role("button", name="Add a flake").click()
    expect(page.get_by_role("textbox", name=GRAMS)).to_have_count(3)
    fill(page.get_by_role("textbox", name="Name", exact=True).last, "yard red")
    fill(page.get_by_role("textbox", name=GRAMS).last, "8")
    mix = replace(STRIP, flakes=(*STRIP.flakes, Flake("yard red", "#2b3a4a", 8.0)))
    expect(swatch(page, "Fully mixed")).to_have_text(full_blend(mix).srgb)
    settled(page)
    shoot(page, "card 1 mix")

    turn_to(page, "folds")
    page.get_by_role("button", name=re.compile("^5 · ")).click()
    expect(picture(page, "Top face after 5 folds")).to_be_visible()
    page.get_by_role("radio", name="Bottom").click()
    expect(picture(page, "Bottom face after 5 folds")).to_be_visible()
    page.get_by_role("radio", name="Sawn").click()
    cut = picture(page, "Saw cut after 5 folds")
    expect(cut).to_be_visible()
    settled(page)
    straight = source(cut)
    page.get_by_role("slider", name="Turned, degrees").press("ArrowRight")
    expect(cut).not_to_have_attribute("src", straight)
    shoot(page, "card 2 saw cut")

    turn_to(page, "")
    for label, value in (("Length, mm", "80"), ("Width, mm", "60")):
        fill(page.get_by_role("textbox", name=label, exact=True), value)
        settled(page)
    turn_to(page, "batch")
    expect(picture(page, "Batch card of")).to_be_visible()
    settled(page)
    with page.expect_download() as coming:
        page.get_by_role("button", name="PDF").click()
    assert coming.value.suggested_filename == "batch-card.pdf"
    (sheet,) = PdfReader(coming.value.path()).pages
    card = sheet.extract_text()
    for words in (
        STRIP.name,
        *(flake.name for flake in mix.flakes),
        "80 × 60 × 5.1 mm",
        "Hot plastic sticks",
    ):
        assert words in card
    shoot(page, "card 3 batch")


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

    turn_to(page, "")
    shares = page.locator(".share b").all_inner_texts()
    assert sum(float(share.rstrip("%")) for share in shares) == pytest.approx(100, abs=0.3)
    grams = page.get_by_role("textbox", name=GRAMS)
    assert sum(float(one.input_value()) for one in grams.all()) == pytest.approx(180, abs=0.5)
    blend = swatch(page, "Fully mixed").inner_text()
    fill(grams.first, "30")
    expect(swatch(page, "Fully mixed")).not_to_have_text(blend)
    settled(page)

    turn_to(page, "batch")
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
        first.get_by_role("button", name="Add a flake").click()
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
            page.get_by_role("button", name="Add a flake").click()
            page.get_by_role("button", name="Remove chalk white").click()
            expect(page.get_by_role("textbox", name=GRAMS)).to_have_count(2)
            settled(page)
        with serving(tmp_path, port):
            page.wait_for_timeout(6_000)  # the page finds the new server by itself
            fill(page.get_by_role("textbox", name=GRAMS).first, "12,5")
            blue = replace(STRIP.flakes[1], grams=12.5)
            mix = replace(STRIP, flakes=(blue, Flake("flake 1", "#2b3a4a", 20.0)))
            expect(swatch(page, "Fully mixed")).to_have_text(full_blend(mix).srgb)
            expect(page.get_by_text("blendlab was started again while this page was open")).to_be_visible()
            settled(page)
            expect(page.get_by_role("textbox", name=GRAMS).first).to_have_value("12,5")
            turn_to(page, "batch")
        with serving(tmp_path, port):
            page.wait_for_timeout(6_000)
            fill(page.get_by_role("textbox", name="Trim per edge, mm"), "3,5")
            expect(page.get_by_text("blendlab was started again while this page was open")).to_be_visible()
            settled(page)
            expect(page.get_by_role("textbox", name="Trim per edge, mm")).to_have_value("3,5")
            page.reload()
            settled(page)
            expect(page.get_by_role("textbox", name="Trim per edge, mm")).to_have_value("3.5")


def weigh(page: Page, grams: int) -> None:
    """Change the first flake's grams and wait for the mean they make."""
    fill(page.get_by_role("textbox", name=GRAMS).first, str(grams))
    mix = replace(STRIP, flakes=(replace(STRIP.flakes[0], grams=float(grams)), STRIP.flakes[1]))
    expect(swatch(page, "Fully mixed")).to_have_text(full_blend(mix).srgb)
    settled(page)


def shows(page: Page, grams: int, flakes: int = 2) -> None:
    """Find the first flake's grams on the page, and as many flakes."""
    fields = page.get_by_role("textbox", name=GRAMS)
    expect(fields).to_have_count(flakes)
    expect(fields.first).to_have_value(str(grams))
    settled(page)


def test_on_a_phone_by_touch(context: BrowserContext, server: str) -> None:
    assert context.browser
    phone = context.browser.new_context(
        viewport=PHONE, has_touch=True, is_mobile=True, reduced_motion="reduce"
    )  # type: ignore[arg-type]
    with watched(phone, "phone") as page:
        visit(page, server, mix=STRIP)
        strip = page.locator(".st-key-pages")
        strip.get_by_role("link", name="Folds", exact=True).tap()
        page.get_by_role("button", name=re.compile("^6 · ")).tap()
        expect(picture(page, "Top face after 6 folds")).to_be_visible()
        page.get_by_role("radio", name="Back").tap()
        expect(picture(page, "Back face after 6 folds")).to_be_visible()
        settled(page)
        strip.get_by_role("link", name="Flakes", exact=True).tap()
        page.get_by_role("button", name="Add a flake").tap()
        expect(page.get_by_role("textbox", name=GRAMS)).to_have_count(3)
        settled(page)
    phone.close()


def test_by_keyboard_alone(page: Page, server: str) -> None:
    visit(page, server, mix=STRIP)
    page.add_style_tag(content="* {transition: none !important}")  # a look in between is neither
    reach(page, "textbox", GRAMS)
    page.keyboard.press("Control+a")
    page.keyboard.type("5")
    page.keyboard.press("Enter")
    flakes = (replace(STRIP.flakes[0], grams=5.0), STRIP.flakes[1])
    expect(swatch(page, "Fully mixed")).to_have_text(full_blend(replace(STRIP, flakes=flakes)).srgb)
    settled(page)
    page.evaluate("document.activeElement.blur()")
    reach(page, "link", "Folds")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Folds", level=1)).to_be_visible()
    settled(page)
    reach(page, "slider", "How mixed")
    page.keyboard.press("ArrowRight")
    expect(page.get_by_text(re.compile(r"^(Fold|Try) .* (look|call) clouded"))).to_be_visible()
    settled(page)
    reach(page, "button", re.compile(r"^Take \d+ fold"))
    words = page.evaluate("document.activeElement.innerText")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name=f"After {words.split()[1]} folds")).to_be_visible()
    reach(page, "radio", "Top")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Space")
    expect(picture(page, "Bottom face after")).to_be_visible()


def reach(page: Page, role: str, name: str | re.Pattern[str]) -> None:
    """Press Tab until a control has the focus, which must be seen wherever it stands on the way."""
    aim = page.get_by_role(role, name=name).first  # type: ignore[arg-type]
    for _ in range(80):
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
