"""The attribute table of a shapefile (dBASE, ``.dbf``): a header, field descriptors and rows of fixed width.

Only the columns asked for are decoded, block by block, so that names and serial numbers are passed over unread. Every
length is checked against the size of the file before anything is set aside for it.

References
----------
dbase-3
"""

from __future__ import annotations

import codecs
import struct
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import BinaryIO, Final

import numpy as np
import numpy.typing as npt

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.column_table import NamedColumn
from wetrun.fieldlog.readers.dbase_cells import Bytes, CellCounts, Field, text_in, values_in
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.trace import Doubt, FloatArray

HEAD: Final = 32
DESCRIPTOR: Final = 32
HEADER_END: Final = 0x0D
MOST_FIELDS: Final = 2046
MOST_ROW_BYTES: Final = 65_535
DELETED: Final = ord("*")
BLOCK_BYTES: Final = 1 << 23
VISUAL_VERSIONS: Final = (0x30, 0x31, 0x32)


@dataclass(frozen=True, slots=True)
class DbaseTable:
    """An opened table: its fields, where rows begin, how wide and how many they are, and what was doubtful.

    ``rows`` are those that are there; ``stated`` is the number in the header.
    """

    file: SentFile
    fields: tuple[Field, ...]
    begin: int
    row_bytes: int
    rows: int
    stated: int
    doubts: tuple[Doubt, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the columns."""
        return tuple(field.name for field in self.fields)


@dataclass(frozen=True, slots=True)
class DbaseColumns:
    """Decoded columns [rows], which rows are marked as deleted, and how many cells were not as they should be.

    ``undecodable`` texts are not in the stated encoding; ``starred`` numbers are full of asterisks, as writers mark one
    that is missing or too long.
    """

    columns: tuple[NamedColumn, ...]
    deleted: npt.NDArray[np.bool_]
    undecodable: int
    starred: int


def table_head(file: SentFile, *, encoding: str | None) -> DbaseTable:
    """Return the fields of a table; ``encoding`` is that of the code page file, None without one.

    Raises
    ------
    LogRefused
        When the header cannot be that of a table, or describes rows that cannot be.
    """
    with file.open() as stream:
        head = stream.read(HEAD)
        if len(head) < HEAD:
            raise _refused(file, "byte 0", "the table of values is shorter than its header")
        stated, begin, row_bytes = struct.unpack_from("<IHH", head, 4)
        descriptors = stream.read(max(begin - HEAD, 0))
        size = stream.seek(0, 2)
    fields = _fields(file, descriptors, encoding, visual=head[0] in VISUAL_VERSIONS)
    widths = 1 + sum(field.width for field in fields)
    if begin <= HEAD or begin > size or not fields or widths > row_bytes or row_bytes > MOST_ROW_BYTES:
        reason = f"its header says rows of {row_bytes} bytes from byte {begin}, its {len(fields)} columns need {widths}"
        raise _refused(file, "header", reason)
    rows = min(stated, (size - begin) // row_bytes)
    doubts = () if rows == stated else (_rows_missing(file, rows, stated),)
    return DbaseTable(file, fields, begin, row_bytes, rows, stated, doubts)


def columns_of(
    table: DbaseTable, names: Sequence[str], *, rows: int, progress: Callable[[float], None] | None = None
) -> DbaseColumns:
    """Return the named columns of the first rows of a table, in the order of the table.

    Raises
    ------
    LogRefused
        When the file breaks off while it is read.
    """
    wanted = [field for field in table.fields if field.name in names]
    parts: list[list[FloatArray | list[str]]] = [[] for _ in wanted]
    deleted, counts = [np.zeros(0, dtype=np.bool_)], CellCounts()
    at_once = max(BLOCK_BYTES // table.row_bytes, 1)
    with table.file.open() as stream:
        stream.seek(table.begin)
        for first in range(0, rows, at_once):
            block = _block(table, stream, min(at_once, rows - first))
            deleted.append(block[:, 0] == DELETED)
            for field, into in zip(wanted, parts, strict=True):
                into.append(values_in(field, block, counts))
            if progress:
                progress((first + len(block)) / rows)
    columns = tuple(NamedColumn(field.name, _joined(into)) for field, into in zip(wanted, parts, strict=True))
    return DbaseColumns(columns, np.concatenate(deleted), counts.undecodable, counts.starred)


def code_page(file: SentFile | None) -> tuple[str | None, Doubt | None]:
    """Return the encoding a code page file (``.cpg``) names, None where it is none known, and a doubt about it.

    Example
    -------
    >>> code_page(None)
    (None, None)
    """
    if file is None:
        return None, None
    name = file.head(64).decode("ascii", errors="replace").strip().strip("\0").lower()
    name = {"65001": "utf-8", "ansi 1252": "cp1252"}.get(name, name)
    for spelling in (name, f"cp{name}", name.replace("8859", "8859-")):
        try:
            if codecs.lookup(spelling)._is_text_encoding:  # noqa: SLF001 - not rot13
                return codecs.lookup(spelling).name, None
        except (LookupError, ValueError):
            continue
    words = f"The code page “{name[:20]}” of {file.name} is not known: texts were read as UTF-8, else as Latin-1"
    return None, Doubt(words, "Look at the names of recordings and sections")


def _fields(file: SentFile, descriptors: bytes, encoding: str | None, *, visual: bool) -> tuple[Field, ...]:
    """Return the fields of the descriptors; two of one name are told apart by a number, as nothing else can be."""
    fields: list[Field] = []
    start, taken = 1, set()
    for at in range(0, len(descriptors) - DESCRIPTOR + 1, DESCRIPTOR):
        if descriptors[at] == HEADER_END or len(fields) == MOST_FIELDS:
            break
        raw, letter, width = descriptors[at : at + 11], chr(descriptors[at + 11]), descriptors[at + 16]
        if letter == "C":  # the byte after the width is the high byte of a long text
            width += 256 * descriptors[at + 17] if descriptors[at + 17] < 128 else 0
        name = text_in(raw, encoding) or f"column {len(fields) + 1}"
        if not letter.isprintable() or not width:
            raise _refused(file, f"column {len(fields) + 1}", "its description in the header is damaged")
        while name in taken:
            name = f"{name} ({len(fields) + 1})"
        taken.add(name)
        fields.append(Field(name, letter, start, width, encoding, visual=visual))
        start += width
    return tuple(fields)


def _block(table: DbaseTable, stream: BinaryIO, rows: int) -> Bytes:
    data = stream.read(rows * table.row_bytes)
    if len(data) < rows * table.row_bytes:
        raise _refused(table.file, f"after byte {stream.tell()}", "it breaks off while it is read")
    return np.frombuffer(data, np.uint8).reshape(rows, table.row_bytes)


def _joined(parts: list[FloatArray | list[str]]) -> FloatArray | list[str]:
    """Return the blocks of a column as one: numbers where all of them are, else texts."""
    arrays = [part for part in parts if isinstance(part, np.ndarray)]
    if len(arrays) == len(parts):
        return np.concatenate(arrays) if arrays else np.zeros(0)
    texts: list[str] = []
    for part in parts:
        texts += part if isinstance(part, list) else ["" if np.isnan(one) else repr(float(one)) for one in part]
    return texts


def _rows_missing(file: SentFile, rows: int, stated: int) -> Doubt:
    words = f"The header of {file.name} says {stated:,} rows, there are {rows:,}"
    return Doubt(words, "Copy the log from the terminal again if its end is missing")


def _refused(file: SentFile, place: str, reason: str) -> LogRefused:
    return LogRefused(file.name, place=place, reason=reason, remedy="Export or copy the shapefile again")
