"""What only a real browser shows: pictures that change, files that come down, markup that stays text."""

import re
from collections.abc import Iterator
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image, ImageCms
from playwright.sync_api import BrowserContext, Page, expect

from blendlab.colour.means import area_mean, full_blend
from blendlab.logbook import drafts
from blendlab.recipe.recipe import Recipe
from blendlab.screens.pages import MOVED
from blendlab.screens.parts import draft

from .browsing import (
    DESK,
    PAGES,
    PHONE,
    another,
    fill,
    picture,
    settled,
    shows_colour,
    source,
    visit,
    watched,
)
from .opening import HOSTILE, STRIP

pytestmark = pytest.mark.browser


def with_grams(recipe: Recipe, first: float) -> Recipe:
    return replace(recipe, flakes=(replace(recipe.flakes[0], grams=first), *recipe.flakes[1:]))


@pytest.fixture(scope="module")
def opened(context: BrowserContext, server: str, folder: Path) -> Iterator[Page]:
    """A page that several tests use, one after the other."""
    drafts.clear(folder / "home", draft.PAGE)
    with watched(context, "strip") as page:
        visit(page, server, mix=STRIP)
        yield page


@pytest.fixture
def strip(opened: Page) -> Page:
    """That page, with the grams that it was opened with."""
    for field, flake in zip(opened.get_by_role("textbox", name="Grams").all(), STRIP.flakes, strict=True):
        if field.input_value() != f"{flake.grams:g}":
            fill(field, f"{flake.grams:g}")
    shows_colour(opened, "Fully mixed", full_blend(STRIP).srgb)
    settled(opened)
    return opened


def test_it_opens_on_the_demo_and_grams_move_the_mean_and_the_sheet(page: Page, server: str) -> None:
    visit(page, server)
    shows_colour(page, "Average before mixing", area_mean(draft.demo()).srgb)
    name = page.get_by_role("textbox", name="Name of milk-cap white")
    expect(name).to_have_value(draft.demo().flakes[0].name)
    sheet = picture(page, "Top face after")
    before = source(sheet)
    fill(page.get_by_role("textbox", name="Grams").first, "20")
    less = with_grams(draft.demo(), 20.0)
    shows_colour(page, "Average before mixing", area_mean(less).srgb)
    shows_colour(page, "Fully mixed", full_blend(less).srgb)
    expect(sheet).not_to_have_attribute("src", before)


def test_two_fields_filled_before_the_page_has_answered_both_count(strip: Page) -> None:
    first, second = strip.get_by_role("textbox", name="Grams").all()
    first.fill("21")
    second.fill("17")  # takes the first one over by leaving it, in the midst of which it is typed
    second.press("Enter")
    flakes = (replace(STRIP.flakes[0], grams=21.0), replace(STRIP.flakes[1], grams=17.0))
    shows_colour(strip, "Fully mixed", full_blend(replace(STRIP, flakes=flakes)).srgb)
    settled(strip)
    expect(first).to_have_value("21")
    expect(second).to_have_value("17")


def test_what_cannot_be_pressed_is_reported_beside_the_field(strip: Page) -> None:
    sheet = picture(strip, "Top face after")
    before = source(sheet)
    fill(strip.get_by_role("textbox", name="Grams").last, "0")
    alert = strip.get_by_test_id("stAlert")
    expect(alert).to_have_text(re.compile("^grams for 'harbour blue' must be a number above 0, got 0"))
    settled(strip)
    assert source(sheet) == before
    fill(strip.get_by_role("textbox", name="Grams").last, "10")
    expect(alert).to_have_count(0)


def test_a_german_browser_reads_a_decimal_comma(context: BrowserContext, server: str) -> None:
    with another(context, "de-DE", locale="de-DE", **DESK) as page:
        visit(page, server, mix=STRIP)
        for typed in ("12,5", "12.5"):
            first = page.get_by_role("textbox", name="Grams").first
            first.click()
            page.keyboard.press("Control+a")
            page.keyboard.type(typed)
            page.keyboard.press("Enter")
            shows_colour(page, "Fully mixed", full_blend(with_grams(STRIP, 12.5)).srgb)
            settled(page)
            expect(first).to_have_value(typed)


def test_the_tiles_follow_the_mix_and_a_picture_has_its_true_size(strip: Page) -> None:
    tiles = strip.get_by_role("img", name=re.compile(r"^\d+ folds?, "))
    expect(tiles).to_have_count(11)
    before = [source(tile) for tile in tiles.all()]
    assert len(set(before)) == 11
    fill(strip.get_by_role("textbox", name="Grams").first, "5")
    shows_colour(strip, "Fully mixed", full_blend(with_grams(STRIP, 5.0)).srgb)
    settled(strip)
    assert {source(tile) for tile in tiles.all()}.isdisjoint(before)
    strip.get_by_text("Numbers", exact=True).click()
    with strip.expect_download() as coming:
        strip.get_by_role("button", name="Download the picture").click()
    assert coming.value.suggested_filename == "top-3-folds.png"
    with Image.open(coming.value.path()) as found:
        assert (found.format, found.mode, found.size) == ("PNG", "RGB", (320, 80))
        # 4 pixels a hot mm, 0.973 mm cold. A PNG states whole pixels per metre, and half of one is 0.013 dpi.
        assert found.info["dpi"] == pytest.approx((101.6 / 0.973,) * 2, abs=0.013)
        profile = ImageCms.ImageCmsProfile(BytesIO(found.info["icc_profile"]))
        assert "sRGB" in ImageCms.getProfileDescription(profile)
        found.load()


def test_the_curves_of_a_flake_are_painted_in_the_colour_of_the_words_around_them(strip: Page) -> None:
    """A popover lies outside the part of the page that has the inks of the theme."""
    numbers = strip.get_by_role("switch", name="Numbers")
    if not numbers.is_checked():
        strip.get_by_text("Numbers", exact=True).click()
    strip.get_by_role("button", name="How opaque chalk white is").click()
    curve = strip.locator("#stFloatingOverlayPortal svg").locator(".mark-line path").first
    words = strip.get_by_text("K: light absorbed").evaluate("words => getComputedStyle(words).color")
    expect(curve).to_have_css("stroke", words)
    strip.keyboard.press("Escape")
    expect(curve).to_have_count(0)
    numbers.uncheck(force=True)


# Words of charts that their picture cuts off, and numbers in tables that take more than one line.
CUT_OFF = """() => [...document.querySelectorAll("svg.marks text")].filter(words =>
  words.getBoundingClientRect().right > words.closest("svg").getBoundingClientRect().right + 1)
  .map(words => words.textContent)"""
BROKEN = """() => [...document.querySelectorAll(".rows td.number")].filter(cell => {
  const range = document.createRange();
  range.selectNodeContents(cell);
  return range.getClientRects().length > 1;
}).map(cell => cell.innerText)"""


def test_on_a_phone_strips_show_that_they_go_on_and_nothing_is_cut_off(
    context: BrowserContext, server: str
) -> None:
    with another(context, "phone strips", **PHONE) as page:
        visit(page, server, mix=STRIP.with_folding(folds=5))
        for key in ("strip", "flakes_at_hand"):
            strip = page.locator(f".st-key-{key}")
            assert strip.evaluate("strip => strip.scrollWidth > strip.clientWidth")
            expect(strip).to_have_css("mask-image", re.compile("linear-gradient"))
        ends = [page.locator(f".st-key-{key}").bounding_box() for key in ("fold5", "strip")]
        chosen, strip_ends = (box["x"] + box["width"] for box in ends if box)
        assert chosen <= strip_ends - 32  # clear of the fade
        toggle = page.locator("[data-testid=stCheckbox] label", has_text="Keep the proportions")
        middles = toggle.locator("> *").evaluate_all(
            "parts => parts.map(part => part.getBoundingClientRect()).filter(box => box.height > 4)"
            ".map(box => box.top + box.height / 2)"
        )
        assert max(middles) - min(middles) < 3
        page.get_by_role("button", name="Card for this sheet").click()
        settled(page)
        for part in ("Step by step", "How hot, how long", "Does it close, last and stay flat"):
            page.get_by_text(part, exact=True).click()
            settled(page)
        expect(page.get_by_text("Step by step", exact=True)).to_have_count(1)
        expect(page.locator("svg.marks")).to_have_count(3)
        assert not page.evaluate(BROKEN)
        page.wait_for_function(f"() => !({CUT_OFF})().length")


@pytest.mark.parametrize("old", MOVED)
def test_an_old_address_leads_on_to_the_first_page_with_its_mix(page: Page, server: str, old: str) -> None:
    page.goto(f"{server}/{old}?{draft.ADDRESS}={draft._packed(STRIP)}")
    expect(page.get_by_role("heading", name=PAGES[""], level=1)).to_be_visible()
    expect(page.get_by_role("textbox", name="Name of chalk white")).to_be_visible()


def test_markup_in_names_is_text_in_messages_and_tooltips(page: Page, server: str) -> None:
    """What stands on the pages themselves is looked at in test_screen_reading.py, with the same names."""
    visit(page, server, mix=HOSTILE)
    names = [flake.name for flake in HOSTILE.flakes]
    for grams, name in zip(page.get_by_role("textbox", name="Grams").all(), names, strict=True):
        fill(grams, "0")
        expect(page.get_by_test_id("stAlert").filter(has_text=name)).to_be_visible()
    for button, name in zip(
        page.get_by_role("button", name=re.compile("^Remove ")).all(), names, strict=True
    ):
        button.hover()
        expect(page.get_by_role("tooltip")).to_have_text(f"Remove {name}")
    assert page.locator("img[src*=invalid]").count() == 0


def test_long_work_shows_how_far_it_is_and_can_be_stopped(page: Page, server: str) -> None:
    mix = draft.demo().with_folding(seed=77)  # which no other test has worked out
    page.goto(f"{server}/?{draft.ADDRESS}={draft._packed(mix)}")
    page.get_by_role("button", name="Ask four more sheets").click()
    page.get_by_role("button", name="Stop", exact=True).click()
    expect(page.get_by_text("Stopped before it finished.")).to_be_visible()
    settled(page)
    expect(page.get_by_role("progressbar")).to_have_count(0)
    done = page.get_by_role("img", name=re.compile(r"^\d+ folds?, "))
    expect(done).to_have_count(11)  # what was done stays
    page.get_by_role("button", name="Go on").click()
    expect(page.get_by_role("button", name="Stop", exact=True)).to_be_visible()
