"""Makes a photo safe to keep: told by its content, bounded before it is unpacked, upright, its pixels and nothing else.

A camera writes into a photo where it was taken, when and with what. None of that is carried over: the pixels are put
on an empty sheet and written anew. Colours of a wide gamut come out a little paler, as their profile stays behind too.
"""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from django.utils.translation import gettext as _
from PIL import Image, ImageOps

MOST_PIXELS: Final = 50_000_000
"""What a phone's camera takes at its finest (common practice, no source); unpacked that is 200 MB."""
LONGEST_SIDE: Final = 1600
"""Of what is kept [pixel]: a cracked hose can be seen, and a page of twenty loads in the yard."""
QUALITY: Final = 82
FIRST_BYTES: Final = 32
_FORMATS: Final = ("JPEG", "PNG", "WEBP")
_HEIC: Final = frozenset({b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif", b"avis"})
_BROKEN: Final = (
    *(OSError, SyntaxError, ValueError, TypeError, EOFError, IndexError, KeyError, OverflowError),
    *(ZeroDivisionError, struct.error, zlib.error, MemoryError),
)
"""What Pillow raises on files that were made to trip it, as far as its own tests know."""


class NoPhoto(ValueError):  # noqa: N818 - named as a reader would say it
    """A file that is not kept as a photo, with a sentence."""


@dataclass(frozen=True, slots=True)
class Clean:
    """A photo written anew.

    Attributes
    ----------
    jpeg : bytes
        JPEG without anything but pixels.
    wide, high : int
        Its sides [pixel].
    """

    jpeg: bytes
    wide: int
    high: int


def check_kind(first: bytes) -> None:
    """Refuse what does not begin as a photo does, whatever it is called.

    Parameters
    ----------
    first : bytes
        The first bytes of the file.

    Raises
    ------
    NoPhoto
        With what to do.

    Example
    -------
    >>> check_kind(bytes.fromhex("ffd8ffe0"))
    """
    if first.startswith((b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n")):
        return
    if first[:4] == b"RIFF" and first[8:12] == b"WEBP":
        return
    if first[4:8] == b"ftyp" and first[8:12] in _HEIC:
        raise NoPhoto(
            _(
                "This photo is HEIC or AVIF, which not every device can show, so it is not taken. Have the camera "
                "write JPEG (its settings call that “most compatible”), or send a screenshot of the photo."
            )
        )
    raise NoPhoto(_("This is no photo: JPEG, PNG and WebP are taken, told by what is in the file and not by its name."))


def clean_photo(file: Path) -> Clean:
    """Return a photo as it is kept.

    Parameters
    ----------
    file : Path
        As it came in.

    Returns
    -------
    Clean
        Upright, its longer side at most `LONGEST_SIDE`.

    Raises
    ------
    NoPhoto
        If it is none, is broken, or holds more than `MOST_PIXELS`; then it was not unpacked.
    """
    with file.open("rb") as opened:
        check_kind(opened.read(FIRST_BYTES))
    try:
        with warnings.catch_warnings(), Image.open(file, formats=_FORMATS) as image:
            # What is odd about a photo's remarks does not matter: none of them is kept.
            warnings.simplefilter("ignore")
            _check_pixels(*image.size)
            return _written(_small(image))
    except NoPhoto:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_many() from None
    except _BROKEN:
        words = _("The photo is broken or not whole: it cannot be read. Take it again, or send it once more.")
        raise NoPhoto(words) from None


def _check_pixels(wide: int, high: int) -> None:
    if wide * high > MOST_PIXELS:
        raise _too_many()


def _too_many() -> NoPhoto:
    words = _("The photo has more than %(most)s million pixels. Take it at a lower setting of the camera.")
    return NoPhoto(words % {"most": MOST_PIXELS // 1_000_000})


def _small(image: Image.Image) -> Image.Image:
    # A JPEG can be unpacked at half, a quarter or an eighth at once; of other kinds nothing happens here.
    image.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
    image.load()
    image.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    return ImageOps.exif_transpose(image)


def _written(image: Image.Image) -> Clean:
    """Put the pixels alone on an empty sheet: what hangs on the image they came from stays there."""
    sheet = Image.new("RGB", image.size, "white")
    if image.has_transparency_data:
        seen = image.convert("RGBA")
        sheet.paste(seen, mask=seen.getchannel("A"))
    else:
        sheet.paste(image.convert("RGB"))
    held = io.BytesIO()
    sheet.save(held, "JPEG", quality=QUALITY, optimize=True)
    return Clean(held.getvalue(), *sheet.size)
