"""The picture for print: true size at 300 dpi, and refused before it is drawn where memory is lacking."""

from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from blendlab.io.pictures import read_png
from blendlab.look.prepared_sheet import prepare
from blendlab.look.view import look_at
from blendlab.screens.parts import cache, sheet_view

from .opening import STRIP, opened, sound

HOT = 1 / (1 - 0.027)  # the usual in-plane shrinkage, as published


def test_it_has_its_true_size_at_300_dpi_and_shows_the_same_sheet() -> None:
    content = cache.print_png(STRIP, cache.TOP)
    with Image.open(BytesIO(content)) as found:
        # A PNG states whole pixels per metre, and half of one is 0.013 dpi.
        assert found.info["dpi"] == pytest.approx((300, 300), abs=0.013)
        assert (found.height, found.width) == cache.print_size(STRIP, cache.TOP)
        inches = np.array(found.size) / 300
    assert inches * 25.4 == pytest.approx((80 / HOT, 20 / HOT), abs=0.1)
    folds = STRIP.folding.folds
    prepared = prepare(STRIP, folds)
    face = cache.TOP.surface(prepared.sheet_after(folds), cache.PRINT_PX_PER_MM / HOT)
    whole = look_at(face, prepared, folds)
    assert np.array_equal(read_png(content), whole.srgb8)


def test_the_card_offers_it_with_size_and_time_unless_memory_is_lacking(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    app = sound(opened().button(key="open card").click().run())
    labels = [button.label for button in app.get("download_button")]
    assert "Download for print, 300 dpi" in labels
    said = " ".join(text.value for text in app.caption)
    rows, columns = cache.print_size(app.session_state["batch"].recipe, cache.TOP)
    size = f"{columns:,} × {rows:,} pixels, true size when cold, on paper"
    assert f"{size}; drawn when you ask, in some 1 s" in said
    monkeypatch.setattr(sheet_view, "free_bytes", lambda: 1e6)
    app = sound(app.run())
    assert "Download for print, 300 dpi" not in [button.label for button in app.get("download_button")]
    assert "more than there is memory for now" in " ".join(text.value for text in app.caption)


def test_the_picture_too_prints_as_the_cold_sheet_and_says_so() -> None:
    app = opened()
    sound(app.toggle(key="numbers").set_value(True).run())
    labels = [button.label for button in app.get("download_button")]
    assert "Download the picture, true size when cold (77.8 × 19.5 mm)" in labels
    with Image.open(BytesIO(cache.view(STRIP, 320).png)) as found:
        assert found.width / found.info["dpi"][0] * 25.4 == pytest.approx(80 / HOT, abs=0.02)
