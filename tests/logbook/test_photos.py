"""Photos that go into the log: only their pixels, upright, in one kind of file."""

from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from blendlab.checks import InputError
from blendlab.io.photo_files import clean_photo, photo_from_bytes
from blendlab.logbook import photos, sheet_log

PLACE = b"52 degrees north"
ROTATED = 6  # EXIF orientation: the camera was held upright, the pixels lie on their side
ORIENTATION, DESCRIPTION = 0x0112, 0x010E  # tags of EXIF 2.32 (CIPA DC-008), from memory


def photo(kind="JPEG"):
    ramp = np.linspace(0, 255, 96)[None, :, None] * np.ones((72, 1, 3))
    exif = Image.Exif()
    exif[ORIENTATION], exif[DESCRIPTION] = ROTATED, PLACE.decode()
    buffer = BytesIO()
    Image.fromarray(ramp.astype(np.uint8)).save(buffer, kind, exif=exif, quality=95)
    return buffer.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "WEBP", "PNG"])
def test_a_kept_photo_holds_only_its_pixels(kind):
    raw = photo(kind)
    assert PLACE in raw
    kept = clean_photo(raw)
    assert PLACE not in kept
    with Image.open(BytesIO(kept)) as opened:
        assert opened.format == "JPEG"
        assert not opened.getexif()
        assert opened.size == (72, 96)
    assert np.abs(photo_from_bytes(kept, "kept").astype(int) - photo_from_bytes(raw, "raw")).mean() < 2
    assert clean_photo(raw) == kept


def test_the_log_cleans_photos_and_keeps_our_own_picture_as_is(tmp_path, sheet):
    png = BytesIO()
    Image.new("RGB", (40, 10)).save(png, "PNG")  # a narrow strip is no photo, but may be predicted
    kept = sheet_log.record(tmp_path, sheet, photo=photo(), picture=png.getvalue())
    assert PLACE not in photos.read(tmp_path, kept.photo)
    assert photos.read(tmp_path, kept.picture) == png.getvalue()
    with pytest.raises(InputError, match="the photo must be a JPEG, PNG or WebP file"):
        sheet_log.amend(tmp_path, kept, photo=b"GIF89a")
    assert sheet_log.get(tmp_path, kept.uid) == kept
