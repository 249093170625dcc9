"""Photos from cameras and phones: checked, decoded, and kept without metadata."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from .. import checks
from . import image_codec
from .atomic_write import Place, refuse_path

PHOTO_FORMATS = ("JPEG", "PNG", "WEBP")
MAX_PHOTO_BYTES = 80_000_000
MAX_PHOTO_PX = 40_000_000
MIN_PHOTO_PX = 64  # a side; below that no marbling shows
_PHOTO = "the photo must be a JPEG, PNG or WebP file"
_PHOTO_QUALITY = 92  # of a kept JPEG: preserves fine marbling at about half a byte a pixel
_RESAVE = "save it again as a plain JPEG or PNG"


def read_photo(path: Place) -> NDArray[np.uint8]:
    """Read a photo's pixels; parameters, result and errors as for `photo_from_bytes`.

    InputError also where the file does not exist or cannot be read.
    """
    try:
        with Path(path).open("rb") as file:
            content = file.read(MAX_PHOTO_BYTES + 1)
    except (OSError, ValueError) as error:
        refuse_path("the photo must be there to be read", path, error, "check the name and the folder")
    return photo_from_bytes(content, os.path.basename(os.fspath(path)))  # noqa: PTH119 (a name, no path)


def photo_from_bytes(content: bytes, name: str) -> NDArray[np.uint8]:
    """Decode a photo to its pixels; place, time and camera data are dropped.

    InputError where it is not such a picture, damaged, larger than `MAX_PHOTO_PX` (refused before decoding)
    or smaller than `MIN_PHOTO_PX` a side, animated, made for print, or transparent.

    Parameters
    ----------
    content : bytes
        The file's content: JPEG, PNG or WebP.
    name : str
        Its name in error messages.

    Returns
    -------
    ndarray of uint8, shape (rows, columns, 3)
        sRGB, upright as the camera was held. Colours with an embedded profile are converted to sRGB;
        grey and 16-bit pictures become 8 bits of red, green and blue.
    """
    if len(content) > MAX_PHOTO_BYTES:
        checks.refuse(f"the photo must have at most {MAX_PHOTO_BYTES:,} bytes", name, _RESAVE)
    with _opened(content, name, "copy it from the camera again") as opened:
        _check_photo(opened, name)
        picture = image_codec.upright(opened)
        if image_codec.is_transparent(picture):
            checks.refuse("the photo must not be transparent", name, _RESAVE)
        return image_codec.srgb8(picture, opened.info.get("icc_profile"))


def clean_photo(content: bytes) -> bytes:
    """Re-encode a photo so that only its pixels are kept; errors as for `photo_from_bytes`.

    The result is a JPEG in sRGB, upright, without chroma subsampling or metadata; same photo, same bytes.
    """
    return image_codec.jpeg(photo_from_bytes(content, "the photo"), _PHOTO_QUALITY)


def small_picture(content: bytes, longest_px: int) -> bytes:
    """Shrink a kept photo or picture to a PNG thumbnail.

    InputError where the file is damaged, or larger than `MAX_PHOTO_PX`.

    Parameters
    ----------
    longest_px : int
        Pixels along the longer side, at most.
    """
    name = "a kept picture"
    with _opened(content, name, "restore it from an export") as opened:
        _check_size(opened, name)
        return image_codec.thumbnail_png(opened, longest_px)


@contextmanager
def _opened(content: bytes, name: str, remedy: str) -> Iterator[image_codec.Picture]:
    """Open a photo for decoding; refuse it where opening or decoding fails."""
    try:
        with image_codec.opened(content, PHOTO_FORMATS) as picture:
            yield picture
    except checks.InputError:
        raise
    except image_codec.UnknownFormatError:
        checks.refuse(_PHOTO, name, "choose a photo in one of these formats")
    except Exception:  # on damaged files Pillow raises almost any kind of exception
        checks.refuse(f"{_PHOTO}, whole and undamaged", name, remedy)


def _check_size(opened: image_codec.Picture, name: str) -> None:
    """Refuse a picture of too many pixels before decoding."""
    if opened.width * opened.height > MAX_PHOTO_PX:
        size = f"{name} with {opened.width} × {opened.height}"
        checks.refuse(f"the photo must have at most {MAX_PHOTO_PX:,} pixels", size, "save it smaller")


def _check_photo(opened: image_codec.Picture, name: str) -> None:
    """Refuse a photo by size and kind before decoding."""
    _check_size(opened, name)
    if min(opened.size) < MIN_PHOTO_PX:
        rule = f"the photo must have at least {MIN_PHOTO_PX} pixels a side"
        size = f"{name} with {opened.width} × {opened.height}"
        checks.refuse(rule, size, "take it from closer, or choose the camera's own file")
    # Phones store a second picture, such as a depth map, behind the first (MPO); that is not an animation.
    pictures = getattr(opened, "n_frames", 1)
    if pictures > 1 and opened.format != "MPO":
        checks.refuse(
            "the photo must not be animated", f"{name} with {pictures} pictures", "save one of them"
        )
    if opened.mode in ("CMYK", "YCCK"):
        checks.refuse("the photo must be in red, green and blue", f"{name} in {opened.mode}", _RESAVE)
