"""Damaged photos: faults in the parts that JPEG, PNG and WebP files consist of."""

import io
import struct
import zlib
from collections.abc import Callable, Iterator
from functools import cache
from random import Random
from typing import Any

from PIL import Image, ImageCms

from .damage import damaged_bytes

# 6000 x 6000 is within the limit on pixels, so that such a picture is decoded, be there data or not.
SIDES = (0, 1, 63, 64, 96, 255, 256, 6000, 16383, 32767, 65535)
MAX_CHUNK = 2**31 - 1  # a PNG's limit on the length of a chunk
PNG_START = b"\x89PNG\r\n\x1a\n"


@cache
def photos() -> tuple[bytes, ...]:
    """Small valid pictures of every kind that a camera, a phone or a program saves."""
    width, height = 96, 72
    noise = Random("photos").randbytes(width * height * 3)
    colour = Image.frombytes("RGB", (width, height), noise).resize((24, 18)).resize((width, height))
    exif = Image.Exif()
    exif[0x0112], exif[0x010F], exif[0x8769] = 6, "Invented", {0x9003: "2026:03:14 10:00:00"}
    icc = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    deep = Image.frombytes("I;16", (width, height), noise[: width * height * 2])
    more: dict[str, Any] = {"save_all": True, "append_images": [colour.rotate(180)]}
    kinds: tuple[tuple[Image.Image, str, dict[str, Any]], ...] = (
        (colour, "JPEG", {"exif": exif, "icc_profile": icc}),
        (colour, "JPEG", {"progressive": True, "subsampling": 0}),
        (colour.convert("L"), "JPEG", {}),
        (colour.convert("CMYK"), "JPEG", {}),
        (colour, "MPO", more),
        (colour, "PNG", {"exif": exif, "icc_profile": icc, "dpi": (300, 300)}),
        (colour.convert("RGBA"), "PNG", {}),
        (colour.quantize(16), "PNG", {"transparency": 3}),
        (colour.convert("1"), "PNG", {}),
        (deep, "PNG", {}),
        (colour, "PNG", more),
        (colour, "WEBP", {"exif": exif, "icc_profile": icc}),
        (colour.convert("RGBA"), "WEBP", {"lossless": True}),
        (colour, "WEBP", more),
        (colour, "GIF", {}),
        (colour, "TIFF", {}),
    )
    return tuple(_saved(picture, kind, options) for picture, kind, options in kinds)


def _saved(picture: Image.Image, kind: str, options: dict[str, Any]) -> bytes:
    file = io.BytesIO()
    picture.save(file, kind, **options)
    return file.getvalue()


def damaged_photo(rng: Random) -> bytes:
    """One of the valid pictures with damage to its bytes or its parts."""
    content = rng.choice(photos())
    if rng.random() < 0.25:
        return damaged_bytes(content, rng)
    if content.startswith(PNG_START):
        return _png(content, rng)
    if content.startswith(b"RIFF"):
        return _webp(content, rng)
    if content.startswith(b"\xff\xd8"):
        return _jpeg(content, rng)
    return damaged_bytes(content, rng)


def _shuffled(parts: list[bytes], rng: Random) -> list[bytes]:
    """Parts with one of them removed, doubled, repeated, moved or damaged."""
    parts = list(parts)
    at, to = rng.randrange(len(parts)), rng.randrange(len(parts))
    edits: tuple[Callable[[], object], ...] = (
        lambda: parts.pop(at),
        lambda: parts.insert(to, parts[at]),
        lambda: parts.insert(to, parts.pop(at)),
        lambda: parts.__setitem__(slice(at, at), [parts[at]] * 300),
        lambda: parts.__setitem__(at, damaged_bytes(parts[at], rng)),
    )
    rng.choice(edits)()
    return parts


# --- PNG (ISO/IEC 15948): chunks of length, type, data and checksum


def chunk(kind: bytes, data: bytes) -> bytes:
    """A chunk of a PNG with a correct checksum."""
    return struct.pack(">L", len(data)) + kind + data + struct.pack(">L", zlib.crc32(kind + data))


def header(width: int, height: int, bits: int = 8, colour: int = 2, interlaced: int = 0) -> bytes:
    """The first chunk of a PNG."""
    return chunk(b"IHDR", struct.pack(">LLBBBBB", width, height, bits, colour, 0, 0, interlaced))


def _chunks(content: bytes) -> Iterator[tuple[bytes, bytes]]:
    at = len(PNG_START)
    while at < len(content):
        (length,) = struct.unpack_from(">L", content, at)
        yield content[at + 4 : at + 8], content[at + 8 : at + 8 + length]
        at += length + 12


def _png(content: bytes, rng: Random) -> bytes:
    """A PNG with faulty chunks and correct checksums."""
    found = list(_chunks(content))
    what = rng.randrange(5)
    if what == 0:
        return PNG_START + b"".join(_shuffled([chunk(*part) for part in found], rng))
    if what == 1:
        at = rng.randrange(len(found))
        found[at] = found[at][0], damaged_bytes(found[at][1], rng)
    elif what == 2:
        size = rng.choice(SIDES), rng.choice((*SIDES, MAX_CHUNK))
        depth = rng.choice((0, 1, 2, 4, 8, 16, 255)), rng.choice((0, 2, 3, 4, 6, 255)), rng.randrange(3)
        found[0] = b"IHDR", header(*size, *depth)[8:-4]
    elif what == 3:
        found.insert(1, rng.choice(_bombs()))
    else:
        zeros = zlib.compress(b"\0" * rng.choice((0, 1, 1_000_000)))
        found = [(b"IDAT", zeros) if kind == b"IDAT" else (kind, data) for kind, data in found]
    return PNG_START + b"".join(chunk(*part) for part in found)


@cache
def _bombs() -> tuple[tuple[bytes, bytes], ...]:
    """Chunks of text and profiles that unpack a thousandfold, and counts of missing frames."""
    zeros = zlib.compress(b"\0" * 30_000_000)
    return (
        (b"zTXt", b"a\0\0" + zeros),
        (b"iCCP", b"a\0\0" + zeros),
        (b"iTXt", b"a\0\1\0\0\0" + zeros),
        (b"acTL", struct.pack(">LL", 2**31 - 1, 0)),
        (b"acTL", struct.pack(">LL", 1, 0)),
        (b"eXIf", b"II*\0\xff\xff\xff\xff"),
        (b"tRNS", b"\0" * 6),
        (b"gAMA", b"\0\0\0\0"),
        (b"pHYs", b"\0" * 9),
    )


# --- JPEG (ITU-T T.81): marker segments, each with its length


def _segments(content: bytes) -> list[bytes]:
    """The segments before the picture's data, then everything from the data on as the last one."""
    parts, at = [content[:2]], 2
    while content[at : at + 1] == b"\xff" and content[at + 1] != 0xDA:
        (length,) = struct.unpack_from(">H", content, at + 2)
        parts.append(content[at : at + 2 + length])
        at += 2 + length
    return [*parts, content[at:]]


def _jpeg(content: bytes, rng: Random) -> bytes:
    """A JPEG with faulty segments: sizes, tables, metadata."""
    parts = _segments(content)
    what = rng.randrange(4)
    if what == 0:
        return b"".join(_shuffled(parts, rng))
    at = rng.randrange(1, len(parts))
    if what == 1:  # the stated length agrees
        body = damaged_bytes(parts[at][4:], rng)
        parts[at] = parts[at][:2] + struct.pack(">H", min(len(body) + 2, 65535)) + body
    elif what == 2:
        frame = next(n for n, part in enumerate(parts) if part[1] in (0xC0, 0xC1, 0xC2))
        size = struct.pack(">HH", rng.choice(SIDES), rng.choice(SIDES))
        parts[frame] = parts[frame][:5] + size + parts[frame][9:]
    else:
        parts.insert(1, rng.choice(_written()))
    return b"".join(parts)


@cache
def _written() -> tuple[bytes, ...]:
    """Segments of EXIF, XMP, profiles and further pictures with false contents."""
    loop = b"II*\0\x08\0\0\0\x01\0\x69\x87\x04\0\x01\0\0\0\x08\0\0\0\x08\0\0\0"  # a directory within itself
    turned = b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0%c\0\0\0\0\0\0"
    many = b"II*\0\x08\0\0\0\xff\xff" + b"\x12\x01\x02\0\xff\xff\xff\xff\x10\0\0\0" * 40
    xmp = b"http://ns.adobe.com/xap/1.0/\0<x tiff:Orientation='9'/>" + b"<" * 5000
    return tuple(
        b"\xff" + mark + struct.pack(">H", len(body) + 2) + body
        for mark, body in (
            *((b"\xe1", b"Exif\0\0" + (turned % value)) for value in (0, 1, 3, 8, 9, 255)),
            (b"\xe1", b"Exif\0\0" + loop),
            (b"\xe1", b"Exif\0\0" + many),
            (b"\xe1", b"Exif\0\0"),
            (b"\xe1", xmp),
            (b"\xe2", b"ICC_PROFILE\0\1\1" + b"\0" * 200),
            (b"\xe2", b"ICC_PROFILE\0\xff\0" + b"acsp" * 200),
            (b"\xe2", b"MPF\0II*\0\x08\0\0\0\x01\0\x01\xb0\x04\0\x01\0\0\0\xff\xff\0\0\0\0\0\0"),
            (b"\xed", b"Photoshop 3.0\0" + b"8BIM" * 99),
            (b"\xee", b"Adobe\0d\0\0\0\0\0\7"),
        )
    )


# --- WebP (RFC 9649): a RIFF container of chunks, each padded to an even length


def _webp(content: bytes, rng: Random) -> bytes:
    """A WebP with faulty chunks and a correct container length."""
    parts, at = [], 12
    while at + 8 <= len(content):
        (length,) = struct.unpack_from("<L", content, at + 4)
        parts.append(content[at : at + 8 + length + length % 2])
        at += 8 + length + length % 2
    if rng.random() < 0.5:
        parts = _shuffled(parts, rng)
    else:
        at = rng.randrange(len(parts))
        size = rng.choice((0, 255, 6000, 16383, 2**24 - 1)).to_bytes(3, "little") * 2
        where = rng.choice((12, 14, 8, 18))
        parts[at] = parts[at][:where] + size + parts[at][where + 6 :]
    body = b"WEBP" + b"".join(parts)
    return b"RIFF" + struct.pack("<L", len(body)) + body
