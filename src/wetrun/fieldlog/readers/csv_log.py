"""As-applied logs as CSV: one row per boom section and clock reading, or one row per reading.

Comma, semicolon or tab, decimal point or comma, plain or gzip. Columns are named by a mapping file or recognised by
generic words; only time, place, speed, width, sections and rates are read, never names or serial numbers. The unit of
a distance or speed may be worked out from positions; **the unit of a rate is never guessed**: without one the column
is shown as it stands, and planning and replay ask for the mapping line that settles it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.clock import Clock, clock_of
from wetrun.fieldlog.readers.column_logs import logs_of_columns
from wetrun.fieldlog.readers.column_table import CLOCK_SAMPLE, ParsedColumns, in_name_order, numbers_of, unreadable
from wetrun.fieldlog.readers.columns import ColumnRole, roles_in
from wetrun.fieldlog.readers.found import FoundLogs
from wetrun.fieldlog.readers.mapping import check_columns_exist
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, Progress, ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.readers.text_table import TextTable, blocks_of, table_in
from wetrun.fieldlog.trace import FloatArray, IntArray, Repair

FORMAT: Final = "CSV as-applied log"
FIRST_BYTES: Final = 1 << 12
TABLE_ENDINGS: Final = (".csv", ".txt", ".tsv", ".dat")


@dataclass(slots=True)
class RawColumns:
    """Columns as read, before any unit: numbers by meaning, seconds, section of each row, and cells that failed."""

    numbers: dict[str, list[FloatArray]]
    seconds: list[FloatArray] = field(default_factory=list)
    sections: list[IntArray] = field(default_factory=list)
    names: dict[str, int] = field(default_factory=dict)
    tracks: list[IntArray] = field(default_factory=list)
    track_names: dict[str, int] = field(default_factory=dict)
    unreadable: dict[str, int] = field(default_factory=dict)


def sniff(file: SentFile) -> bool:
    """Return whether a file looks like such a log: a text table with a time column."""
    try:
        return "time" in roles_in(table_in(file).header, None)
    except LogRefused:
        return False


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
    table = table_in(file)
    if request.mapping:
        check_columns_exist(request.mapping, table.header, log=file.name)
    roles = roles_in(table.header, request.mapping)
    _check_roles(file.name, table.header, roles)
    raw, clock = _raw_columns(table, roles, request.progress)
    names, section = in_name_order(raw.names, np.concatenate(raw.sections))
    track_names, track = in_name_order(raw.track_names, np.concatenate(raw.tracks))
    time_s = np.concatenate(raw.seconds)
    columns = ParsedColumns(
        file=file.name, format=FORMAT, rows=table.counts.rows, roles=roles, clock=clock, time_s=time_s,
        section=section, section_names=names, track=track, track_names=track_names,
        numbers={meaning: np.concatenate(parts) for meaning, parts in raw.numbers.items()},
        repairs=list(_reading_repairs(table, raw)), doubts=list(clock.doubts),
    )  # fmt: skip
    return FoundLogs(file.name, FORMAT, logs_of_columns(columns, request.mapping))


def _check_roles(file: str, header: tuple[str, ...], roles: dict[str, ColumnRole]) -> None:
    if "time" not in roles:
        reason = f"no column is recognised as the time; there are {', '.join(header)}"
        remedy = 'Name it in a mapping file: time = { column = "…" }'
        raise LogRefused(file, place="line 1", reason=reason, remedy=remedy)
    positions = {"longitude", "latitude"} <= roles.keys()
    if not positions and "distance" not in roles and "speed" not in roles:
        reason = "there is no distance, no speed and no position, so no speed can be had"
        remedy = 'Export one of them, or name it in a mapping file: distance = { column = "…", unit = "ft" }'
        raise LogRefused(file, place="line 1", reason=reason, remedy=remedy)


def _raw_columns(table: TextTable, roles: dict[str, ColumnRole], progress: Progress | None) -> tuple[RawColumns, Clock]:
    raw = RawColumns({meaning: [] for meaning in roles if meaning not in ("time", "section", "track")})
    clock = None
    for block in blocks_of(table, progress):
        cells = list(zip(*block, strict=True))
        clock = clock or _clock(table, roles["time"], cells[roles["time"].index][:CLOCK_SAMPLE])
        _add_block(raw, cells, roles, clock, decimal_comma=table.decimal_comma)
    if clock is None or 2 * table.counts.misshapen > table.counts.rows:
        counts = table.counts
        reason = f"{counts.misshapen} of {counts.rows} rows do not have the {len(table.header)} cells of the header"
        place = f"row {counts.first_misshapen}"
        raise LogRefused(table.file.name, place=place, reason=reason, remedy="Export the log again as one plain table")
    return raw, clock


def _clock(table: TextTable, role: ColumnRole, sample: Sequence[str]) -> Clock:
    clock = clock_of([cell for cell in sample if cell.strip()], unit=role.unit, format_=role.format)
    if clock is None:
        reason = f"the times in it, such as “{sample[0][:40]}”, are neither dates known here nor numbers with a unit"
        remedy = f'Say how to read it in a mapping file: time = {{ column = "{role.column}", unit = "s" }}, or a format'
        raise LogRefused(table.file.name, place=f"column {role.column}", reason=reason, remedy=remedy)
    return clock


def _add_block(
    raw: RawColumns, cells: list[tuple[str, ...]], roles: dict[str, ColumnRole], clock: Clock, *, decimal_comma: bool
) -> None:
    for meaning, parts in raw.numbers.items():
        values, failed = numbers_of(cells[roles[meaning].index], decimal_comma=decimal_comma)
        raw.unreadable[meaning] = raw.unreadable.get(meaning, 0) + failed
        parts.append(values)
    times: Sequence[str] = cells[roles["time"].index]
    if decimal_comma and roles["time"].unit:
        times = [cell.replace(",", ".") for cell in times]
    raw.seconds.append(clock.seconds(times))
    raw.sections.append(_numbered(raw.names, cells, roles.get("section")))
    raw.tracks.append(_numbered(raw.track_names, cells, roles.get("track")))


def _numbered(names: dict[str, int], cells: list[tuple[str, ...]], role: ColumnRole | None) -> IntArray:
    if role is None:
        return np.zeros(len(cells[0]), dtype=np.int64)
    return np.array([names.setdefault(cell.strip(), len(names)) for cell in cells[role.index]], dtype=np.int64)


def _reading_repairs(table: TextTable, raw: RawColumns) -> tuple[Repair, ...]:
    repairs = [unreadable(meaning, count) for meaning, count in raw.unreadable.items() if count]
    if table.counts.misshapen:
        words = f"rows with a wrong number of cells were left out, the first in row {table.counts.first_misshapen}"
        repairs.append(Repair("misshapen row", table.counts.misshapen, 0.0, words))
    return tuple(repairs)
