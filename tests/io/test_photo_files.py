import struct
import warnings
import zlib
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms, ImageFile

from blendlab.checks import InputError
from blendlab.io import photo_files

PICTURE = np.random.default_rng(3).integers(0, 256, (80, 100, 3), dtype=np.uint8)


def encoded(picture: Image.Image, kind: str, **options: object) -> bytes:
    buffer = BytesIO()
    picture.save(buffer, format=kind, **options)
    return buffer.getvalue()


def plain(kind: str, **options: object) -> bytes:
    return encoded(Image.fromarray(PICTURE), kind, **options)


@pytest.mark.parametrize(("kind", "options"), [("PNG", {}), ("WEBP", {"lossless": True})])
def test_lossless_photos_keep_every_pixel(kind: str, options: dict[str, object], tmp_path: Path) -> None:
    place = tmp_path / "photo"
    place.write_bytes(plain(kind, **options))
    np.testing.assert_array_equal(photo_files.read_photo(place), PICTURE)


@pytest.mark.parametrize("turn", range(1, 9))
def test_a_photo_is_turned_upright(turn: int) -> None:
    # Exif 2.3 (CIPA DC-008), tag 274, Orientation: where row 0 and column 0 of the stored picture lie.
    rows_first = {1: ("top", "left"), 2: ("top", "right"), 3: ("bottom", "right"), 4: ("bottom", "left")}
    columns_first = {5: ("left", "top"), 6: ("right", "top"), 7: ("right", "bottom"), 8: ("left", "bottom")}
    upright = np.zeros((64, 96, 3), np.uint8)
    upright[:20, :30] = 200  # upper left
    if turn in rows_first:
        row, column = rows_first[turn]
        stored = upright
    else:
        column, row = columns_first[turn]
        stored = upright.transpose(1, 0, 2)
    if turn in rows_first:
        stored = stored[::-1] if row == "bottom" else stored
        stored = stored[:, ::-1] if column == "right" else stored
    else:  # row 0 of the stored picture is the side `column`, its column 0 the side `row`
        stored = stored[::-1] if column == "right" else stored
        stored = stored[:, ::-1] if row == "bottom" else stored
    exif = Image.Exif()
    exif[274] = turn
    read = photo_files.photo_from_bytes(
        encoded(Image.fromarray(stored.copy()), "PNG", exif=exif), "photo.png"
    )
    np.testing.assert_array_equal(read, upright)


def test_other_pixel_formats_become_8_bit_rgb() -> None:
    grey = PICTURE[..., 0]
    as_grey = np.repeat(grey[..., None], 3, axis=-1)
    deep = Image.fromarray(grey.astype(np.uint16) * 257)
    np.testing.assert_array_equal(photo_files.photo_from_bytes(encoded(deep, "PNG"), "16"), as_grey)
    np.testing.assert_array_equal(
        photo_files.photo_from_bytes(encoded(Image.fromarray(grey), "PNG"), "grey"), as_grey
    )
    few = Image.fromarray(PICTURE).quantize(16)
    np.testing.assert_array_equal(
        photo_files.photo_from_bytes(encoded(few, "PNG"), "palette"), np.asarray(few.convert("RGB"))
    )
    solid = Image.fromarray(PICTURE).convert("RGBA")
    np.testing.assert_array_equal(photo_files.photo_from_bytes(encoded(solid, "PNG"), "opaque"), PICTURE)


def test_colours_of_a_camera_profile_become_srgb() -> None:
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    same = photo_files.photo_from_bytes(plain("PNG", icc_profile=lab), "sRGB")
    assert np.abs(same.astype(int) - PICTURE).max() <= 1
    np.testing.assert_array_equal(
        photo_files.photo_from_bytes(plain("PNG", icc_profile=b"x" * 200), "odd"), PICTURE
    )


def moving() -> bytes:
    frames = [Image.fromarray(PICTURE), Image.fromarray(255 - PICTURE)]
    return encoded(frames[0], "WEBP", save_all=True, append_images=frames[1:], lossless=True)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "must be a JPEG, PNG or WebP file"),
        (b"no picture at all", "must be a JPEG, PNG or WebP file"),
        (encoded(Image.fromarray(PICTURE), "GIF"), "must be a JPEG, PNG or WebP file"),
        (encoded(Image.fromarray(PICTURE), "BMP"), "must be a JPEG, PNG or WebP file"),
        (plain("PNG")[:2000], "whole and undamaged"),
        (plain("JPEG")[:1500], "whole and undamaged"),
        (plain("WEBP")[:500], "got 'photo'"),
        (encoded(Image.new("RGB", (1, 1)), "PNG"), "at least 64 pixels a side, got 'photo with 1 × 1'"),
        (moving(), "must not be animated, got 'photo with 2 pictures'"),
        (encoded(Image.new("CMYK", (80, 80)), "JPEG"), "must be in red, green and blue"),
        (encoded(Image.new("RGBA", (80, 80), (9, 9, 9, 90)), "PNG"), "must not be transparent"),
    ],
)
def test_an_unusable_photo_gets_one_sentence(content: bytes, says: str) -> None:
    with pytest.raises(InputError) as refusal:
        photo_files.photo_from_bytes(content, "photo")
    assert says in str(refusal.value)
    assert "\n" not in str(refusal.value)


def claimed(size: int) -> bytes:
    """A PNG that claims so many pixels a side and holds none."""
    header = struct.pack(">LLBBBBB", size, size, 8, 2, 0, 0, 0)
    parts = ((b"IHDR", header), (b"IDAT", zlib.compress(b"")), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">L", len(data)) + kind + data + struct.pack(">L", zlib.crc32(kind + data))
        for kind, data in parts
    )


@pytest.mark.parametrize(
    "read", [lambda c: photo_files.photo_from_bytes(c, "bomb"), lambda c: photo_files.small_picture(c, 64)]
)
def test_a_bomb_is_refused_before_decoding(
    read: Callable[[bytes], object], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ImageFile.ImageFile, "load", lambda _: pytest.fail("decoded"))
    with pytest.raises(InputError, match=r"at most 40,000,000 pixels, got .* with 60000 × 60000'; "):
        read(claimed(60_000))


def test_a_thumbnail_is_made_of_every_format_and_refused_of_damaged_files() -> None:
    see_through = encoded(Image.fromarray(PICTURE).quantize(16), "PNG", transparency=3)
    for content in (see_through, plain("JPEG"), plain("WEBP"), encoded(Image.new("1", (80, 3)), "PNG")):
        with Image.open(BytesIO(photo_files.small_picture(content, 40))) as small:
            assert (small.format, small.mode, max(small.size)) == ("PNG", "RGB", 40)
    no_palette = see_through.replace(b"PLTE", b"pLTE")
    for content in (b"", b"no picture", plain("JPEG")[:900], no_palette):
        with pytest.raises(InputError, match="the photo must be a JPEG, PNG or WebP file"):
            photo_files.small_picture(content, 40)


def test_a_missing_photo_is_refused(tmp_path: Path) -> None:
    for place in (tmp_path / "none.jpg", tmp_path, "a\0b"):
        with pytest.raises(InputError, match="must be there to be read"):
            photo_files.read_photo(place)


def test_importing_and_reading_leave_pillow_and_the_warnings_as_they_were() -> None:
    before = Image.MAX_IMAGE_PIXELS, list(warnings.filters)
    assert before[0] is not None
    photo_files.photo_from_bytes(plain("PNG"), "photo")
    with pytest.raises(InputError):
        photo_files.photo_from_bytes(plain("PNG")[:2000], "photo")
    assert (Image.MAX_IMAGE_PIXELS, warnings.filters) == before
