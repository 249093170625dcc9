"""Unfinished work after a refresh, in a second tab and after a restart of the server, in a real browser."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from blendlab.colour.means import full_blend
from blendlab.recipe.recipe import Flake

from .browsing import fill, free_port, reconnected, serving, settled, shows_colour, visit, watched
from .opening import STRIP

pytestmark = pytest.mark.browser

GRAMS = re.compile("^Grams")


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
            reconnected(page)
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
            reconnected(page)
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
