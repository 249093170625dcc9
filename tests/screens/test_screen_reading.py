"""Every page on a desk and a phone, by day and by night: it stands, nothing hangs over, all of it reads."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from blendlab.logbook import drafts
from blendlab.screens.pages import SHOWN
from blendlab.screens.parts import draft

from .browsing import DESK, PAGES, PHONE, settled, shoot, turn_to, visit, watched
from .opening import APP, HOSTILE

pytestmark = pytest.mark.browser

LEAST = 4.5  # text against what it stands on, WCAG 2.2 (W3C 2023), 1.4.3; asked of large text too
# Contrast of all text in sight. Relative luminance and the ratio (L1 + 0.05) / (L2 + 0.05) as WCAG 2.2
# defines them, its threshold as corrected in 2021; half-clear colours and opacities laid over each other.
# Disabled controls are exempt there. Text on a picture counts as failing: no colour is safe on it.
READ = """() => {
  const pen = new OffscreenCanvas(1, 1).getContext('2d', {willReadFrequently: true});
  const known = new Map();
  const rgba = (css) => {
    if (!known.has(css)) {
      pen.clearRect(0, 0, 1, 1);
      pen.fillStyle = css;
      pen.fillRect(0, 0, 1, 1);
      known.set(css, [...pen.getImageData(0, 0, 1, 1).data].map(part => part / 255));
    }
    return known.get(css);
  };
  const luminance = (colour) => colour.slice(0, 3)
    .map(part => part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4)
    .reduce((sum, part, n) => sum + part * [0.2126, 0.7152, 0.0722][n], 0);
  const over = (top, ground) => [0, 1, 2].map(n => top[n] * top[3] + ground[n] * (1 - top[3]));
  const parent = (element) => element.parentElement ?? element.getRootNode().host ?? null;
  const page = rgba(getComputedStyle(document.querySelector('.stApp')).backgroundColor);
  const pictures = [...document.querySelectorAll('img')].filter(one => one.checkVisibility());
  const ground = (element, box) => {
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    const behind = (one) => {
      const its = one.getBoundingClientRect();
      return x > its.left && x < its.right && y > its.top && y < its.bottom;
    };
    const layers = [];
    let holder = element;
    for (; holder; holder = parent(holder)) {
      if (!behind(holder)) continue;
      const layer = [...rgba(getComputedStyle(holder).backgroundColor)];
      for (let each = holder; each; each = parent(each)) layer[3] *= +getComputedStyle(each).opacity;
      if (layer[3] > 0) layers.push(layer);
      if (layer[3] > 0.999) break;
    }
    if (!holder) layers.push(page);  // text that is scrolled out of sight
    let cut = false;  // by an edge of what it scrolls in
    for (let each = parent(element); each; each = parent(each))
      cut ||= getComputedStyle(each).overflowX !== 'visible' && !behind(each);
    const onPicture = !cut && pictures.some(one => behind(one) && (!holder || holder.contains(one)));
    return onPicture ? null : layers.reduceRight(
      (under, layer) => under ? over(layer, under) : layer, null);
  };
  const found = [];
  const judge = (element, box, words, style) => {
    const under = ground(element, box);
    let ratio = 0;
    if (under) {
      const ink = [...rgba(element instanceof SVGElement ? style.fill : style.color)];
      for (let each = element; each; each = parent(each)) ink[3] *= +getComputedStyle(each).opacity;
      const [low, high] = [luminance(over(ink, under)), luminance(under)].sort((a, b) => a - b);
      ratio = (high + 0.05) / (low + 0.05);
    }
    found.push([ratio, words.trim().slice(0, 60), element.outerHTML.slice(0, 160)]);
  };
  const inSight = (element) => element.checkVisibility({opacityProperty: true, visibilityProperty: true});
  const walk = (root) => {
    for (const element of root.querySelectorAll('*')) {
      if (element.shadowRoot) walk(element.shadowRoot);
      if (['STYLE', 'SCRIPT', 'NOSCRIPT', 'TITLE'].includes(element.tagName) || !inSight(element)) continue;
      if (getComputedStyle(element).clipPath !== 'none') continue;  // words for screen readers only
      if (element.closest('[disabled], [aria-disabled=true], label:has(:disabled)')) continue;
      if (element.matches('input:not([type=file], [type=range], [type=checkbox], [type=radio]), textarea')) {
        const [words, part] = element.value ? [element.value] : [element.placeholder, '::placeholder'];
        if (words) judge(element, element.getBoundingClientRect(), words, getComputedStyle(element, part));
      }
      for (const text of element.childNodes) {
        if (text.nodeType !== Node.TEXT_NODE || !text.data.trim()) continue;
        const range = document.createRange();
        range.selectNodeContents(text);
        const box = range.getBoundingClientRect();
        if (box.width > 1 && box.height > 1) judge(element, box, text.data, getComputedStyle(element));
      }
    }
  };
  walk(document);
  return found.sort((a, b) => a[0] - b[0]);
}"""

# The pages that the navigation shows as the present one.
MARKED = """() => [...document.querySelectorAll("[data-testid=stTopNavLink]")]
  .filter(one => getComputedStyle(one).backgroundColor !== "rgba(0, 0, 0, 0)").map(one => one.innerText)"""


def faint(page: Page) -> list[Any]:
    """Texts that do not stand out enough; the least contrast of the page goes to the test's own output."""
    found = page.evaluate(READ)
    for _ in range(30):  # colours fade from one theme to the other
        if found[0][0] >= LEAST:
            break
        page.wait_for_timeout(100)
        found = page.evaluate(READ)
    assert len(found) > 10
    print(f"{page.url.split('?')[0].rsplit('/', 1)[1] or 'flakes'}: least {found[0][0]:.2f}, {found[0][1]!r}")
    return [each for each in found if each[0] < LEAST]


@pytest.fixture(scope="module")
def opened(context: BrowserContext, server: str, folder: Path) -> Iterator[Page]:
    """The app with names that are markup, opened once: a look at the next page is a click away."""
    drafts.clear(folder / "home", draft.PAGE)
    with watched(context, "reading") as page:
        visit(page, server, mix=HOSTILE)
        yield page


@pytest.mark.parametrize("path", PAGES)
def test_every_page_reads_by_day_and_by_night_and_fits_a_phone(opened: Page, path: str) -> None:
    page = opened
    page.set_viewport_size(DESK["viewport"])
    if PAGES[path] not in SHOWN.values():
        turn_to(page, "more")
    turn_to(page, path)
    assert page.locator("img[src*=invalid]").count() == 0  # names are text, whatever they hold
    title = PAGES[path]
    assert page.evaluate(MARKED) == [title if title in SHOWN.values() else "More"]
    for theme in ("light", "dark"):
        page.emulate_media(color_scheme=theme)  # type: ignore[arg-type]
        settled(page)
        ground = ", ".join(str(int(setting(theme, "backgroundColor")[at : at + 2], 16)) for at in (1, 3, 5))
        expect(page.get_by_test_id("stApp")).to_have_css("background-color", f"rgb({ground})")
        assert not faint(page)
        shoot(page, f"{PAGES[path]} {theme}")
    page.set_viewport_size(PHONE["viewport"])
    strip = page.locator(".st-key-pages")
    expect(strip.get_by_role("link", name=PAGES[path], exact=True)).to_be_attached()
    expect(strip.get_by_role("link").first).to_be_visible()
    fits(page)
    shoot(page, f"{PAGES[path]} on a phone")


def setting(theme: str, name: str) -> str:
    """A colour as the settings have it."""
    settings = tomllib.loads(APP.with_name(".streamlit").joinpath("config.toml").read_text("utf-8"))
    return str(settings["theme"][theme][name])


def fits(page: Page) -> None:
    """Nothing hangs over the edge, and every picture and chart has words."""
    page.wait_for_function(  # charts take the new width a moment later
        """() => ["html", "body", "[data-testid=stApp]", "[data-testid=stMain]"].every(
            at => document.querySelector(at).scrollWidth <= document.querySelector(at).clientWidth)""",
        timeout=15_000,
    )
    hanging = page.evaluate(
        """() => [...document.querySelectorAll("[data-testid=stMain] :is(img, button, input, .swatch, h1)")]
            .filter(element => !element.closest(".st-key-strip, .st-key-flakes_at_hand"))  // scroll sideways
            .filter(element => element.getBoundingClientRect().right > innerWidth + 1)
            .map(element => element.outerHTML.slice(0, 200))"""
    )
    assert not hanging
    wordless = page.evaluate(
        """() => [...document.querySelectorAll("[data-testid=stMain] :is(img, [role=img])")]
            .filter(picture => !(picture.alt || picture.ariaLabel)).map(one => one.outerHTML.slice(0, 200))"""
    )
    assert not wordless
