"""A Parquet file opened with care: its footer is held against its size before a single value is decoded.

The decoder takes the numbers of a footer at their word and makes room for them. So every offset, length and count is
first held against the file itself, and columns are only ever decoded a batch at a time.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, Final

import pyarrow as pa
import pyarrow.parquet as pq

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.limits import RECORDS, remedy_of

MAGIC: Final = b"PAR1"
TAIL_BYTES: Final = 8
# Our own choices (no source). A column of one repeated value takes next to no room, but a clock never repeats.
MOST_FOOTER_BYTES: Final = 64 << 20
MOST_ROWS_PER_BYTE: Final = 32
MOST_COLUMNS: Final = 4096
MOST_GROUPS: Final = 1 << 20
READ_AHEAD_BYTES: Final = 1 << 20

Source = Path | BinaryIO


def is_parquet(source: Source) -> bool:
    """Return whether a file begins and ends as Parquet does. Never raises."""
    try:
        head, tail, size = _ends(source)
    except (OSError, ValueError):
        return False
    return size > 2 * TAIL_BYTES and head == MAGIC and tail[-4:] == MAGIC


def opened(source: Source, name: str, most_rows: int) -> pq.ParquetFile:
    """Return a Parquet file whose footer agrees with its size.

    Raises
    ------
    LogRefused
        When it is cut off, damaged or too long.
    """
    with refusing(name):
        head, tail, size = _ends(source)
        length = int.from_bytes(tail[:4], "little")
        if size < 2 * TAIL_BYTES or head != MAGIC or tail[-4:] != MAGIC:
            raise damaged(name, "it does not begin and end as Parquet does")
        if length > min(size - 2 * TAIL_BYTES + 4, MOST_FOOTER_BYTES):
            raise damaged(name, f"its footer claims {length} bytes of a file of {size}")
        file = decoder(source)
        _check_footer(file.metadata, name, size)
        _check_rows(file.metadata, name, size, most_rows)
        return file


def decoder(source: Source, footer: pq.FileMetaData | None = None, words: Sequence[str] = ()) -> pq.ParquetFile:
    """Return the decoder of a file, whose pages are held against their checksums as they are read.

    Columns of ``words`` come as dictionaries, so that one long text that stands in every row is there once.
    """
    if not isinstance(source, Path):
        source.seek(0)
    return pq.ParquetFile(
        source,
        metadata=footer,
        read_dictionary=list(words),
        buffer_size=READ_AHEAD_BYTES,
        thrift_string_size_limit=MOST_FOOTER_BYTES,
        thrift_container_size_limit=MOST_GROUPS,
        page_checksum_verification=True,
    )


@contextmanager
def refusing(name: str) -> Iterator[None]:
    """Turn every complaint of the decoder into a refusal of the log."""
    try:
        yield
    except (pa.ArrowException, OSError, ValueError, TypeError, KeyError, IndexError, MemoryError, OverflowError) as bad:
        words = " ".join(str(bad).split())[:160].rstrip(".") or type(bad).__name__
        raise damaged(name, f"it is damaged or cut off ({words})") from bad


def damaged(name: str, reason: str) -> LogRefused:
    """Return the refusal of a damaged file."""
    return LogRefused(name, place="", reason=reason, remedy="Copy it again, or convert the log once more")


def _ends(source: Source) -> tuple[bytes, bytes, int]:
    """Return the first bytes, the last ones and the size of a file."""
    if isinstance(source, Path):
        with source.open("rb") as stream:
            return _ends(stream)
    size = source.seek(0, 2)
    source.seek(max(size - TAIL_BYTES, 0))
    tail = source.read(TAIL_BYTES)
    source.seek(0)
    return source.read(len(MAGIC)), tail, size


def _check_footer(footer: pq.FileMetaData, name: str, size: int) -> None:
    if footer.num_columns > MOST_COLUMNS or footer.num_row_groups > MOST_GROUPS:
        raise damaged(name, f"it claims {footer.num_columns} columns in {footer.num_row_groups} row groups")
    total = 0
    for number in range(footer.num_row_groups):
        group = footer.row_group(number)
        if group.num_columns != footer.num_columns or group.num_rows < 0:
            raise damaged(name, f"row group {number} does not have the columns of the file")
        total += group.num_rows
        for place in range(group.num_columns if group.num_rows else 0):
            _check_chunk(group.column(place), name, size)
    if total != footer.num_rows:
        raise damaged(name, f"its row groups have {total} rows, its footer says {footer.num_rows}")


def _check_chunk(chunk: pq.ColumnChunkMetaData, name: str, size: int) -> None:
    start = chunk.data_page_offset
    if chunk.has_dictionary_page and chunk.dictionary_page_offset is not None:
        start = min(start, chunk.dictionary_page_offset)
    lengths = (chunk.total_compressed_size, chunk.total_uncompressed_size, chunk.num_values)
    if start < len(MAGIC) or min(lengths) < 0 or start + chunk.total_compressed_size > size:
        raise damaged(name, f"column {chunk.path_in_schema[:40]} does not lie within the file")


def _check_rows(footer: pq.FileMetaData, name: str, size: int, most_rows: int) -> None:
    if footer.num_rows > MOST_ROWS_PER_BYTE * size:
        raise damaged(name, f"it claims {footer.num_rows} rows in {size} bytes")
    if footer.num_rows > most_rows:
        reason = f"it has {footer.num_rows:,} rows, and at most {most_rows:,} are read"
        raise LogRefused(name, place="", reason=reason, remedy=remedy_of(RECORDS))
