"""How quick the app feels and whether it stays lean, in a real browser. Run by hand, some fifteen minutes:

    python -m tests.bench.felt [first] [felt] [changes] [sessions]

`first`: the first picture on the first run ever, with an empty cache of compiled code, and on a warm one.
`felt`: from a change of grams to the new mean, to the new sheet, and to the new ladder.
`changes`: the server's memory over 500 changes in one session.
`sessions`: its memory over 20 sessions that are opened, used and closed.
"""

import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from blendlab.colour.means import area_mean
from blendlab.recipe.recipe import Recipe
from blendlab.screens.parts import draft
from tests.screens.browsing import settled, shows_colour, started

PATIENCE_MS = 180_000
POLL_MS = 20
SHEET = "Top face after"
CHANGES, SESSIONS = 500, 20
KEPT_S = 150  # Streamlit keeps a closed session for two minutes


@contextmanager
def server(**further: str) -> Iterator[tuple[str, int]]:
    """Address and process of the app on a server that starts afresh."""
    with tempfile.TemporaryDirectory() as folder, started(Path(folder), **further) as found:
        yield found


@contextmanager
def browser() -> Iterator[Browser]:
    """A browser without a window."""
    with sync_playwright() as tools:
        shown = tools.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        yield shown
        shown.close()


def opened(context: BrowserContext, address: str) -> Page:
    """A page with its first picture on it."""
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.goto(address)
    page.get_by_role("img", name=SHEET).wait_for()
    return page


def resident_mib(pid: int) -> float:
    """Memory of a process that is resident now."""
    status = Path(f"/proc/{pid}/status").read_text()
    return int(next(line for line in status.splitlines() if line.startswith("VmRSS")).split()[1]) / 1024


def grams(recipe: Recipe, value: float) -> Recipe:
    """The recipe with other grams of its first flake."""
    return replace(recipe, flakes=(replace(recipe.flakes[0], grams=value), *recipe.flakes[1:]))


def change(page: Page, recipe: Recipe, value: float) -> tuple[float, ...]:
    """Seconds from typing other grams to the new mean, to the new sheet, and to the last rung of the new
    ladder, as a sketch and as it stays."""
    before = page.get_by_role("img", name=SHEET).get_attribute("src")
    field = page.get_by_role("textbox", name="Grams").first
    field.fill(f"{value:g}")
    start = time.perf_counter()
    field.press("Enter")
    shows_colour(page, "Average before mixing", area_mean(grams(recipe, value)).srgb)
    found = [time.perf_counter() - start]
    for words in (f"^{SHEET}", "^10 folds, a sketch", "^10 folds, .* mean "):
        _await_picture(page, words, before if words.startswith(f"^{SHEET}") else None)
        found.append(time.perf_counter() - start)
    return tuple(found)


def _await_picture(page: Page, words: str, other_than: str | None = None) -> None:
    """Wait for a picture of such words from another address, without asking for every frame."""
    page.wait_for_function(
        """([words, before]) => [...document.querySelectorAll("img")].some(
            one => new RegExp(words).test(one.alt) && one.src !== before)""",
        arg=[words, other_than],
        polling=POLL_MS,
    )


def say(what: str, seconds: list[float]) -> None:
    """One line: median and worst."""
    print(f"{what:44s} median {statistics.median(seconds):6.2f} s, worst {max(seconds):6.2f} s", flush=True)


def first() -> None:
    """First picture on a cold and on a warm machine, from the server's start and from the opening."""
    with tempfile.TemporaryDirectory() as cache:
        for what in ("first run ever", "warm machine"):
            start = time.perf_counter()
            with server(NUMBA_CACHE_DIR=cache) as (address, _), browser() as shown:
                answered = time.perf_counter()
                opened(shown.new_context(), address)
                end = time.perf_counter()
            print(f"{what}: first picture {end - answered:.1f} s after opening, {end - start:.1f} s in all")


def felt() -> None:
    """A change of grams, to the new mean, the new sheet and the new ladder."""
    with server() as (address, _), browser() as shown:
        page, recipe = (
            opened(shown.new_context(viewport={"width": 1280, "height": 900}), address),
            draft.demo(),
        )
        settled(page)
        found = []
        for value in range(60, 80):
            found.append(change(page, recipe, value))
            settled(page)
    steps = ("new mean", "new sheet", "new ladder of sketches", "new ladder as it stays")
    for what, seconds in zip(steps, zip(*found, strict=True), strict=True):
        say(f"grams to the {what}", list(seconds))


def changes() -> None:
    """Memory over many changes in one session."""
    with server() as (address, pid), browser() as shown:
        page, recipe, sizes = opened(shown.new_context(), address), draft.demo(), []
        for n in range(CHANGES):
            change(page, recipe, 20 + n % 400 + 0.25 * (n // 400))
            settled(page)
            if (n + 1) % 50 == 0:
                sizes.append(resident_mib(pid))
                print(f"{n + 1:4d} changes: {sizes[-1]:.0f} MiB", flush=True)
    middle = sizes[len(sizes) // 5]
    print(
        f"over the last four fifths {min(sizes[2:]) / middle - 1:+.0%} to {max(sizes[2:]) / middle - 1:+.0%}"
    )


def sessions() -> None:
    """Memory over sessions that come and go."""
    with server() as (address, pid), browser() as shown:
        sizes = []
        for n in range(SESSIONS):
            context = shown.new_context()
            page = opened(context, address)
            change(page, draft.demo(), 30 + n)
            context.close()
            time.sleep(1)
            sizes.append(resident_mib(pid))
            print(f"{n + 1:3d} sessions: {sizes[-1]:.0f} MiB", flush=True)
        time.sleep(KEPT_S)
        opened(shown.new_context(), address)
        later = resident_mib(pid)
    print(f"from the third to the last {sizes[-1] / sizes[2] - 1:+.0%}, later {later / sizes[2] - 1:+.0%}")


PARTS: dict[str, Callable[[], None]] = {
    "first": first,
    "felt": felt,
    "changes": changes,
    "sessions": sessions,
}

if __name__ == "__main__":
    for part in sys.argv[1:] or PARTS:
        PARTS[part]()
