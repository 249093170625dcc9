from collections.abc import Iterator

import pytest

from blendlab.look import ladder


@pytest.fixture(autouse=True, scope="package")
def small_tiles() -> Iterator[None]:
    """Tiles of 60 pixels in this process: the same pages in a seventh of the time.

    The real browser's server, a process of its own, draws them at full size.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ladder, "TILE_PX", 60)
        yield
