"""The page that starts from any picture."""

from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from blendlab.photo import likeness

from .opening import in_address, opened, pictures, said, sound


def board() -> bytes:
    """A chequered picture, as PNG."""
    pixels = np.kron(np.indices((8, 12)).sum(axis=0) % 2, np.ones((16, 16), int))
    file = BytesIO()
    Image.fromarray(np.array([(241, 238, 228), (29, 79, 143)], np.uint8)[pixels]).save(file, "PNG")
    return file.getvalue()


def test_a_proposal_becomes_the_mix(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, few in (("WHOLE", (0,)), ("BLENDED", (4,)), ("CUTS_MM", (7.0, 14.0))):
        monkeypatch.setattr(likeness, name, few)
    monkeypatch.setattr(likeness, "WITH_OTHER_MOVES", 0)
    app = opened(page="blendlab/screens/pages/like.py")
    assert any("belongs to the page From a photo" in text.value for text in app.text)
    upload = app.file_uploader(key="picturefile")
    upload.set_value(("board.png", board(), "image/png")).run(timeout=300)
    app.text_input(key="picturegrams").set_value("60")
    find = next(button for button in app.button if button.label == "Find sheets like it")
    sound(find.click().run(timeout=300))
    shown = list(pictures(app))
    assert "The picture as it was compared" in shown
    assert "Predicted sheet of proposal 1" in shown
    assert any("not its edges and motifs" in text.value for text in app.text)
    app.file_uploader(key="picturefile").set_value(("not.png", b"no picture", "image/png")).run(timeout=300)
    assert "JPEG, PNG or WebP" in said(app)[0]
    assert "Predicted sheet of proposal 1" in pictures(app)  # of the picture given before
    sound(app.button(key="use proposal 1").click().run(timeout=300))
    mix = in_address(app)
    assert mix.name == "like a picture"
    assert {flake.name for flake in mix.flakes} & {"milk-cap white", "harbour blue"}
