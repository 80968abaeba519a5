"""The cells of a dBASE table: numbers written as digits or stored in bytes, texts, days and moments.

References
----------
dbase-3
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.trace import FloatArray
from wetrun.units import SECOND

Bytes = npt.NDArray[np.uint8]

ASTERISK: Final = ord("*")
BLANK: Final = ord(" ")
NUMBER_BYTES: Final = np.isin(np.arange(256), np.frombuffer(b"0123456789+-.eE \0", np.uint8))
# A day count of the table's own moment type: Julian day of 1970-01-01.
JULIAN_EPOCH: Final = 2_440_588
# How whole numbers and doubles are stored where they are not written as digits: by letter and width.
BINARY: Final = {("I", 4): "<i4", ("+", 4): "<i4", ("O", 8): "<f8"}
MOMENTS: Final = (("@", 8), ("T", 8))


@dataclass(frozen=True, slots=True)
class Field:
    """One column: its name, letter of its type, place in a row and width [byte].

    ``encoding`` is None where the file names none; ``visual`` tables store doubles under a letter of their own.
    """

    name: str
    letter: str
    start: int
    width: int
    encoding: str | None = None
    visual: bool = False


@dataclass(slots=True)
class CellCounts:
    """Cells met so far that were not as they should be."""

    undecodable: int = 0
    starred: int = 0


def values_in(field: Field, block: Bytes, counts: CellCounts) -> FloatArray | list[str]:
    """Return the values of a field in a block: numbers where all of them are, else texts."""
    cells = block[:, field.start : field.start + field.width].copy()
    kind = BINARY.get((field.letter, field.width))
    if field.letter == "B" and field.width == 8 and field.visual:
        kind = "<f8"
    if kind:
        return np.asarray(cells.view(kind)[:, 0].astype(np.float64))
    if (field.letter, field.width) in MOMENTS:
        return [_iso(moment_s) for moment_s in _moments(cells).tolist()]
    if field.letter in "NF":
        starred = (cells == ASTERISK).all(axis=1)
        cells[starred] = BLANK
        counts.starred += int(starred.sum())
        numbers = _numbers(cells)
        if numbers is not None:
            return numbers
    texts, failed = _texts(cells, field.encoding)
    counts.undecodable += failed
    return list(map(_dashed, texts)) if field.letter == "D" else texts


def _numbers(cells: Bytes) -> FloatArray | None:
    """Return numbers written as digits, nan where nothing is written, None where some are no numbers at all."""
    if not NUMBER_BYTES[cells].all():
        return None
    cells = np.where(cells == 0, np.uint8(BLANK), cells)
    empty = (cells == BLANK).all(axis=1)
    cells[empty, 0] = ord("0")
    try:
        numbers = cells.view(f"S{cells.shape[1]}")[:, 0].astype(np.float64)
    except ValueError:
        return None
    numbers[empty] = np.nan
    return numbers


def _texts(cells: Bytes, encoding: str | None) -> tuple[list[str], int]:
    width = cells.shape[1]
    data = cells.tobytes()
    texts, failed = [], 0
    known: dict[bytes, str] = {}  # a column of text mostly repeats itself
    for at in range(0, len(data), width):
        raw = data[at : at + width]
        text = known.get(raw)
        if text is None:
            text = text_in(raw, encoding)
            if len(known) < 4096:
                known[raw] = text
        failed += "\ufffd" in text
        texts.append(text)
    return texts, failed


def text_in(raw: bytes, encoding: str | None) -> str:
    """Return a text up to its first zero byte; without a stated encoding UTF-8, and Latin-1 where it is not that."""
    raw = raw.split(b"\0")[0]
    try:
        return raw.decode(encoding or "utf-8").strip()
    except UnicodeDecodeError:
        return (raw.decode(encoding, errors="replace") if encoding else raw.decode("latin-1")).strip()


def _dashed(day: str) -> str:
    """Return a date of eight digits as ISO 8601 writes it."""
    return f"{day[:4]}-{day[4:6]}-{day[6:]}" if len(day) == 8 and day.isdecimal() else day


def _moments(cells: Bytes) -> Annotated[FloatArray, SECOND]:
    day, ms = cells.view("<i4")[:, 0].astype(np.float64), cells.view("<i4")[:, 1].astype(np.float64)
    sound = (day > 0) & (ms >= 0) & (ms < 86_400_000)
    return np.where(sound, (day - JULIAN_EPOCH) * 86_400 + ms / 1000, np.nan)


def _iso(moment_s: float) -> str:
    if not abs(moment_s) < 2e11:
        return ""
    return f"{np.datetime64(round(moment_s * 1000), 'ms')}Z"
