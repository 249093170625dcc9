"""Opening the app without a browser, and reading what stands on a page."""

import re
from dataclasses import replace
from pathlib import Path

from streamlit.testing.v1 import AppTest

from blendlab.logbook import stock
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet
from blendlab.screens.parts import draft

APP = Path(__file__).parents[2] / "app.py"
MAKE, COMPARE = (f"blendlab/screens/pages/{name}.py" for name in ("make", "compare"))

# A narrow strip pressed evenly: the same pages in a tenth of the time.
STRIP = Recipe(
    "Drawer pull blank",
    Sheet(80.0, 20.0, 6.0),
    (
        Flake("chalk white", "#f2f0e8", 30.0, hide_mm=1.5),
        Flake("harbour blue", "#1d4f8f", 10.0, size_mm=(9.0, 6.5, 1.2)),
    ),
    Folding(folds=3, unevenness=0.0),
    refractive_index=1.52,
)

# The same with names that a page must not take for more than text.
MARKUP = ("![a](http://a.invalid/a.png)", "<img src='http://b.invalid/b.png'>")
HOSTILE = replace(
    STRIP,
    name=MARKUP[0],
    flakes=tuple(replace(flake, name=name) for flake, name in zip(STRIP.flakes, MARKUP, strict=True)),
)


def opened(mix: Recipe | str | None = STRIP, page: str = MAKE) -> AppTest:
    """The app on one of its pages, opened by an address with this mix in it."""
    app = AppTest.from_file(APP, default_timeout=300)
    if mix is not None:
        app.query_params[draft.ADDRESS] = draft._packed(mix) if isinstance(mix, Recipe) else mix
    app.switch_page(page).run()
    return sound(app)


def sound(app: AppTest) -> AppTest:
    """The app, after making sure that nothing broke."""
    assert not app.exception
    assert app.title
    return app


def click(app: AppTest, label: str) -> AppTest:
    """The app after a click on the button of that label."""
    return sound(next(button for button in app.button if button.label == label).click().run())


def on_hand(home: Path) -> dict[str, float]:
    """Grams of each flake in the maker's stock."""
    return {flake.name: flake.grams for flake in stock.stock(home)}


def swatches(app: AppTest) -> dict[str, str]:
    """Hex colour of each swatch by its label, as HTML."""
    found = {}
    for element in app.get("html"):
        match = re.search(r'aria-label="(#[0-9a-f]{6})".*<b>(.*?)</b>', element.proto.body)
        if match:
            found[match[2]] = match[1]
    return found


def pictures(app: AppTest) -> dict[str, str]:
    """Address of each picture by its words; an address names the picture's content by its digest."""
    return {image.proto.imgs[0].alt: image.proto.imgs[0].url for image in app.get("image")}


def said(app: AppTest) -> list[str]:
    """Sentences in boxes of error, as read."""
    return [re.sub(r"\\(.)", r"\1", box.value) for box in app.error]


def in_address(app: AppTest) -> Recipe:
    """The mix that a refresh would open."""
    value = app.query_params[draft.ADDRESS]
    return draft._unpacked(value if isinstance(value, str) else value[0])
