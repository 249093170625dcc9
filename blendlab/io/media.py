"""Reading and writing files: recipes as text, pictures as PNG, photos as pixels.

This is the only importer of Pillow.
"""

import os
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from io import BytesIO
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms, ImageDraw, ImageFont, ImageOps, UnidentifiedImageError

from .. import checks
from .atomic_write import Place, refuse_path, write_bytes

MAX_TEXT_BYTES = 1_000_000  # a recipe takes about one thousand
MM_PER_INCH = 25.4  # exact
_GAP_PX, _LABEL_PX = 14, 120  # of a contact sheet

PHOTO_FORMATS = ("JPEG", "PNG", "WEBP")
MAX_PHOTO_BYTES = 80_000_000
MAX_PHOTO_PX = 40_000_000
MIN_PHOTO_PX = 64  # a side; below that no marbling can be told
_PHOTO = "the photo must be a JPEG, PNG or WebP file"
_PHOTO_QUALITY = 92  # of a kept JPEG: fine marbling stays, at about a byte for two pixels
_RESAVE = "save it anew as a plain JPEG or PNG"

# Pillow only warns where a picture is too large, and late; sizes are checked here, before decoding.
Image.MAX_IMAGE_PIXELS = None
# What it thinks of a damaged picture is for us to say, in our sentences.
warnings.filterwarnings("ignore", module="PIL")


def read_text(path: Place) -> str:
    """Read a text file a maker wrote, such as a recipe.

    Parameters
    ----------
    path : str or path-like
        The file.

    Returns
    -------
    str
        Its text, without a byte order mark.

    Raises
    ------
    InputError
        Where it does not exist, is a folder, cannot be read, is larger than
        `MAX_TEXT_BYTES`, or is not UTF-8.
    """
    try:
        with Path(path).open("rb") as file:
            found = file.read(MAX_TEXT_BYTES + 1)
    except (OSError, ValueError) as error:
        refuse_path("the file must be there to be read", path, error, "check the name and the folder")
    return text_from_bytes(found, os.fspath(path))


def text_from_bytes(content: bytes, name: str) -> str:
    """Return the text of a file that a maker wrote, without a byte order mark.

    Parameters
    ----------
    content : bytes
        The file's content.
    name : str
        What the maker knows it by, for refusals.

    Raises
    ------
    InputError
        Where it is larger than `MAX_TEXT_BYTES`, or is not UTF-8.
    """
    if len(content) > MAX_TEXT_BYTES:
        rule = f"the file must hold at most {MAX_TEXT_BYTES:,} bytes of text"
        checks.refuse(rule, name, "choose a recipe, a flake list or a spectrum")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        remedy = "choose a recipe, a flake list or a spectrum, and save it as UTF-8"
        checks.refuse("the file must hold UTF-8 text", name, remedy)


def write_text(path: Place, text: str) -> None:
    """Write a text file in UTF-8, whole or not at all.

    Raises
    ------
    InputError
        Where the path cannot be written; what stood there is untouched.
    """
    write_bytes(path, text.encode("utf-8"))


def png_bytes(srgb8: NDArray[np.uint8], px_per_mm: float) -> bytes:
    """Encode a picture so that it prints at its true size and in its true colours.

    Parameters
    ----------
    srgb8 : ndarray of uint8, shape (height, width, 3)
        Pixels in sRGB, 0-255, the first row on top.
    px_per_mm : float
        Pixels per millimetre of the sheet, above 0.

    Returns
    -------
    bytes
        A PNG with its resolution and an sRGB profile; same picture, same bytes.

    Examples
    --------
    >>> png_bytes(np.zeros((2, 3, 3), dtype=np.uint8), px_per_mm=4)[1:4]
    b'PNG'
    """
    dpi = px_per_mm * MM_PER_INCH
    buffer = BytesIO()
    picture = Image.fromarray(np.ascontiguousarray(srgb8))
    # A marbled picture hardly shrinks further: level 6 saves an eighth in three times the time.
    picture.save(buffer, format="PNG", dpi=(dpi, dpi), icc_profile=_srgb_profile(), compress_level=1)
    return buffer.getvalue()


def write_png(path: Place, srgb8: NDArray[np.uint8], px_per_mm: float) -> None:
    """Write a picture as PNG, whole or not at all; parameters as for `png_bytes`.

    Raises
    ------
    InputError
        Where the path cannot be written; what stood there is untouched.
    """
    write_bytes(path, png_bytes(srgb8, px_per_mm))


def write_contact_sheet(
    path: Place,
    tiles: Sequence[NDArray[np.uint8]],
    means: Sequence[str],
    captions: Sequence[str],
    px_per_mm: float,
    columns: int = 6,
) -> None:
    """Write pictures side by side, each over its mean colour and caption.

    Parameters
    ----------
    path : str or path-like
        The PNG to write.
    tiles : sequence of ndarray of uint8, each of shape (height, width, 3)
        Pictures in sRGB.
    means : sequence of str
        Mean colour of each, ``#rrggbb``.
    captions : sequence of str
        A line under each.
    px_per_mm : float
        Pixels per millimetre of the pictures.
    columns : int
        Pictures in a row.

    Raises
    ------
    InputError
        Where the path cannot be written.
    """
    height, width = np.max([tile.shape[:2] for tile in tiles], axis=0).tolist()
    across, down = max(width, _LABEL_PX) + _GAP_PX, height + 3 * _GAP_PX
    columns = min(len(tiles), columns)
    size = (columns * across + _GAP_PX, -(-len(tiles) // columns) * down + _GAP_PX)
    sheet = Image.new("RGB", size, "white")
    draw, font = ImageDraw.Draw(sheet), ImageFont.load_default(13)
    for n, (tile, mean, caption) in enumerate(zip(tiles, means, captions, strict=True)):
        x, y = n % columns * across + _GAP_PX, n // columns * down + _GAP_PX
        sheet.paste(Image.fromarray(tile), (x, y))
        draw.rectangle((x, y + height, x + width - 1, y + height + _GAP_PX - 5), fill=mean)
        draw.text((x, y + height + _GAP_PX), caption, fill="black", font=font)
    write_png(path, np.asarray(sheet), px_per_mm)


def read_photo(path: Place) -> NDArray[np.uint8]:
    """Read a photo's pixels; parameters, result and refusals as for `photo_from_bytes`.

    Raises
    ------
    InputError
        Also where the file does not exist or cannot be read.
    """
    try:
        with Path(path).open("rb") as file:
            content = file.read(MAX_PHOTO_BYTES + 1)
    except (OSError, ValueError) as error:
        refuse_path("the photo must be there to be read", path, error, "check the name and the folder")
    return photo_from_bytes(content, os.path.basename(os.fspath(path)))  # noqa: PTH119 (a name, no path)


def photo_from_bytes(content: bytes, name: str) -> NDArray[np.uint8]:
    """Decode a photo. Only its pixels are kept: place, time and camera stay behind in the file.

    Parameters
    ----------
    content : bytes
        The file's content: JPEG, PNG or WebP.
    name : str
        What the maker knows it by, for refusals.

    Returns
    -------
    ndarray of uint8, shape (rows, columns, 3)
        sRGB, upright as the camera was held. Colours of an embedded profile are turned into sRGB;
        grey and 16-bit pictures become 8 bits of red, green and blue.

    Raises
    ------
    InputError
        Where it is no such picture, damaged, larger than `MAX_PHOTO_PX` (told before decoding) or
        smaller than `MIN_PHOTO_PX` a side, moving, made for print, or see-through.
    """
    if len(content) > MAX_PHOTO_BYTES:
        checks.refuse(f"the photo must have at most {MAX_PHOTO_BYTES:,} bytes", name, _RESAVE)
    with _opened(content, name, "copy it from the camera again") as opened:
        _check_photo(opened, name)
        return _pixels(opened, name)


def clean_photo(content: bytes, name: str = "the photo") -> bytes:
    """Encode a photo anew, so that nothing but its pixels is kept.

    Parameters
    ----------
    content, name
        As for `photo_from_bytes`, whose refusals it shares.

    Returns
    -------
    bytes
        A JPEG in sRGB, upright, with every pixel's own colour and no metadata; same photo, same bytes.
    """
    buffer = BytesIO()
    pixels = Image.fromarray(photo_from_bytes(content, name))
    pixels.save(buffer, format="JPEG", quality=_PHOTO_QUALITY, subsampling=0)
    return buffer.getvalue()


def small_picture(content: bytes, longest_px: int) -> bytes:
    """Shrink a kept photo or picture to a PNG for a screen, at most so many pixels along its longer side.

    Raises
    ------
    InputError
        Where the file is damaged, or larger than `MAX_PHOTO_PX`, as none is that was kept here.
    """
    name = "a kept picture"
    with _opened(content, name, "restore it from an export") as opened:
        _check_size(opened, name)
        opened.draft("RGB", (2 * longest_px, 2 * longest_px))  # a JPEG is decoded no finer than needed
        small = Image.fromarray(np.asarray(opened.convert("RGB")))
    buffer = BytesIO()
    small.thumbnail((longest_px, longest_px))
    small.save(buffer, format="PNG")
    return buffer.getvalue()


@contextmanager
def _opened(content: bytes, name: str, remedy: str) -> Iterator[Image.Image]:
    """Open a photo with Pillow, to be decoded within; where that fails, say so in one sentence."""
    try:
        with Image.open(BytesIO(content), formats=PHOTO_FORMATS) as opened:
            yield opened
    except checks.InputError:
        raise
    except UnidentifiedImageError:
        checks.refuse(_PHOTO, name, "choose a photo in one of these formats")
    except Exception:  # on damaged files Pillow's readers raise nearly every kind there is
        checks.refuse(f"{_PHOTO}, whole and undamaged", name, remedy)


def _check_size(opened: Image.Image, name: str) -> None:
    """Refuse a picture of too many pixels, before any of them is decoded."""
    if opened.width * opened.height > MAX_PHOTO_PX:
        size = f"{name} with {opened.width} × {opened.height}"
        checks.refuse(f"the photo must have at most {MAX_PHOTO_PX:,} pixels", size, "save it smaller")


def _check_photo(opened: Image.Image, name: str) -> None:
    """Refuse by size and kind, before any pixel is decoded."""
    _check_size(opened, name)
    if min(opened.size) < MIN_PHOTO_PX:
        rule = f"the photo must have at least {MIN_PHOTO_PX} pixels a side"
        size = f"{name} with {opened.width} × {opened.height}"
        checks.refuse(rule, size, "take it from closer, or choose the camera's own file")
    # Phones store a second picture, such as a depth map, behind the first (MPO); that is no movement.
    pictures = getattr(opened, "n_frames", 1)
    if pictures > 1 and opened.format != "MPO":
        checks.refuse("the photo must not move", f"{name} with {pictures} pictures", "save one of them")
    if opened.mode in ("CMYK", "YCCK"):
        checks.refuse("the photo must be in red, green and blue", f"{name} in {opened.mode}", _RESAVE)


def _pixels(opened: Image.Image, name: str) -> NDArray[np.uint8]:
    """Decode an accepted photo to upright sRGB."""
    opened.load()
    profile = opened.info.get("icc_profile")
    upright = ImageOps.exif_transpose(opened)
    if upright.mode.startswith(("I", "F")):  # 16 bits of grey
        grey = np.asarray(upright, np.float64) / 65535
        upright = Image.fromarray(np.rint(np.clip(grey, 0, 1) * 255).astype(np.uint8))
    if upright.has_transparency_data:
        upright = upright.convert("RGBA")
        if np.asarray(upright)[..., 3].min() < 255:
            checks.refuse("the photo must have no see-through parts", name, _RESAVE)
    return np.asarray(_in_srgb(upright.convert("RGB"), profile))


def _in_srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    """Turn colours of the camera's profile into sRGB; a profile that cannot be used counts as sRGB."""
    if not profile:
        return picture
    try:
        own = ImageCms.ImageCmsProfile(BytesIO(profile))
        return ImageCms.profileToProfile(picture, own, _srgb_for_photos(), outputMode="RGB") or picture
    except (ImageCms.PyCMSError, OSError):
        return picture


@cache
def _srgb_for_photos() -> ImageCms.ImageCmsProfile:
    """Pillow's sRGB profile."""
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))


@cache
def _srgb_profile() -> bytes:
    """Pillow's sRGB profile with its date of making fixed, so that bytes repeat.

    Bytes 24-35 of an ICC header hold the date as six 16-bit numbers (ICC.1:2022,
    section 7.2.1, from memory).
    """
    made = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    made[24:36] = b"".join(part.to_bytes(2, "big") for part in (2000, 1, 1, 0, 0, 0))
    return bytes(made)
