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


def test_a_caption_stays_under_its_own_picture() -> None:
    """The columns between captions stay white, however long these are, and nothing is cut off below."""
    tiles = [np.zeros((60, width, 3), np.uint8) for width in (128, 100, 128)]
    captions = [
        "the picture",
        "7 mm flakes, laid in stripes, corners-in, 4 times",
        "3.5 mm flakes, not folded",
    ]
    sheet = image_codec.contact_sheet(tiles, ["#808080"] * 3, captions, 6)
    gaps = [slice(start, start + 12) for start in (0, 142, 284, 426)]  # a letter may overhang by a pixel
    assert sheet.shape[1] == 440
    for gap in gaps:
        assert (sheet[:, gap] == 255).all()
    assert (sheet[-5:] == 255).all()
    written = [
        (sheet[88:, gap.stop + 2 : gap.stop + 130] < 128).any(axis=(1, 2)).nonzero()[0] for gap in gaps[:3]
    ]
    assert np.ptp(written[0]) < 16 < np.ptp(written[1])  # one line, several lines


def test_short_captions_leave_a_contact_sheet_as_high_as_before() -> None:
    sheet = image_codec.contact_sheet([PICTURE] * 2, ["#808080"] * 2, ["0 folds, pieces", "1 fold, bold"], 6)
    assert sheet.shape == (20 + 4 * 14, 2 * 134 + 14, 3)
