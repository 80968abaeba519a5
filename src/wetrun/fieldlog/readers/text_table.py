"""A delimited text file, plain or gzip, read in blocks so that memory holds only the columns asked for.

Everything that makes a file unusable as a table is refused here, with the place: before the first block is through
where that is possible, so that a gigabyte of zeros costs a megabyte of reading.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.request import Progress
from wetrun.fieldlog.readers.sent_files import SentFile

Block = list[list[str]]

FIRST_BYTES: Final = 1 << 20
LONGEST_LINE: Final = 1 << 16
ROWS_PER_BLOCK: Final = 1 << 16
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

    file: SentFile
    header: tuple[str, ...]
    delimiter: str
    decimal_comma: bool
    counts: Counts


def table_in(file: SentFile) -> TextTable:
    """Return the header and shape of a delimited text file.

    Raises
    ------
    LogRefused
        When the file is empty, binary, not UTF-8, or not a table with a header line.
    """
    lines = _first_lines(file)
    header_line = lines[0]
    delimiter = max(DELIMITERS, key=header_line.count)
    header = tuple(cell.strip() for cell in next(csv.reader([header_line], delimiter=delimiter)))
    _check_header(file, header)
    sample = list(csv.reader(lines[1:200], delimiter=delimiter))
    comma = any(DECIMAL_COMMA.match(cell) for row in sample for cell in row)
    return TextTable(file, header, delimiter, comma, Counts())


def blocks_of(table: TextTable, progress: Progress | None = None) -> Iterator[Block]:
    """Yield the rows after the header in blocks; rows with a wrong number of cells are counted and left out.

    Raises
    ------
    LogRefused
        When the file breaks off (a damaged gzip), a line has no end, or there are too many rows.
    """
    try:
        with table.file.open_plain(progress) as stream:
            text = io.TextIOWrapper(stream, encoding="utf-8-sig", newline="")
            rows = csv.reader(_lines(table, text), delimiter=table.delimiter)
            next(rows, None)
            while block := _next_block(table, rows):
                yield block
    except (OSError, csv.Error, UnicodeDecodeError) as fault:
        place = f"after row {table.counts.rows}"
        remedy = "Copy the file from the terminal again; a part of it is damaged or missing"
        raise LogRefused(table.file.name, place=place, reason=f"reading stopped: {fault}", remedy=remedy) from fault


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
    most = table.file.limits.most_records
    if counts.rows > most:
        reason = f"the file has more than {most} rows"
        remedy = "Split it by day or by field, or raise the limit (--most-records)"
        raise LogRefused(table.file.name, place="", reason=reason, remedy=remedy)
    return block


def _lines(table: TextTable, text: io.TextIOWrapper) -> Iterator[str]:
    while line := text.readline(LONGEST_LINE):
        if len(line) == LONGEST_LINE:
            reason = f"a line is longer than {LONGEST_LINE} characters"
            remedy = "Export the log as CSV with one row per line"
            raise LogRefused(table.file.name, place=f"after row {table.counts.rows}", reason=reason, remedy=remedy)
        yield line


def _first_lines(file: SentFile) -> list[str]:
    with file.open_plain() as stream:
        first = stream.read(FIRST_BYTES)
    _check_bytes(file, first)
    try:
        text = first.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        # A block may end inside a character; anything earlier is another encoding.
        if fault.start < len(first) - 4 or len(first) < FIRST_BYTES:
            shown = first[:8].hex(" ")
            reason = f"byte {fault.start} is not UTF-8 text (the file begins {shown})"
            raise _not_text(file, reason) from fault
        text = first[: fault.start].decode("utf-8-sig")
    return _header_and_rows(file, text)


def _check_bytes(file: SentFile, first: bytes) -> None:
    if not first.strip():
        remedy = "Export it again from the terminal"
        raise LogRefused(file.name, place="start of the file", reason="the file is empty", remedy=remedy)
    zero = first.find(b"\0")
    if zero >= 0:
        shown = first[:8].hex(" ")
        raise _not_text(file, f"byte {zero} is zero, so this is not a text table (it begins {shown})")


def _not_text(file: SentFile, reason: str) -> LogRefused:
    return LogRefused(
        file.name, place="start of the file", reason=reason, remedy="Ask for the standard export, or CSV in UTF-8"
    )


def _header_and_rows(file: SentFile, text: str) -> list[str]:
    lines = [line for line in text.splitlines() if line.strip()]
    if max(map(len, lines), default=0) >= LONGEST_LINE:
        raise _not_text(file, f"a line is longer than {LONGEST_LINE} characters")
    if len(lines) < 2:
        reason = "there is a header line and nothing under it"
        raise LogRefused(file.name, place="row 1", reason=reason, remedy="Export the log again with its records")
    return lines


def _check_header(file: SentFile, header: tuple[str, ...]) -> None:
    if len(header) < 2:
        reason = "the first line has no comma, semicolon or tab, so there are no columns"
        raise LogRefused(file.name, place="line 1", reason=reason, remedy="Export the log as CSV with a header line")
    if sum(NUMBER.match(cell) is not None for cell in header) * 2 > len(header):
        reason = "the first line holds numbers where column names are needed"
        remedy = "Put a header line on top that names each column"
        raise LogRefused(file.name, place="line 1", reason=reason, remedy=remedy)
    twice = sorted({name for name in header if name and header.count(name) > 1})
    if twice:
        reason = f"the column name {twice[0]} stands there more than once"
        raise LogRefused(file.name, place="line 1", reason=reason, remedy="Give each column a name of its own")
