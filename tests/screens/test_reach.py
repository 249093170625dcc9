"""The first page within reach: of a thumb on a phone, and of the keyboard alone, in a real browser."""

import re
from dataclasses import replace

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from blendlab.colour.means import full_blend

from .browsing import PHONE, another, picture, settled, shows_colour, visit
from .opening import STRIP

pytestmark = pytest.mark.browser

GRAMS = re.compile("^Grams")


def test_on_a_phone_all_is_within_three_screens_and_large_enough_for_a_thumb(
    context: BrowserContext, server: str
) -> None:
    """44 px is the size asked for by WCAG 2.2 (W3C 2023), 2.5.5."""
    with another(context, "phone", **PHONE) as page:
        visit(page, server, mix=STRIP)
        expect(page.locator(".st-key-pages")).to_have_css("position", "fixed")  # the style has come
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
            assert box["y"] + box["height"] < 3 * PHONE["viewport"]["height"], name
        grams = page.get_by_role("textbox", name="Grams of harbour blue")
        grams.scroll_into_view_if_needed()
        expect(picture(page, "Top face after 3 folds")).to_be_in_viewport(ratio=0.9)  # stuck to the top


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
  const answered = () => new Promise(done => setTimeout(done));  // a frame would have to be painted
  const focused = chain.map(looks);
  at.blur();
  await answered();
  const plain = chain.map(looks);
  at.focus({focusVisible: true, preventScroll: true});
  await answered();
  return focused.some((look, n) => look !== plain[n]) ? '' : at.outerHTML.slice(0, 200);
}"""
