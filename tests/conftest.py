import os
import shutil

import pytest
from hypothesis import settings

if "PYTEST_XDIST_WORKER" in os.environ:  # a core to each worker: threads of two would get in each other's way
    for threads in ("NUMBA_NUM_THREADS", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ.setdefault(threads, "1")

# Set by .ci/run: a missing browser then fails the browser tests instead of skipping them.
BROWSER_REQUIRED = "BLENDLAB_BROWSER_REQUIRED"
BROWSERS = ("chromium", "chromium-browser", "google-chrome")

# The same examples every run; no deadline, because the first call of compiled code compiles it.
settings.register_profile("blendlab", deadline=None, derandomize=True)
settings.load_profile("blendlab")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "browser: drives the app in a real browser")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the browser tests, the longest files, so that neither of two workers waits for the other."""
    items.sort(key=lambda item: item.get_closest_marker("browser") is None)


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
