"""The columns of a text table that have a meaning, in blocks: quickly where the text is regular, cell by cell else.

Both ways give the same numbers. A chunk of text goes the quick way unless something in it is out of the ordinary: a
quote, a row of another length, a cell that is no number, a lone carriage return.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain, islice
from typing import Annotated, Final

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.clock import Clock, clock_of, why_no_clock
from wetrun.fieldlog.readers.column_table import CLOCK_SAMPLE, NOT_NUMBERS, numbers_of
from wetrun.fieldlog.readers.columns import ColumnRole, roles_in
from wetrun.fieldlog.readers.limits import RECORDS, remedy_of
from wetrun.fieldlog.readers.mapping import ColumnMapping, check_columns_exist, with_places
from wetrun.fieldlog.readers.proposals import Proposal, proposals_in
from wetrun.fieldlog.readers.request import Progress, ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.readers.text_quickly import quick_block
from wetrun.fieldlog.readers.text_table import Cells, TextTable, cells_of, chunks_of, endless_line, lines_of, table_in
from wetrun.fieldlog.trace import FloatArray, IntArray, Repair
from wetrun.units import SECOND

HEAD_ROWS: Final = 1 << 16
LINES_AT_ONCE: Final = 1 << 16


@dataclass(slots=True)
class Names:
    """Names in the order they were met, numbered from 0."""

    number: dict[str, int] = field(default_factory=dict)

    def numbered(self, cells: Sequence[str]) -> IntArray:
        """Return the number of each name."""
        numbers = self.number
        return np.array([numbers.setdefault(cell.strip(), len(numbers)) for cell in cells], dtype=np.int64)


@dataclass(frozen=True, slots=True)
class TextColumns:
    """An opened text log: its table, which columns mean what, and how its clock is read.

    ``no_clock`` says why there is no clock, where there is none; ``proposals`` what a table without a header seems to
    hold. ``sections``, ``tracks`` and ``unreadable`` grow as the table is read.
    """

    table: TextTable
    roles: dict[str, ColumnRole]
    clock: Clock | None
    no_clock: str
    proposals: tuple[Proposal, ...]
    mapping: ColumnMapping | None
    sections: Names = field(default_factory=Names)
    tracks: Names = field(default_factory=Names)
    unreadable: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Block:
    """Some rows [rows]: numbers by meaning, clock [s], and the numbers of their sections and tracks."""

    numbers: dict[str, FloatArray]
    time_s: Annotated[FloatArray, SECOND]
    section: IntArray
    track: IntArray


def columns_in(file: SentFile, request: ReadRequest) -> TextColumns:
    """Return what the columns of a text table mean, from its head.

    Raises
    ------
    LogRefused
        When the file is no table, or most rows of its head are misshapen.
    InputProblems
        When the mapping names columns the file does not have.
    """
    table = table_in(file)
    mapping = request.mapping
    if mapping and not table.headed:
        mapping = with_places(mapping)
    if mapping:
        check_columns_exist(mapping, table.header, log=file.name)
    roles = roles_in(table.header, mapping)
    head = _head(table)
    if not head:
        raise _ragged(table)
    proposals = () if table.headed else proposals_in(table.header, _all_numbers(table, head), roles)
    roles |= {proposal.role.meaning: proposal.role for proposal in proposals if proposal.used}
    clock, no_clock = _clock(head, roles.get("time"), decimal_comma=table.decimal_comma)
    return TextColumns(table, roles, clock, no_clock, proposals, mapping)


def blocks_of(columns: TextColumns, progress: Progress | None = None) -> Iterator[Block]:
    """Yield all rows of a text log in blocks.

    Raises
    ------
    LogRefused
        When the file breaks off, a line has no end, there are too many rows, or most of them are misshapen.
    """
    table, counts = columns.table, columns.table.counts
    counts.rows = counts.misshapen = counts.first_misshapen = counts.uneven = 0
    columns.unreadable.clear()
    try:
        with table.file.open_plain(progress) as stream:
            for block in _blocks(columns, chunks_of(table, stream)):
                _check_rows(table)
                if block.time_s.size:
                    yield block
    except (OSError, csv.Error, UnicodeDecodeError) as fault:
        raise _broken_off(table, fault) from fault
    if 2 * counts.misshapen > counts.rows:
        raise _ragged(table)


def reading_repairs(columns: TextColumns) -> tuple[Repair, ...]:
    """Return what was put right while the blocks were read."""
    counts = columns.table.counts
    repairs = [unreadable(meaning, count) for meaning, count in columns.unreadable.items() if count]
    if counts.misshapen:
        words = f"rows with a wrong number of cells were left out, the first in row {counts.first_misshapen}"
        repairs.append(Repair("misshapen row", counts.misshapen, 0.0, words))
    if counts.uneven:
        words = (
            f"rows do not have the usual {len(columns.table.header)} cells; their columns were counted from the left"
        )
        repairs.append(Repair("uneven row", counts.uneven, 0.0, words))
    return tuple(repairs)


def unreadable(meaning: str, count: int) -> Repair:
    """Return the repair that says how many cells of a column held no number."""
    return Repair("unreadable cell", count, 0.0, f"cells in the {meaning} column hold no number and count as missing")


def _blocks(columns: TextColumns, chunks: Iterator[bytes]) -> Iterator[Block]:
    for chunk in chunks:
        if b'"' in chunk:
            # A quoted cell may hold a line's end, so from here on only the slow way knows where rows end.
            yield from _slow_blocks(columns, chain([chunk], chunks))
            return
        quick = quick_block(chunk, columns.table, columns.roles, columns.clock)
        if quick is None:
            yield from _slow_blocks(columns, iter([chunk]))
            continue
        columns.table.counts.rows += quick.rows
        for meaning, failed in quick.infinite.items():
            columns.unreadable[meaning] = columns.unreadable.get(meaning, 0) + failed
        none = np.zeros(quick.rows, dtype=np.int64)
        section, track = quick.named.get("section"), quick.named.get("track")
        yield Block(
            quick.numbers,
            quick.time_s,
            none if section is None else columns.sections.numbered(section.names)[section.of_row],
            none if track is None else columns.tracks.numbered(track.names)[track.of_row],
        )


def _slow_blocks(columns: TextColumns, chunks: Iterator[bytes]) -> Iterator[Block]:
    with io.TextIOWrapper(io.BufferedReader(_Joined(chunks)), encoding="utf-8", newline="") as text:
        lines = lines_of(columns.table, text)
        while some := list(islice(lines, LINES_AT_ONCE)):
            while some[-1:] and sum(line.count('"') for line in some) % 2 and (more := next(lines, None)) is not None:
                some.append(more)
                if sum(map(len, some[LINES_AT_ONCE:])) > (1 << 20):
                    raise endless_line(columns.table)
            yield _block(columns, cells_of(columns.table, iter(some)))


class _Joined(io.RawIOBase):
    """Chunks of bytes as one stream."""

    def __init__(self, chunks: Iterator[bytes]) -> None:
        self._chunks, self._rest = chunks, b""

    def readable(self) -> bool:
        """Return that it can be read."""
        return True

    def readinto(self, buffer: bytearray | memoryview) -> int:  # type: ignore[override]
        """Fill a buffer with what comes next; 0 at the end."""
        while not self._rest:
            chunk = next(self._chunks, None)
            if chunk is None:
                return 0
            self._rest = chunk
        view = memoryview(buffer)
        part = self._rest[: len(view)]
        view[: len(part)] = part
        self._rest = self._rest[len(part) :]
        return len(part)


def _block(columns: TextColumns, rows: Cells) -> Block:
    cells = list(zip(*rows, strict=True)) if rows else [()] * len(columns.table.header)
    comma, roles = columns.table.decimal_comma, columns.roles
    numbers = {}
    for meaning, role in roles.items():
        if meaning not in NOT_NUMBERS:
            numbers[meaning], failed = numbers_of(cells[role.index], decimal_comma=comma)
            columns.unreadable[meaning] = columns.unreadable.get(meaning, 0) + failed
    none = np.zeros(len(rows), dtype=np.int64)
    return Block(
        numbers,
        _seconds(cells, roles.get("time"), columns.clock, decimal_comma=comma),
        columns.sections.numbered(cells[roles["section"].index]) if "section" in roles else none,
        columns.tracks.numbered(cells[roles["track"].index]) if "track" in roles else none,
    )


def _seconds(
    cells: Sequence[Sequence[str]], role: ColumnRole | None, clock: Clock | None, *, decimal_comma: bool
) -> FloatArray:
    if role is None or clock is None:
        return np.full(len(cells[0]), np.nan)
    return clock.seconds(_with_points(cells[role.index], decimal_comma=decimal_comma))


def _with_points(cells: Sequence[str], *, decimal_comma: bool) -> Sequence[str]:
    return [cell.replace(",", ".") for cell in cells] if decimal_comma else cells


def _head(table: TextTable) -> Cells:
    """Return the first rows, as far as they have the right shape."""
    with table.file.open_plain() as stream:
        chunk = next(chunks_of(table, stream), b"")
    text = io.StringIO(chunk.decode("utf-8", errors="replace"), newline="")
    try:
        return cells_of(table, islice(lines_of(table, text), HEAD_ROWS))
    except csv.Error as fault:
        raise _broken_off(table, fault) from fault


def _all_numbers(table: TextTable, head: Cells) -> Mapping[int, FloatArray]:
    """Return the columns of the head that are numbers for the most part, by place."""
    found = {}
    for place, cells in enumerate(zip(*head, strict=True)):
        values, failed = numbers_of(cells, decimal_comma=table.decimal_comma)
        if 2 * failed < values.size:
            found[place] = values
    return found


def _clock(head: Cells, role: ColumnRole | None, *, decimal_comma: bool) -> tuple[Clock | None, str]:
    if role is None:
        return None, ""
    cells = _with_points([row[role.index] for row in head], decimal_comma=decimal_comma)
    sample = list(islice((cell for cell in cells if cell.strip()), CLOCK_SAMPLE))
    clock = clock_of(sample, unit=role.unit, format_=role.format)
    return clock, "" if clock else why_no_clock(cells)


def _check_rows(table: TextTable) -> None:
    most = table.file.limits.most_records
    if table.counts.rows > most:
        reason = f"the file has more than {most:,} rows"
        raise LogRefused(table.file.name, place="", reason=reason, remedy=remedy_of(RECORDS))


def _broken_off(table: TextTable, fault: Exception) -> LogRefused:
    place = f"after row {table.counts.rows}"
    remedy = "Copy the file from the terminal again; a part of it is damaged or missing"
    return LogRefused(table.file.name, place=place, reason=f"reading stopped: {fault}", remedy=remedy)


def _ragged(table: TextTable) -> LogRefused:
    counts = table.counts
    reason = f"{counts.misshapen} of {counts.rows} rows do not have the {len(table.header)} cells of the header"
    place = f"row {counts.first_misshapen}"
    return LogRefused(table.file.name, place=place, reason=reason, remedy="Export the log again as one plain table")
