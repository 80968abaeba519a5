"""Photos as phones take them, made for the tests: with the place in them, turned, too large, made to trip a reader."""

from __future__ import annotations

import io
import struct
import zlib
from typing import Any, Final

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageDraw
from PIL.ExifTags import GPS, IFD, Base

CAMERA: Final = "Invented Lens 7"
NORTH: Final = (41.0, 37.0, 12.625)
"""Degrees, minutes and seconds, as a camera writes them."""


def photo_bytes(kind: str = "JPEG", *, wide: int = 320, high: int = 200, turned: int = 1, **more: Any) -> bytes:
    """A photo, red on its left half and blue on its right as the sensor saw it, with the place it was taken at.

    Of kind JPEG, PNG or WEBP; `turned` is the EXIF orientation a viewer has to undo.
    """
    image = Image.new("RGB", (wide, high), (200, 0, 0))
    ImageDraw.Draw(image).rectangle((wide // 2, 0, wide, high), fill=(0, 0, 200))
    exif = Image.Exif()
    exif[Base.Orientation] = turned
    exif[Base.Model] = CAMERA
    exif.get_ifd(IFD.GPSInfo).update({GPS.GPSLatitudeRef: "N", GPS.GPSLatitude: NORTH})
    held = io.BytesIO()
    image.save(held, kind, exif=exif, **more)
    return held.getvalue()


def sent_photo(data: bytes | None = None, name: str = "IMG_2031.jpg", kind: str = "image/jpeg") -> SimpleUploadedFile:
    """A photo as a browser sends it."""
    return SimpleUploadedFile(name, photo_bytes() if data is None else data, kind)


def png_chunk(kind: bytes, data: bytes) -> bytes:
    """One chunk of a PNG."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png_bomb(wide: int, high: int, extra: bytes = b"") -> bytes:
    """A PNG of one-bit pixels, all white: some kilobytes that unpack to as many pixels as are asked for."""
    head = png_chunk(b"IHDR", struct.pack(">IIBBBBB", wide, high, 1, 0, 0, 0, 0))
    packer = zlib.compressobj(9)
    row = b"\x00" + b"\xff" * ((wide + 7) // 8)
    pixels = b"".join(packer.compress(row) for _ in range(min(high, 9000))) + packer.flush()
    return b"\x89PNG\r\n\x1a\n" + head + extra + png_chunk(b"IDAT", pixels) + png_chunk(b"IEND", b"")
