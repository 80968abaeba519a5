"""The shapes of a shapefile (``.shp``): points as they stand, patches by their middle and area.

Records are read in blocks. Those of one length that follow each other – all points of a log, the four-cornered patches
of a map – are decoded at once; every stated length and count is held against what is there before it is used.

References
----------
esri-shapefile-1998
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, BinaryIO, Final

import numpy as np
import numpy.typing as npt

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.patch_shapes import middles_and_areas
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.trace import FloatArray, IntArray

Bytes = npt.NDArray[np.uint8]

FILE_CODE: Final = 9994
HEAD: Final = 100
RECORD_HEAD: Final = 8
BLOCK_BYTES: Final = 1 << 23
MOST_RECORD_BYTES: Final = 1 << 24
NULL: Final = 0
POINTS: Final = (1, 11, 21)
LINES: Final = (3, 13, 23)
PATCHES: Final = (5, 15, 25)
MULTIPOINTS: Final = (8, 18, 28)
# Bytes of a record from its type on to its last plane coordinate, and where counts stand in those with several points.
POINT_BYTES: Final = 20
BOX_BYTES: Final = 36
LINE_TYPES: Final = "it holds lines, not points: a line tells where, not when"


@dataclass(frozen=True, slots=True)
class Shapes:
    """Shapes in file order [shapes], in the unit of their grid; nan where there is no place.

    ``area`` is None for points. ``several`` counts shapes of more than one point, told by their middle; ``damaged``
    those whose counts cannot be, ``lost_bytes`` what no record could be made of at the end.
    """

    x: FloatArray
    y: FloatArray
    area: FloatArray | None
    several: int
    empty: int
    damaged: int
    lost_bytes: int


@dataclass(slots=True)
class _Found:
    """What the blocks held so far."""

    x: list[FloatArray]
    y: list[FloatArray]
    area: list[FloatArray]
    several: int = 0
    empty: int = 0
    damaged: int = 0
    lost_bytes: int = 0
    records: int = 0


def is_shapes(head: bytes) -> bool:
    """Return whether a file begins as shapes do.

    Example
    -------
    >>> is_shapes(bytes.fromhex("0000270a") + bytes(24) + bytes.fromhex("e8030000"))
    True
    """
    return len(head) >= 32 and head[:4] == FILE_CODE.to_bytes(4) and head[28:32] == (1000).to_bytes(4, "little")


def shapes_in(file: SentFile, *, progress: Callable[[float], None] | None = None) -> Shapes:
    """Return the shapes of a file.

    Raises
    ------
    LogRefused
        When it is damaged at its beginning, or holds neither points nor patches.
    """
    with file.open() as stream:
        head = stream.read(HEAD)
        if len(head) < HEAD or not is_shapes(head):
            raise _refused(file, "start of the file", "it is cut off in its header or is no shapefile")
        (kind,) = struct.unpack_from("<i", head, 32)
        _check_kind(file, kind)
        found = _Found([np.zeros(0)], [np.zeros(0)], [np.zeros(0)])
        for block, begins, contents in _blocks(stream, found, progress):
            _decode(found, kind, block, (begins, contents))
            file.limits.check_held(found.records, "shapes", file=file.name)
    area = np.concatenate(found.area) if kind in PATCHES else None
    return Shapes(
        np.concatenate(found.x), np.concatenate(found.y), area,
        several=found.several, empty=found.empty, damaged=found.damaged, lost_bytes=found.lost_bytes,
    )  # fmt: skip


def _check_kind(file: SentFile, kind: int) -> None:
    if kind in (*POINTS, *PATCHES, *MULTIPOINTS):
        return
    reason = LINE_TYPES if kind in LINES else f"its shapes are of type {kind}, neither points nor polygons"
    raise LogRefused(file.name, place="header", reason=reason, remedy="Export the log as points, one for each record")


def _blocks(
    stream: BinaryIO, found: _Found, progress: Callable[[float], None] | None
) -> Iterator[tuple[Bytes, IntArray, IntArray]]:
    """Yield bytes with where each whole record in them begins, and how many bytes of content it has."""
    size = stream.seek(0, 2)
    at = stream.seek(HEAD)
    data, need, sound = b"", 0, True
    while sound and at + len(data) < size:
        data += stream.read(max(BLOCK_BYTES, need - len(data)))
        begins, contents, done = _records_in(data)
        if contents.size:
            yield np.frombuffer(data, np.uint8), begins, contents
        data, at = data[done:], at + done
        need = RECORD_HEAD + _content(data, 0)
        sound = len(data) < RECORD_HEAD or (4 <= need - RECORD_HEAD <= MOST_RECORD_BYTES and at + need <= size)
        if progress:
            progress(at / size)
    found.lost_bytes = size - at


def _records_in(data: bytes) -> tuple[IntArray, IntArray, int]:
    """Return where the whole records of a block begin, their bytes of content, and where the first other one begins."""
    block, place = np.frombuffer(data, np.uint8), 0
    begins, contents = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    while place + RECORD_HEAD <= len(data):
        content = _content(data, place)
        length = RECORD_HEAD + content
        if not 4 <= content <= MOST_RECORD_BYTES or place + length > len(data):
            break
        count = 1
        if data[place + 4 : place + 8] == data[place + length + 4 : place + length + 8]:
            count = _alike(block, place, length)
        begins.append(place + length * np.arange(count))
        contents.append(np.full(count, content))
        place += length * count
    return np.concatenate(begins), np.concatenate(contents), place


def _content(data: bytes, place: int) -> int:
    """Return the bytes of content the head of a record states; it counts in words of two bytes."""
    return 2 * int.from_bytes(data[place + 4 : place + 8])


def _alike(block: Bytes, place: int, length: int) -> int:
    """Return how many records from a place on have this length; looked up in growing steps, as runs may be short."""
    whole, count, ahead = (block.size - place) // length, 1, 8
    lengths = np.lib.stride_tricks.as_strided(
        block[place + 4 :], shape=(whole, 4), strides=(length, 1), writeable=False
    )
    while count < whole:
        ahead = min(ahead * 8, whole)
        same = (lengths[count:ahead] == lengths[0]).all(axis=1)
        if not same.all():
            return count + int(np.argmin(same))
        count = ahead
    return max(whole, 1)


def _decode(found: _Found, kind: int, block: Bytes, records: tuple[IntArray, IntArray]) -> None:
    """Add the records of a block, those of one length at once; those of another type than the file's have no place."""
    begins, contents = records
    count = begins.size
    into = np.full(count, np.nan), np.full(count, np.nan), np.full(count, np.nan)
    types = _taken(block, begins + RECORD_HEAD, "<i4", 1)[:, 0]
    found.records += count
    found.empty += int((types == NULL).sum())
    found.damaged += int(((types != kind) & (types != NULL)).sum())
    for these in _same(contents[:, None], np.flatnonzero(types == kind)):
        content = int(contents[these[0]])
        if kind in POINTS and content >= POINT_BYTES:
            places = _taken(block, begins[these] + RECORD_HEAD + 4, "<f8", 2)
            into[0][these], into[1][these] = places[:, 0], places[:, 1]
        elif kind in POINTS:
            found.damaged += these.size
        else:
            _decode_several(found, block, (begins, these, content), into, patches=kind in PATCHES)
    for whole, part in zip((found.x, found.y, found.area), into, strict=True):
        whole.append(part)


def _decode_several(
    found: _Found,
    block: Bytes,
    run: tuple[IntArray, IntArray, int],
    into: tuple[FloatArray, FloatArray, FloatArray],
    *,
    patches: bool,
) -> None:
    """Fill in the middles of shapes of several points, those with the same counts at once."""
    begins, ours, content = run
    counts_at, width = (BOX_BYTES, 2) if patches else (BOX_BYTES, 1)
    if content < counts_at + 4 * width:
        found.damaged += ours.size
        return
    counts = _taken(block, begins[ours] + RECORD_HEAD + counts_at, "<i4", width).astype(np.int64)
    rings = counts[:, 0] if patches else np.zeros(ours.size, dtype=np.int64)
    points = counts[:, -1]
    places_at = counts_at + 4 * width + 4 * rings
    sound = (rings >= (1 if patches else 0)) & (points > 0) & (rings <= content) & (points <= content)
    sound &= places_at + 16 * points <= content
    found.damaged += int((~sound).sum())
    for these in _same(np.stack([rings, points], axis=1), np.flatnonzero(sound)):
        ring_count, point_count = int(rings[these[0]]), int(points[these[0]])
        begin = begins[ours[these]] + RECORD_HEAD
        firsts = _taken(block, begin + counts_at + 8, "<i4", ring_count) if patches else None
        vertices = _taken(block, begin + places_at[these[0]], "<f8", 2 * point_count)
        told = middles_and_areas(vertices.reshape(-1, point_count, 2), firsts)
        for whole, part in zip(into, told, strict=True):
            whole[ours[these]] = part
    found.several += 0 if patches else int((points[sound] > 1).sum())


def _same(keys: IntArray, rows: IntArray) -> Iterator[IntArray]:
    """Yield the rows with equal keys together."""
    if not rows.size:
        return
    order = rows[np.lexsort(keys[rows].T)]
    breaks = np.flatnonzero((np.diff(keys[order], axis=0) != 0).any(axis=1)) + 1
    yield from np.split(order, breaks)


def _taken(block: Bytes, begins: IntArray, kind: str, count: int) -> npt.NDArray[Any]:
    """Return so many numbers of a kind from each place in the bytes [places, count]."""
    width = np.dtype(kind).itemsize * count
    taken = block[begins[:, None] + np.arange(width)]
    return np.ascontiguousarray(taken).view(kind).reshape(begins.size, count)


def _refused(file: SentFile, place: str, reason: str) -> LogRefused:
    return LogRefused(file.name, place=place, reason=reason, remedy="Export or copy the shapefile again")
