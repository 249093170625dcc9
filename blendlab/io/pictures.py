"""Predicted pictures as PNG files of true size and colour; the same picture gives the same bytes."""

from collections.abc import Sequence
from io import BytesIO

import numpy as np
from numpy.typing import NDArray

from ..units import MM_PER_INCH
from . import image_codec
from .atomic_write import Place, write_with


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
    return picture_bytes(_whole(srgb8), px_per_mm)


def picture_bytes(picture: image_codec.Picture, px_per_mm: float) -> bytes:
    """Encode a picture from `image_codec.picture_of`, as `png_bytes` does."""
    buffer = BytesIO()
    image_codec.write_png(buffer, picture, px_per_mm * MM_PER_INCH)
    return buffer.getvalue()


def read_png(content: bytes) -> NDArray[np.uint8]:
    """Return the pixels of a PNG written here, shape (height, width, 3)."""
    with image_codec.opened(content, ("PNG",)) as picture:
        return np.array(picture)


def write_png(path: Place, srgb8: NDArray[np.uint8], px_per_mm: float) -> None:
    """Write a picture as PNG; parameters as for `png_bytes`, refusals as for `write_with`."""
    write_picture(path, _whole(srgb8), px_per_mm)


def write_picture(path: Place, picture: image_codec.Picture, px_per_mm: float) -> None:
    """Write a picture from `image_codec.picture_of`, as `write_png` does."""
    write_with(path, lambda file: image_codec.write_png(file, picture, px_per_mm * MM_PER_INCH))


def _whole(srgb8: NDArray[np.uint8]) -> image_codec.Picture:
    """Return a picture of one strip."""
    rows, columns = srgb8.shape[:2]
    return image_codec.picture_of((rows, columns), [(slice(0, rows), srgb8)])


def write_contact_sheet(
    path: Place,
    tiles: Sequence[NDArray[np.uint8]],
    means: Sequence[str],
    captions: Sequence[str],
    px_per_mm: float,
    columns: int = 6,
) -> None:
    """Write pictures side by side, each over its mean colour and caption.

    InputError where the path cannot be written.

    Parameters
    ----------
    tiles : sequence of ndarray of uint8, each of shape (height, width, 3)
        Pictures in sRGB.
    means : sequence of str
        Mean colour of each, ``#rrggbb``.
    """
    write_png(path, image_codec.contact_sheet(tiles, means, captions, columns), px_per_mm)
