"""As-applied logs as CSV: one row per boom section and clock reading, or one row per reading.

Comma, semicolon or tab, decimal point or comma, plain or gzip. Columns are named by a mapping file or recognised by
generic words; only time, place, speed, width, sections and rates are read, never names or serial numbers. The unit of
a distance or speed may be worked out from positions; **the unit of a rate is never guessed**: without one the column
is shown as it stands, and planning and replay ask for the mapping line that settles it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.cleaning import trace_of_rows
from wetrun.fieldlog.readers.clock import Clock, clock_of
from wetrun.fieldlog.readers.columns import ColumnRole, roles_in
from wetrun.fieldlog.readers.csv_units import SiColumns, si_columns
from wetrun.fieldlog.readers.mapping import ColumnMapping, check_columns_exist
from wetrun.fieldlog.readers.text_table import Progress, TextTable, blocks_of, table_in
from wetrun.fieldlog.rows import LogSource, RawRows
from wetrun.fieldlog.trace import ColumnUse, FloatArray, IntArray, Repair, Trace

FORMAT: Final = "CSV as-applied log"
MISSING: Final = ("", "na", "n/a", "nan", "null", "none", "-")
CLOCK_SAMPLE: Final = 200


@dataclass(slots=True)
class RawColumns:
    """Columns as read, before any unit: numbers by meaning, seconds, section of each row, and cells that failed."""

    numbers: dict[str, list[FloatArray]]
    seconds: list[FloatArray] = field(default_factory=list)
    sections: list[IntArray] = field(default_factory=list)
    names: dict[str, int] = field(default_factory=dict)
    unreadable: dict[str, int] = field(default_factory=dict)


def sniff(path: Path) -> bool:
    """Return whether a file looks like such a log: a text table with a time column."""
    try:
        return "time" in roles_in(table_in(path).header, None)
    except LogRefused:
        return False


def read(path: Path, mapping: ColumnMapping | None = None, progress: Progress | None = None) -> Trace:
    """Return the trace of a CSV log.

    Parameters
    ----------
    path
        The file, plain or gzip.
    mapping
        What its columns mean, where its header alone does not say.
    progress
        Called now and then with the share of the file read, 0 to 1.

    Raises
    ------
    LogRefused
        When the file cannot be used: where, why, and what to do.
    InputProblems
        When the mapping names columns the file does not have.
    """
    table = table_in(path)
    if mapping:
        check_columns_exist(mapping, table.header, log=path.name)
    roles = roles_in(table.header, mapping)
    _check_roles(path, table.header, roles)
    raw, clock = _raw_columns(table, roles, progress)
    time_s = np.concatenate(raw.seconds)
    section = np.concatenate(raw.sections)
    numbers = {meaning: np.concatenate(parts) for meaning, parts in raw.numbers.items()}
    found = si_columns(roles, numbers, (time_s, section), file=path.name, mapping=mapping)
    return trace_of_rows(_raw_rows(table, (roles, raw, clock), found, time_s=time_s, section=section))


def _check_roles(path: Path, header: tuple[str, ...], roles: dict[str, ColumnRole]) -> None:
    if "time" not in roles:
        reason = f"no column is recognised as the time; there are {', '.join(header)}"
        remedy = 'Name it in a mapping file: time = { column = "…" }'
        raise LogRefused(path.name, place="line 1", reason=reason, remedy=remedy)
    positions = {"longitude", "latitude"} <= roles.keys()
    if not positions and "distance" not in roles and "speed" not in roles:
        reason = "there is no distance, no speed and no position, so no speed can be had"
        remedy = 'Export one of them, or name it in a mapping file: distance = { column = "…", unit = "ft" }'
        raise LogRefused(path.name, place="line 1", reason=reason, remedy=remedy)


def _raw_columns(table: TextTable, roles: dict[str, ColumnRole], progress: Progress | None) -> tuple[RawColumns, Clock]:
    raw = RawColumns({meaning: [] for meaning in roles if meaning not in ("time", "section")})
    clock = None
    for block in blocks_of(table, progress):
        cells = list(zip(*block, strict=True))
        clock = clock or _clock(table, roles["time"], cells[roles["time"].index][:CLOCK_SAMPLE])
        _add_block(raw, cells, roles, clock, decimal_comma=table.decimal_comma)
    if clock is None or 2 * table.counts.misshapen > table.counts.rows:
        counts = table.counts
        reason = f"{counts.misshapen} of {counts.rows} rows do not have the {len(table.header)} cells of the header"
        place = f"row {counts.first_misshapen}"
        raise LogRefused(table.path.name, place=place, reason=reason, remedy="Export the log again as one plain table")
    return raw, clock


def _clock(table: TextTable, role: ColumnRole, sample: Sequence[str]) -> Clock:
    clock = clock_of([cell for cell in sample if cell.strip()], unit=role.unit, format_=role.format)
    if clock is None:
        reason = f"the times in it, such as “{sample[0][:40]}”, are neither dates known here nor numbers with a unit"
        remedy = f'Say how to read it in a mapping file: time = {{ column = "{role.column}", unit = "s" }}, or a format'
        raise LogRefused(table.path.name, place=f"column {role.column}", reason=reason, remedy=remedy)
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
    raw.sections.append(_section_numbers(raw, cells, roles.get("section")))


def _section_numbers(raw: RawColumns, cells: list[tuple[str, ...]], role: ColumnRole | None) -> IntArray:
    if role is None:
        return np.zeros(len(cells[0]), dtype=np.int64)
    names = raw.names
    return np.array([names.setdefault(cell.strip(), len(names)) for cell in cells[role.index]], dtype=np.int64)


def numbers_of(cells: Sequence[str], *, decimal_comma: bool = False) -> tuple[FloatArray, int]:
    """Return the cells as numbers, nan where there is none, and how many held something else than a number.

    Example
    -------
    >>> values, failed = numbers_of(["1.5", "NA", "broken"])
    >>> values.tolist(), failed
    ([1.5, nan, nan], 1)
    """
    if decimal_comma:
        cells = [cell.replace(",", ".") for cell in cells]
    try:
        values, failed = np.array(cells, dtype=np.float64), 0
    except ValueError:
        read_cells = [_number(cell) for cell in cells]
        values = np.array([np.nan if value is None else value for value in read_cells], dtype=np.float64)
        failed = sum(value is None for value in read_cells)
    infinite = np.isinf(values)
    return np.where(infinite, np.nan, values), failed + int(infinite.sum())


def _number(cell: str) -> float | None:
    """Return the number in a cell, nan for a missing value, None for anything else."""
    try:
        return float(cell)
    except ValueError:
        return float("nan") if cell.strip().lower() in MISSING else None


def _raw_rows(
    table: TextTable,
    reading: tuple[dict[str, ColumnRole], RawColumns, Clock],
    found: SiColumns,
    *,
    time_s: FloatArray,
    section: IntArray,
) -> RawRows:
    roles, raw, clock = reading
    names, section = _in_name_order(raw.names, section)
    source = LogSource(
        file=table.path.name,
        format=FORMAT,
        rows=table.counts.rows,
        columns=(_time_use(roles["time"], clock), *found.uses),
        raw_columns=found.raw,
        repairs=(*_reading_repairs(table, raw), *found.repairs),
        doubts=(*clock.doubts, *found.doubts),
    )
    return RawRows(
        time_s=time_s,
        section=section,
        section_names=names,
        source=source,
        full_width_m=found.full_width_m,
        origin=found.origin,
        **found.columns,
    )


def _in_name_order(names: dict[str, int], section: IntArray) -> tuple[tuple[str, ...], IntArray]:
    """Return section names sorted (as numbers where they are), and the row numbers that go with that order."""
    if not names:
        return (), section
    ordered = sorted(names, key=lambda name: (not name.isdecimal(), int(name) if name.isdecimal() else 0, name))
    place = np.empty(len(names), dtype=np.int64)
    place[[names[name] for name in ordered]] = np.arange(len(names))
    return tuple(ordered), place[section]


def _time_use(role: ColumnRole, clock: Clock) -> ColumnUse:
    return ColumnUse("time", role.column, role.unit or clock.words, bool(role.unit or role.format), role.evidence)


def _reading_repairs(table: TextTable, raw: RawColumns) -> tuple[Repair, ...]:
    repairs = [
        Repair("unreadable cell", count, 0.0, f"cells in the {meaning} column hold no number and count as missing")
        for meaning, count in raw.unreadable.items()
        if count
    ]
    if table.counts.misshapen:
        words = f"rows with a wrong number of cells were left out, the first in row {table.counts.first_misshapen}"
        repairs.append(Repair("misshapen row", table.counts.misshapen, 0.0, words))
    return tuple(repairs)
