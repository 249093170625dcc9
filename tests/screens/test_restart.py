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
STARTED_AGAIN = "blendlab was started again while this page was open"


def test_work_outlives_a_refresh_and_restarts_and_a_second_tab_goes_its_own_way(
    context: BrowserContext, tmp_path: Path
) -> None:
    port = free_port()
    with watched(context, "first tab") as first:
        with serving(tmp_path, port) as server:
            visit(first, server, mix=STRIP)
            weigh(first, 44)
            first.reload()
            shows(first, "44")
            with watched(context, "second tab") as second:
                visit(second, server)  # goes on where the first one stands
                shows(second, "44")
                weigh(second, 12)
            first.get_by_role("button", name="rose", exact=True).click()
            shows(first, "44", flakes=3)
            first.get_by_role("button", name="Remove chalk white").click()
            shows(first, "10")
        with serving(tmp_path, port) as server:
            reconnected(first)
            fill(first.get_by_role("textbox", name=GRAMS).first, "12,5")  # the first edit counts
            blue = replace(STRIP.flakes[1], grams=12.5)
            mix = replace(STRIP, flakes=(blue, Flake("rose", "#e39aa6", 20.0)))
            shows_colour(first, "Fully mixed", full_blend(mix).srgb)
            expect(first.get_by_text(STARTED_AGAIN)).to_be_visible()
            shows(first, "12,5")
            with watched(context, "after the restart") as again:
                visit(again, server)
                shows(again, "12.5")
            first.get_by_role("button", name="Card for this sheet").click()
            trim = first.get_by_role("textbox", name="Trim per edge, mm")
            expect(trim).to_be_visible()
            settled(first)
        with serving(tmp_path, port):
            reconnected(first)
            fill(trim, "3,5")
            expect(first.get_by_text(STARTED_AGAIN)).to_be_visible()
            settled(first)
            expect(trim).to_have_value("3,5")
            first.reload()
            settled(first)
            first.get_by_role("button", name="Card for this sheet").click()
            expect(trim).to_have_value("3.5")


def weigh(page: Page, grams: int) -> None:
    """Change the first flake's grams and wait for the mean they make."""
    fill(page.get_by_role("textbox", name=GRAMS).first, str(grams))
    mix = replace(STRIP, flakes=(replace(STRIP.flakes[0], grams=float(grams)), STRIP.flakes[1]))
    shows_colour(page, "Fully mixed", full_blend(mix).srgb)
    settled(page)


def shows(page: Page, grams: str, flakes: int = 2) -> None:
    """Find the first flake's grams on the page, and as many flakes."""
    fields = page.get_by_role("textbox", name=GRAMS)
    expect(fields).to_have_count(flakes)
    expect(fields.first).to_have_value(grams)
    settled(page)
