"""Encoding, decoding and drawing with Pillow, which no other module imports.

Pillow's pixel limit and its warnings are switched off only while a picture is open: callers check the size
before they decode, and report a damaged file in their own words.
"""

import warnings
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from functools import cache
from io import BytesIO
from threading import RLock
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms, ImageDraw, ImageFont, ImageOps, UnidentifiedImageError

Picture = Image.Image
UnknownFormatError = UnidentifiedImageError

_GAP_PX, _LABEL_PX, _LINE_PX = 14, 120, 16  # of a contact sheet
_decoding = RLock()  # Pillow's limit and the warning filters belong to the whole process


def picture_of(shape: tuple[int, int], strips: Iterable[tuple[slice, NDArray[np.uint8]]]) -> Picture:
    """Assemble strips of sRGB pixels into a picture with the given rows and columns."""
    rows, columns = shape
    picture = Image.new("RGB", (columns, rows))
    for strip, pixels in strips:
        picture.paste(Image.fromarray(np.ascontiguousarray(pixels)), (0, strip.start))
    return picture


def write_png(file: BinaryIO, picture: Picture, dpi: float) -> None:
    """Write a picture in sRGB as a PNG with its resolution and an sRGB profile."""
    # A marbled picture hardly shrinks further: level 6 saves an eighth in three times the time.
    picture.save(file, format="PNG", dpi=(dpi, dpi), icc_profile=_srgb_profile(), compress_level=1)


def jpeg(pixels: NDArray[np.uint8], quality: int) -> bytes:
    """Encode sRGB pixels as a JPEG without metadata or chroma subsampling."""
    buffer = BytesIO()
    Image.fromarray(pixels).save(buffer, format="JPEG", quality=quality, subsampling=0)
    return buffer.getvalue()


def contact_sheet(
    tiles: Sequence[NDArray[np.uint8]], means: Sequence[str], captions: Sequence[str], columns: int
) -> NDArray[np.uint8]:
    """Draw pictures side by side, each over a strip of its mean colour and its caption."""
    height, width = np.max([tile.shape[:2] for tile in tiles], axis=0).tolist()
    font, column = ImageFont.load_default(13), max(width, _LABEL_PX)
    texts = [_wrapped(caption, font, column) for caption in captions]
    further = max(map(len, texts)) - 1
    across, down = column + _GAP_PX, height + 3 * _GAP_PX + further * _LINE_PX
    columns = min(len(tiles), columns)
    size = (columns * across + _GAP_PX, -(-len(tiles) // columns) * down + _GAP_PX)
    sheet = Image.new("RGB", size, "white")
    draw = ImageDraw.Draw(sheet)
    for n, (tile, mean, lines) in enumerate(zip(tiles, means, texts, strict=True)):
        x, y = n % columns * across + _GAP_PX, n // columns * down + _GAP_PX
        sheet.paste(Image.fromarray(tile), (x, y))
        draw.rectangle((x, y + height, x + width - 1, y + height + _GAP_PX - 5), fill=mean)
        for row, line in enumerate(lines):
            draw.text((x, y + height + _GAP_PX + row * _LINE_PX), line, fill="black", font=font)
    return np.asarray(sheet)


def _wrapped(text: str, font: ImageFont.FreeTypeFont | ImageFont.ImageFont, width_px: int) -> list[str]:
    """Break a text between words into lines of at most a width; a wider word has a line of its own."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".lstrip()
        if lines[-1] and font.getlength(longer) > width_px:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


@contextmanager
def opened(content: bytes, formats: tuple[str, ...]) -> Iterator[Picture]:
    """Open a picture, to be checked and decoded inside the context.

    Raises
    ------
    UnknownFormatError
        Where it is in none of the formats.
    Exception
        Of almost any type, where it is damaged.
    """
    with _decoding, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        limit, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
        try:
            with Image.open(BytesIO(content), formats=formats) as picture:
                yield picture
        finally:
            Image.MAX_IMAGE_PIXELS = limit


def upright(picture: Picture) -> Picture:
    """Decode a picture and turn it upright; 16-bit grey becomes 8-bit."""
    picture.load()
    turned = ImageOps.exif_transpose(picture)
    if turned.mode.startswith(("I", "F")):
        grey = np.asarray(turned, np.float64) / 65535
        return Image.fromarray(np.rint(np.clip(grey, 0, 1) * 255).astype(np.uint8))
    return turned


def is_transparent(picture: Picture) -> bool:
    """Whether any pixel is less than opaque."""
    if not picture.has_transparency_data:
        return False
    return bool(np.asarray(picture.convert("RGBA"))[..., 3].min() < 255)


def srgb8(picture: Picture, profile: bytes | None) -> NDArray[np.uint8]:
    """Return pixels in sRGB, converted from the camera's profile; an unusable profile counts as sRGB."""
    converted = picture.convert("RGB")
    if profile:
        with suppress(ImageCms.PyCMSError, OSError):
            own = ImageCms.ImageCmsProfile(BytesIO(profile))
            made = ImageCms.profileToProfile(converted, own, _srgb_for_photos(), outputMode="RGB")
            converted = made or converted
    return np.asarray(converted)


def thumbnail_png(picture: Picture, longest_px: int) -> bytes:
    """Shrink an open picture to a PNG whose longer side is at most `longest_px`."""
    picture.draft("RGB", (2 * longest_px, 2 * longest_px))  # a JPEG is decoded no finer than needed
    small = Image.fromarray(np.asarray(picture.convert("RGB")))
    small.thumbnail((longest_px, longest_px))
    buffer = BytesIO()
    small.save(buffer, format="PNG")
    return buffer.getvalue()


@cache
def _srgb_for_photos() -> ImageCms.ImageCmsProfile:
    """Return Pillow's sRGB profile."""
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))


@cache
def _srgb_profile() -> bytes:
    """Return Pillow's sRGB profile with a fixed creation date, so that bytes repeat.

    Bytes 24-35 of an ICC header hold the date as six 16-bit numbers (ICC.1:2022, section 7.2.1, from memory).
    """
    made = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    made[24:36] = b"".join(part.to_bytes(2, "big") for part in (2000, 1, 1, 0, 0, 0))
    return bytes(made)
