"""A delimited text file, plain or gzip, read in blocks so that memory holds only the columns asked for.

Everything that makes a file unusable as a table is refused here, with the place: before the first block is through
where that is possible, so that a gigabyte of zeros costs a megabyte of reading.
"""

from __future__ import annotations

import csv
import gzip
import io
import re
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Final

from wetrun.errors import LogRefused

Progress = Callable[[float], None]
Block = list[list[str]]

FIRST_BYTES: Final = 1 << 20
LONGEST_LINE: Final = 1 << 16
ROWS_PER_BLOCK: Final = 1 << 16
MOST_ROWS: Final = 20_000_000
GZIP_MARK: Final = b"\x1f\x8b"
DELIMITERS: Final = (",", ";", "\t")
DECIMAL_COMMA: Final = re.compile(r"^\s*-?\d+,\d+\s*$")
NUMBER: Final = re.compile(r"^\s*-?\d+([.,]\d+)?\s*$")


@dataclass(slots=True)
class Counts:
    """What the blocks so far held: rows read, and rows dropped for a wrong number of cells."""

    rows: int = 0
    misshapen: int = 0
    first_misshapen: int = 0


@dataclass(frozen=True, slots=True)
class TextTable:
    """An opened table: its header, how its numbers are written, and the counts that grow as blocks are read."""

    path: Path
    header: tuple[str, ...]
    delimiter: str
    decimal_comma: bool
    counts: Counts


def table_in(path: Path) -> TextTable:
    """Return the header and shape of a delimited text file.

    Raises
    ------
    LogRefused
        When the file is empty, binary, not UTF-8, or not a table with a header line.
    """
    lines = _first_lines(path)
    header_line = lines[0]
    delimiter = max(DELIMITERS, key=header_line.count)
    header = tuple(cell.strip() for cell in next(csv.reader([header_line], delimiter=delimiter)))
    _check_header(path, header)
    sample = list(csv.reader(lines[1:200], delimiter=delimiter))
    comma = any(DECIMAL_COMMA.match(cell) for row in sample for cell in row)
    return TextTable(path, header, delimiter, comma, Counts())


def blocks_of(table: TextTable, progress: Progress | None = None) -> Iterator[Block]:
    """Yield the rows after the header in blocks; rows with a wrong number of cells are counted and left out.

    Raises
    ------
    LogRefused
        When the file breaks off (a damaged gzip), a line has no end, or there are too many rows.
    """
    size = max(table.path.stat().st_size, 1)
    try:
        with table.path.open("rb") as raw, _unpacked(raw) as stream:
            text = io.TextIOWrapper(stream, encoding="utf-8-sig", newline="")
            rows = csv.reader(_lines(table, text), delimiter=table.delimiter)
            next(rows, None)
            while block := _next_block(table, rows):
                if progress:
                    progress(raw.tell() / size)
                yield block
    except (OSError, EOFError, zlib.error, csv.Error, UnicodeDecodeError) as fault:
        place = f"after row {table.counts.rows}"
        remedy = "Copy the file from the terminal again; a part of it is damaged or missing"
        raise LogRefused(table.path.name, place=place, reason=f"reading stopped: {fault}", remedy=remedy) from fault


def _unpacked(raw: BinaryIO) -> gzip.GzipFile | BinaryIO:
    packed = raw.read(2) == GZIP_MARK
    raw.seek(0)
    return gzip.GzipFile(fileobj=raw) if packed else raw


def _next_block(table: TextTable, rows: Iterator[list[str]]) -> Block:
    """Return the next rows of the right width; empty only at the end of the file."""
    cells, counts = len(table.header), table.counts
    block: Block = []
    for row in rows:
        if not row:
            continue
        counts.rows += 1
        if len(row) == cells:
            block.append(row)
            if len(block) == ROWS_PER_BLOCK:
                break
        else:
            counts.misshapen += 1
            counts.first_misshapen = counts.first_misshapen or counts.rows
    if counts.rows > MOST_ROWS:
        reason = f"the file has more than {MOST_ROWS} rows"
        raise LogRefused(table.path.name, place="", reason=reason, remedy="Split it by day or by field")
    return block


def _lines(table: TextTable, text: io.TextIOWrapper) -> Iterator[str]:
    while line := text.readline(LONGEST_LINE):
        if len(line) == LONGEST_LINE:
            reason = f"a line is longer than {LONGEST_LINE} characters"
            remedy = "Export the log as CSV with one row per line"
            raise LogRefused(table.path.name, place=f"after row {table.counts.rows}", reason=reason, remedy=remedy)
        yield line


def _first_lines(path: Path) -> list[str]:
    try:
        with path.open("rb") as raw, _unpacked(raw) as stream:
            first = stream.read(FIRST_BYTES)
    except (OSError, EOFError, zlib.error) as fault:
        reason = f"cannot be read ({getattr(fault, 'strerror', None) or fault})"
        raise LogRefused(path.name, place="start of the file", reason=reason, remedy="Copy the file again") from fault
    _check_bytes(path, first)
    try:
        text = first.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        # A block may end inside a character; anything earlier is another encoding.
        if fault.start < len(first) - 4 or len(first) < FIRST_BYTES:
            raise _not_text(path, f"byte {fault.start} is not UTF-8 text") from fault
        text = first[: fault.start].decode("utf-8-sig")
    return _header_and_rows(path, text)


def _check_bytes(path: Path, first: bytes) -> None:
    if not first.strip():
        remedy = "Export it again from the terminal"
        raise LogRefused(path.name, place="start of the file", reason="the file is empty", remedy=remedy)
    zero = first.find(b"\0")
    if zero >= 0:
        shown = first[:8].hex(" ")
        raise _not_text(path, f"byte {zero} is zero, so this is not a text table (it begins {shown})")


def _not_text(path: Path, reason: str) -> LogRefused:
    return LogRefused(path.name, place="start of the file", reason=reason, remedy="Export the log as CSV in UTF-8")


def _header_and_rows(path: Path, text: str) -> list[str]:
    lines = [line for line in text.splitlines() if line.strip()]
    if max(map(len, lines)) >= LONGEST_LINE:
        raise _not_text(path, f"a line is longer than {LONGEST_LINE} characters")
    if len(lines) < 2:
        reason = "there is a header line and nothing under it"
        raise LogRefused(path.name, place="row 1", reason=reason, remedy="Export the log again with its records")
    return lines


def _check_header(path: Path, header: tuple[str, ...]) -> None:
    if len(header) < 2:
        reason = "the first line has no comma, semicolon or tab, so there are no columns"
        raise LogRefused(path.name, place="line 1", reason=reason, remedy="Export the log as CSV with a header line")
    if sum(NUMBER.match(cell) is not None for cell in header) * 2 > len(header):
        reason = "the first line holds numbers where column names are needed"
        remedy = "Put a header line on top that names each column"
        raise LogRefused(path.name, place="line 1", reason=reason, remedy=remedy)
    twice = sorted({name for name in header if name and header.count(name) > 1})
    if twice:
        reason = f"the column name {twice[0]} stands there more than once"
        raise LogRefused(path.name, place="line 1", reason=reason, remedy="Give each column a name of its own")
