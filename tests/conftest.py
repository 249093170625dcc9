import os
import shutil
from datetime import date
from pathlib import Path

import pytest
from hypothesis import settings

from blendlab.logbook.sheet_log import LoggedSheet
from blendlab.recipe.flake_list import Stocked
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

os.environ.setdefault("OMP_WAIT_POLICY", "passive")  # threads between loops sleep and do not spin
if "PYTEST_XDIST_WORKER" in os.environ:  # a core to each worker: threads of two would get in each other's way
    for threads in ("NUMBA_NUM_THREADS", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ.setdefault(threads, "1")

# Set by .ci/run: a missing browser then fails the browser tests instead of skipping them.
BROWSER_REQUIRED = "BLENDLAB_BROWSER_REQUIRED"
COMPILES = "test_journeys"
PLAIN_ROOMS = ("recipe", "io", "logbook", "workshop", "runtime")
BROWSERS = ("chromium", "chromium-browser", "google-chrome")

# How many examples each property is tried on; .ci/run tries more.
EXAMPLES = "BLENDLAB_EXAMPLES"
# The same examples every run; no deadline, because the first call of compiled code compiles it.
settings.register_profile(
    "blendlab", deadline=None, derandomize=True, max_examples=int(os.environ.get(EXAMPLES, "30"))
)
settings.load_profile("blendlab")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "browser: drives the app in a real browser")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the browser tests, the longest files, so that neither of two workers waits for the other.

    On a machine that never ran it the first of them compiles; meanwhile the other worker takes what needs
    no compiled code.
    """

    def turn(item: pytest.Item) -> int:
        room = item.path.relative_to(Path(__file__).parent).parts[0]
        if item.get_closest_marker("browser"):
            return 0 if item.path.stem == COMPILES else 2
        return 1 if room in PLAIN_ROOMS else 3

    items.sort(key=turn)


@pytest.fixture(scope="session")
def browser_path() -> str:
    """Path of an installed Chromium for Playwright's `executable_path`."""
    for name in BROWSERS:
        found = shutil.which(name)
        if found:
            return found
    reason = f"no browser found: install one of {', '.join(BROWSERS)}"
    if os.environ.get(BROWSER_REQUIRED):
        pytest.fail(reason)
    pytest.skip(reason)


RECIPE = Recipe(
    "Harbour tile",
    Sheet(215.8, 215.8, 7.09),
    (Flake("white", "#f2f0e8", 150.25), Flake("bottle-crate blue", "#14409a", 50.1, hide_mm=0.6)),
    Folding(folds=4),
)


@pytest.fixture
def sheet():
    return LoggedSheet(
        pressed_on=date(2026, 3, 14),
        recipe=RECIPE,
        programme=("melt 3 min", "fold 1, press 90 s"),
        length_mm=200.5,
        weight_g=198.25,
        notes="a little lively\nkeep the blue",
        rating=4,
        prediction={"folds": 4, "mean": {"lab": [71.25, -1.5, -9.75], "srgb": "#a4b0bf"}},
    )


@pytest.fixture
def flakes():
    return (
        Stocked("white", "#f2f0e8", grams=1000.125, piece_g=2.3, source="caps, the café"),
        Stocked("bottle-crate blue", "#14409a", hide_mm=0.6, grams=400),
        Stocked("=SUM(A1:A9)", "#101010", grams=0.001, source="+1 crate"),
    )
