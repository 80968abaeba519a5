"""Logs as text tables: one row per boom section and clock reading, or one row per reading; with or without a header.

Comma, semicolon, tab or blanks, decimal point or comma, plain or gzip. Columns are named by a mapping file or
recognised by generic words; only time, place, speed, width, sections and rates are read, never names or serial
numbers. The unit of a distance or speed may be worked out from positions; **the unit of a rate is never guessed**:
without one the column is shown as it stands, and planning and replay ask for the mapping line that settles it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from itertools import chain
from typing import Final

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.column_logs import logs_of_columns, told_apart
from wetrun.fieldlog.readers.column_table import ParsedColumns, in_name_order
from wetrun.fieldlog.readers.columns import roles_in
from wetrun.fieldlog.readers.found import FoundLog, FoundLogs, too_long
from wetrun.fieldlog.readers.held_values import mostly_blank, with_values_held
from wetrun.fieldlog.readers.proposals import Proposal
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.readers.text_columns import Block, TextColumns, blocks_of, columns_in, reading_repairs
from wetrun.fieldlog.readers.text_pieces import PIECE_ROWS, head_and_rest, pieces_of_track
from wetrun.fieldlog.readers.text_table import table_in
from wetrun.fieldlog.trace import Doubt, Trace

FORMAT: Final = "CSV as-applied log"
FIRST_BYTES: Final = 1 << 12
MOST_AT_ONCE: Final = 1_000_000
TABLE_ENDINGS: Final = (".csv", ".txt", ".tsv", ".dat")


def sniff(file: SentFile) -> bool:
    """Return whether a file looks like such a log: a text table with times or places, or one of numbers alone."""
    try:
        table = table_in(file)
    except LogRefused:
        return False
    roles = roles_in(table.header, None)
    return not table.headed or "time" in roles or {"longitude", "latitude"} <= roles.keys()


def may_be_text(file: SentFile) -> bool:
    """Return whether a file is text or named as a table, so that what is wrong with it as one is worth telling."""
    return file.base.endswith(TABLE_ENDINGS) or b"\0" not in file.head(FIRST_BYTES)


def read(file: SentFile, request: ReadRequest = PLAIN_REQUEST) -> FoundLogs:
    """Return the logs of a text table.

    Raises
    ------
    LogRefused
        When the file cannot be used: where, why, and what to do.
    InputProblems
        When the mapping names columns the file does not have.
    """
    columns = _opened(file, request)
    head, rest = head_and_rest(blocks_of(columns, request.progress), MOST_AT_ONCE)
    parsed = parsed_blocks(columns, head)
    logs = logs_of_columns(parsed, request.mapping)
    if next(rest, None) is not None:
        tracks = parsed.track_names if len(parsed.track_names) == len(logs) > 1 else ("",) * len(logs)
        logs = tuple(_in_pieces(log, file, request, track) for log, track in zip(logs, tracks, strict=True))
    return FoundLogs(file.name, FORMAT, logs)


def _in_pieces(log: FoundLog, file: SentFile, request: ReadRequest, track: str) -> FoundLog:
    """Return a log of which only the head was looked at, to be read in pieces."""
    words = f"The log is long: what is told here is of its first {log.facts.records:,} records"
    doubt = Doubt(words, "Nothing to do: plans and replays take all of it, in pieces")
    lacks, pieces = log.lacks, None
    if lacks is None:
        lacks = too_long(log.name, log.facts.records)
        pieces = partial(pieces_in, file, request, track=track)
    return replace(log, doubts=(doubt, *log.doubts), trace=None, lacks=lacks, pieces=pieces)


def pieces_in(
    file: SentFile, request: ReadRequest, *, track: str = "", most_at_once: int = MOST_AT_ONCE,
    piece_rows: int = PIECE_ROWS,
) -> Iterator[Trace]:  # fmt: skip
    """Yield one track of a text log, or the one there is, as traces of its pieces.

    Raises
    ------
    LogRefused
        When its head cannot be driven again, or tracks are told apart by their rows alone, which takes all of them.
    """
    columns = _opened(file, request)
    head, _ = head_and_rest(blocks_of(columns), most_at_once)
    parsed = parsed_blocks(columns, head)
    apart = told_apart(parsed)
    if apart.track_names and not parsed.track_names:
        reason = "two machines are woven into a log too long to be read at once"
        remedy = 'Map the column that tells them apart: track = { column = "…" }, or split the file by day'
        raise LogRefused(file.name, place="", reason=reason, remedy=remedy)
    held = mostly_blank(parsed)
    parsed = with_values_held(parsed)
    if track:
        parsed = parsed.of_rows(np.flatnonzero(parsed.track == parsed.track_names.index(track)))
    del head
    yield from pieces_of_track(
        columns, parsed, blocks_of(columns, request.progress), track=track, held=held, piece_rows=piece_rows
    )


def _opened(file: SentFile, request: ReadRequest) -> TextColumns:
    columns = columns_in(file, request)
    _check_roles(columns)
    return columns


def parsed_in(file: SentFile, request: ReadRequest = PLAIN_REQUEST) -> ParsedColumns:
    """Return the columns of a text table by meaning; see `read`."""
    columns = _opened(file, request)
    return parsed_blocks(columns, list(blocks_of(columns, request.progress)))


def parsed_blocks(columns: TextColumns, blocks: list[Block]) -> ParsedColumns:
    """Return blocks of rows as columns by meaning."""
    names, section = in_name_order(columns.sections.number, np.concatenate([block.section for block in blocks]))
    track_names, track = in_name_order(columns.tracks.number, np.concatenate([block.track for block in blocks]))
    return ParsedColumns(
        file=columns.table.file.name, format=FORMAT, rows=columns.table.counts.rows, roles=columns.roles,
        clock=columns.clock, no_clock=columns.no_clock, time_s=np.concatenate([block.time_s for block in blocks]),
        section=section, section_names=names, track=track, track_names=track_names,
        numbers={one: np.concatenate([block.numbers[one] for block in blocks]) for one in blocks[0].numbers},
        repairs=list(reading_repairs(columns)),
        proposed=tuple(one.line for one in columns.proposals),
        doubts=list(chain(_proposed(columns.proposals), columns.clock.doubts if columns.clock else ())),
        on_change=True,
    )  # fmt: skip


def _check_roles(columns: TextColumns) -> None:
    file, header, roles = columns.table.file.name, columns.table.header, columns.roles
    positions = {"longitude", "latitude"} <= roles.keys()
    if "time" not in roles and not positions:
        reason = f"no column is recognised as the time; there are {', '.join(header)}"
        remedy = 'Name it in a mapping file: time = { column = "…" }'
        raise _unnamed(columns) or LogRefused(file, place="line 1", reason=reason, remedy=remedy)
    if not positions and "distance" not in roles and "speed" not in roles:
        reason = "there is no distance, no speed and no position, so no speed can be had"
        remedy = 'Export one of them, or name it in a mapping file: distance = { column = "…", unit = "ft" }'
        raise _unnamed(columns) or LogRefused(file, place="line 1", reason=reason, remedy=remedy)


def _unnamed(columns: TextColumns) -> LogRefused | None:
    """Return the refusal of a table without a header whose columns do not tell what they are."""
    if columns.table.headed:
        return None
    reason = "there is no header line, and which columns tell place and time cannot be told from what they hold"
    lines = "; ".join(one.line for one in columns.proposals) or 'time = { column = "4", unit = "s" }, and so on'
    remedy = f"Name them by their place from the left in a mapping file, for example: {lines}"
    return LogRefused(columns.table.file.name, place="line 1", reason=reason, remedy=remedy)


def _proposed(proposals: tuple[Proposal, ...]) -> tuple[Doubt, ...]:
    """Return the doubt of a table without a header: as what its columns are read, or might be."""
    told = [
        f"{one.role.column} {'is read as' if one.used else 'looks like'} {one.role.meaning}: {one.role.evidence}"
        for one in proposals
    ]
    if not told:
        return ()
    remedy = "Put the lines below into a mapping file and correct what is wrong: a line stated beats one worked out"
    return (Doubt(f"There is no header line; what the columns hold says that {'; '.join(told)}", remedy),)
