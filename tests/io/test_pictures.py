from io import BytesIO

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageCms

from blendlab.io import image_codec, pictures

PICTURE = np.random.default_rng(1).integers(0, 256, (20, 30, 3), dtype=np.uint8)


@given(st.integers(1, 40), st.integers(1, 40), st.integers(0, 2**32 - 1))
def test_a_png_holds_every_pixel(height: int, width: int, seed: int) -> None:
    srgb8 = np.random.default_rng(seed).integers(0, 256, (height, width, 3), dtype=np.uint8)
    with Image.open(BytesIO(pictures.png_bytes(srgb8, 4))) as read:
        assert read.format == "PNG"
        np.testing.assert_array_equal(np.asarray(read), srgb8)


@pytest.mark.parametrize("px_per_mm", [1, 4, 7.3, 40])
def test_a_png_carries_its_true_size(px_per_mm: float) -> None:
    png = pictures.png_bytes(PICTURE, px_per_mm)
    # PNG specification (ISO/IEC 15948), pHYs: pixels per metre in x and y, then 1 for metres.
    start = png.index(b"pHYs") + 4
    per_metre = [int.from_bytes(png[start + at : start + at + 4], "big") for at in (0, 4)]
    assert per_metre == [round(px_per_mm * 1000)] * 2
    assert png[start + 8] == 1


def test_a_png_carries_an_srgb_profile() -> None:
    with Image.open(BytesIO(pictures.png_bytes(PICTURE, 4))) as read:
        profile = ImageCms.ImageCmsProfile(BytesIO(read.info["icc_profile"]))
        assert "sRGB" in ImageCms.getProfileDescription(profile)
        # Through that profile into Pillow's own sRGB, the colours stay what they are.
        same = ImageCms.profileToProfile(read, profile, ImageCms.createProfile("sRGB"))
        assert same is not None
        np.testing.assert_allclose(np.asarray(same, float), PICTURE, atol=1)


def test_same_picture_same_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    first = pictures.png_bytes(PICTURE, 4)
    made = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()

    class Later:
        """A profile created at another time: only the date in its header differs."""

        def __init__(self, _: object) -> None: ...

        def tobytes(self) -> bytes:
            return made[:24] + bytes(range(1, 13)) + made[36:]

    image_codec._srgb_profile.cache_clear()
    monkeypatch.setattr(image_codec.ImageCms, "ImageCmsProfile", Later)
    assert pictures.png_bytes(PICTURE, 4) == first
    image_codec._srgb_profile.cache_clear()
