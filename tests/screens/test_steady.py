"""What stands on the Make page while a sheet is drawn: neither twice nor longer than it is true."""

import pytest

from blendlab.screens.parts import draft

from .browsing import settled, visit

pytestmark = pytest.mark.browser

# Looks at the page 50 times a second: which keys are seen twice as the run comes to its end, for rows that
# move up stand twice for a moment; and whether row 1 is gone before the end.
WATCH = """() => {
    window.seen = {looks: 0, twice: [], goneEarly: false};
    setInterval(() => {
        const running = document.querySelector("[data-testid=stApp]").dataset.testScriptState === "running";
        const keys = [...document.querySelectorAll("[data-testid=stMain] [class*=st-key-]")]
            .filter((one) => one.checkVisibility())
            .flatMap((one) => [...one.classList].filter((name) => name.startsWith("st-key-")));
        seen.looks += running;
        if (running) seen.twice = keys.filter((key, n) => keys.indexOf(key) !== n);
        seen.goneEarly ||= running && !keys.includes("st-key-row1");
    }, 20);
}"""


def test_a_row_more_or_less_changes_the_page_once_before_the_sheet_is_drawn(page, server):
    mix = draft.demo().with_folding(folds=6)  # takes many looks to draw
    visit(page, server, mix=mix)
    page.evaluate(WATCH)
    page.locator(".st-key-flakes_at_hand button:enabled").first.click()
    page.locator(f".st-key-row{len(mix.flakes) + 1}").wait_for()
    settled(page)
    assert page.evaluate("seen.looks") > 3
    assert page.evaluate("seen.twice") == []
    page.evaluate("seen.goneEarly = false")
    page.get_by_role("button", name=f"Remove {mix.flakes[0].name}").first.click()
    page.locator(".st-key-row1").wait_for(state="detached")
    settled(page)
    assert page.evaluate("seen.goneEarly")
    assert page.evaluate("seen.twice") == []
