"""Delimited text files: recognised by content, with or without a header line, their lines handed on in chunks.

Anything that would end badly as a table is refused here, with the place: before the first chunk is through
where that is possible, so that a gigabyte of zeros costs a megabyte of reading.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import IO, Final

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.sent_files import SentFile

Cells = list[list[str]]

FIRST_BYTES: Final = 1 << 20
CHUNK_BYTES: Final = 1 << 23
LONGEST_LINE: Final = 1 << 16
SAMPLE_LINES: Final = 200
DELIMITERS: Final = (",", ";", "\t")
# A line of numbers is cut at what cannot be a decimal comma, if there is any; at blanks where there is nothing else.
OF_NUMBERS: Final = (";", "\t", ",", " ")
LEAST_NUMBERS: Final = 3
DECIMAL_COMMA: Final = re.compile(r"^\s*[-+]?\d*,\d+([eE][-+]?\d+)?\s*$")
NUMBER: Final = re.compile(r"^\s*[-+]?(\d+([.,]\d*)?|[.,]\d+)([eE][-+]?\d+)?\s*$")
LINE_END: Final = re.compile(r"\r\n|\r|\n")
BYTE_ORDER_MARK: Final = b"\xef\xbb\xbf"


@dataclass(slots=True)
class Counts:
    """What was read so far: rows, those dropped for a wrong number of cells, those cut or filled up to be kept."""

    rows: int = 0
    misshapen: int = 0
    first_misshapen: int = 0
    uneven: int = 0


@dataclass(frozen=True, slots=True)
class TextTable:
    """An opened table: its columns, how its numbers are written, and the counts that grow as it is read.

    ``headed`` is False for a table of numbers whose first line is a record: its columns are named by their place.
    """

    file: SentFile
    header: tuple[str, ...]
    delimiter: str
    decimal_comma: bool
    counts: Counts
    headed: bool = True


def table_in(file: SentFile) -> TextTable:
    """Return the columns and shape of a delimited text file.

    Raises
    ------
    LogRefused
        When the file is empty, binary, not UTF-8, or not a table.
    """
    lines = _first_lines(file)
    delimiter = next((one for one in OF_NUMBERS if one in lines[0].strip()), ",")
    sample = _rows(lines[:SAMPLE_LINES], delimiter)
    if _mostly_numbers(sample[0]):
        cells = max(range(max(map(len, sample)) + 1), key=[len(row) for row in sample].count)
        header = tuple(f"column {place}" for place in range(1, cells + 1))
        return TextTable(file, header, delimiter, _decimal_comma(sample), Counts(), headed=False)
    delimiter = max(DELIMITERS, key=lines[0].count)
    sample = _rows(lines[:SAMPLE_LINES], delimiter)
    header = tuple(cell.strip() for cell in sample[0])
    _check_header(file, header, lines)
    return TextTable(file, header, delimiter, _decimal_comma(sample[1:]), Counts())


def _rows(lines: list[str], delimiter: str) -> Cells:
    return [row for row in csv.reader(lines, delimiter=delimiter, skipinitialspace=delimiter == " ") if row] or [[""]]


def _mostly_numbers(cells: list[str]) -> bool:
    return len(cells) >= LEAST_NUMBERS and sum(NUMBER.match(cell) is not None for cell in cells) * 2 > len(cells)


def _decimal_comma(rows: Cells) -> bool:
    return any(DECIMAL_COMMA.match(cell) for row in rows for cell in row)


def chunks_of(table: TextTable, stream: IO[bytes]) -> Iterator[bytes]:
    """Yield the bytes of a table in whole lines, its header line left out.

    Raises
    ------
    LogRefused
        When a line has no end.
    """
    rest = stream.read(CHUNK_BYTES).removeprefix(BYTE_ORDER_MARK)
    if table.headed:
        rest = _without_header(rest)
    while rest:
        more = stream.read(CHUNK_BYTES)
        end = max(rest.rfind(b"\n"), rest.rfind(b"\r", 0, -1)) + 1 if more else len(rest)
        if not end:
            raise endless_line(table)
        yield rest[:end]
        rest = rest[end:] + more


def _without_header(first: bytes) -> bytes:
    lines = first.lstrip(b"\r\n \t")
    ends = [end for end in (lines.find(b"\n"), lines.find(b"\r")) if end >= 0]
    return lines[min(ends) + 1 :].removeprefix(b"\n") if ends else b""


def cells_of(table: TextTable, lines: Iterator[str]) -> Cells:
    """Return the rows of lines; those with a wrong number of cells are counted, and left out of a table with a header.

    Without a header a row is cut or filled up: what its cells are is told by their place from the left.
    """
    cells, counts = len(table.header), table.counts
    kept: Cells = []
    for row in csv.reader(lines, delimiter=table.delimiter, skipinitialspace=table.delimiter == " "):
        if not row:
            continue
        counts.rows += 1
        if len(row) == cells:
            kept.append(row)
        elif not table.headed:
            counts.uneven += len(row) < cells or any(cell.strip() for cell in row[cells:])
            kept.append((row + [""] * cells)[:cells])
        else:
            counts.misshapen += 1
            counts.first_misshapen = counts.first_misshapen or counts.rows
    return kept


def lines_of(table: TextTable, text: io.TextIOBase) -> Iterator[str]:
    """Yield lines of a text.

    Raises
    ------
    LogRefused
        When one has no end.
    """
    while line := text.readline(LONGEST_LINE):
        if len(line) == LONGEST_LINE:
            raise endless_line(table)
        yield line


def endless_line(table: TextTable) -> LogRefused:
    """Return the refusal of a table with a line beyond all measure."""
    reason = f"a line is longer than {LONGEST_LINE} characters"
    remedy = "Export the log as CSV with one row per line"
    return LogRefused(table.file.name, place=f"after row {table.counts.rows}", reason=reason, remedy=remedy)


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
    return _lines_with_something(file, text)


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


def _lines_with_something(file: SentFile, text: str) -> list[str]:
    lines = [line for line in LINE_END.split(text) if line.strip()]
    if not lines:
        remedy = "Export it again from the terminal"
        raise LogRefused(file.name, place="start of the file", reason="the file is empty", remedy=remedy)
    if max(map(len, lines)) >= LONGEST_LINE:
        raise _not_text(file, f"a line is longer than {LONGEST_LINE} characters")
    return lines


def _check_header(file: SentFile, header: tuple[str, ...], lines: list[str]) -> None:
    if len(lines) < 2:
        reason = "there is a header line and nothing under it"
        raise LogRefused(file.name, place="row 1", reason=reason, remedy="Export the log again with its records")
    if len(header) < 2:
        reason = "the first line has no comma, semicolon or tab, so there are no columns"
        raise LogRefused(file.name, place="line 1", reason=reason, remedy="Export the log as CSV with a header line")
    twice = sorted({name for name in header if name and header.count(name) > 1})
    if twice:
        reason = f"the column name {twice[0]} stands there more than once"
        raise LogRefused(file.name, place="line 1", reason=reason, remedy="Give each column a name of its own")
