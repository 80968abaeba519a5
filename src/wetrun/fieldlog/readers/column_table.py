"""Named columns of points, as text tables, shapefiles and the like hold them, and what they were taken to mean."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.readers.clock import Clock, clock_of, why_no_clock
from wetrun.fieldlog.readers.columns import ColumnRole, roles_in
from wetrun.fieldlog.readers.mapping import ColumnMapping, check_columns_exist
from wetrun.fieldlog.trace import Doubt, FloatArray, IntArray, Repair
from wetrun.units import SECOND

CLOCK_SAMPLE: Final = 200
MISSING: Final = ("", "na", "n/a", "nan", "null", "none", "-")
NOT_NUMBERS: Final = ("time", "section", "track")


@dataclass(frozen=True, slots=True)
class NamedColumn:
    """One column: numbers, nan where there is none, or texts [rows].

    ``meaning`` and ``unit`` are given only where the format itself fixes them, as a track's time is in ISO 8601.
    """

    name: str
    values: FloatArray | Sequence[str]
    unit: str = ""
    meaning: str = ""

    @property
    def is_text(self) -> bool:
        """Whether its values are texts."""
        return not isinstance(self.values, np.ndarray)


@dataclass(frozen=True, slots=True)
class ColumnTable:
    """Columns of one length [rows], as a reader took them from a file, with what it put right on the way."""

    file: str
    format: str
    rows: int
    columns: tuple[NamedColumn, ...]
    repairs: tuple[Repair, ...] = ()
    doubts: tuple[Doubt, ...] = ()


@dataclass(slots=True)
class ParsedColumns:
    """Columns by meaning, before any unit [rows].

    ``clock`` is None where no column tells the time (``time_s`` is nan then), and ``no_clock`` says why. ``section`` is
    the place in ``section_names``, 0 and no names where rows are not told apart; so are ``track`` and ``track_names``.
    ``on_change`` says that blanks may stand for values that have not changed.
    """

    file: str
    format: str
    rows: int
    roles: dict[str, ColumnRole]
    clock: Clock | None
    time_s: Annotated[FloatArray, SECOND]
    section: IntArray
    section_names: tuple[str, ...]
    numbers: dict[str, FloatArray]
    track: IntArray
    track_names: tuple[str, ...] = ()
    repairs: list[Repair] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    no_clock: str = ""
    proposed: tuple[str, ...] = ()
    on_change: bool = False

    def of_rows(self, rows: IntArray) -> ParsedColumns:
        """Return some of the rows."""
        return replace(
            self,
            rows=rows.size,
            time_s=self.time_s[rows],
            section=self.section[rows],
            numbers={meaning: values[rows] for meaning, values in self.numbers.items()},
            track=self.track[rows],
        )


def parsed(table: ColumnTable, mapping: ColumnMapping | None) -> ParsedColumns:
    """Return a table's columns by meaning.

    Raises
    ------
    InputProblems
        When the mapping names columns the table does not have.
    """
    header = tuple(column.name for column in table.columns)
    if mapping:
        check_columns_exist(mapping, header, log=table.file)
    roles = roles_of(table, mapping)
    columns = {meaning: table.columns[role.index] for meaning, role in roles.items()}
    repairs, numbers = list(table.repairs), {}
    for meaning, column in columns.items():
        if meaning not in NOT_NUMBERS:
            numbers[meaning], failed = column_numbers(column)
            if failed:
                repairs.append(unreadable(meaning, failed))
    time_s, clock, no_clock = _time(columns.get("time"), roles.get("time"), table.rows)
    names, section = _numbered(columns.get("section"), table.rows)
    track_names, track = _numbered(columns.get("track"), table.rows)
    doubts = [*table.doubts, *(clock.doubts if clock else ())]
    return ParsedColumns(
        file=table.file, format=table.format, rows=table.rows, roles=roles, clock=clock, time_s=time_s,
        section=section, section_names=names, numbers=numbers, track=track, track_names=track_names,
        repairs=repairs, doubts=doubts, no_clock=no_clock,
    )  # fmt: skip


def roles_of(table: ColumnTable, mapping: ColumnMapping | None) -> dict[str, ColumnRole]:
    """Return the columns of a table by meaning: as mapped, as the format fixes them, or by the words of their names."""
    stated = {
        column.meaning: ColumnRole(
            column.meaning, column.name, index, column.unit, "", f"fixed by {table.format}", fixed=True
        )
        for index, column in enumerate(table.columns)
        if column.meaning
    }
    found = roles_in(tuple(column.name for column in table.columns), mapping, stated)
    units = [column.unit for column in table.columns]
    return {
        meaning: role if role.unit or not units[role.index] else replace(role, unit=units[role.index])
        for meaning, role in found.items()
    }


def column_numbers(column: NamedColumn) -> tuple[FloatArray, int]:
    """Return a column as numbers, and how many of its cells held something else."""
    if isinstance(column.values, np.ndarray):
        values = column.values.astype(np.float64)
        return np.where(np.isinf(values), np.nan, values), int(np.isinf(values).sum())
    return numbers_of(column.values)


def unreadable(meaning: str, count: int) -> Repair:
    """Return the repair that says how many cells of a column held no number."""
    return Repair("unreadable cell", count, 0.0, f"cells in the {meaning} column hold no number and count as missing")


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


def in_name_order(names: dict[str, int], number: IntArray) -> tuple[tuple[str, ...], IntArray]:
    """Return names sorted (as numbers where they are), and the row numbers that go with that order."""
    if not names:
        return (), number
    ordered = sorted(names, key=lambda name: (not name.isdecimal(), int(name) if name.isdecimal() else 0, name))
    place = np.empty(len(names), dtype=np.int64)
    place[[names[name] for name in ordered]] = np.arange(len(names))
    return tuple(ordered), place[number]


def _number(cell: str) -> float | None:
    """Return the number in a cell, nan for a missing value, None for anything else."""
    try:
        return float(cell)
    except ValueError:
        return float("nan") if cell.strip().lower() in MISSING else None


def _time(column: NamedColumn | None, role: ColumnRole | None, rows: int) -> tuple[FloatArray, Clock | None, str]:
    none = np.full(rows, np.nan)
    if column is None or role is None or not rows:
        return none, None, ""
    cells = texts_of(column)
    clock = clock_of([cell for cell in cells if cell.strip()][:CLOCK_SAMPLE], unit=role.unit, format_=role.format)
    return (clock.seconds(cells), clock, "") if clock else (none, None, why_no_clock(cells))


def texts_of(column: NamedColumn) -> Sequence[str]:
    """Return a column as texts; whole numbers without a point, so that names and dates stay as they look."""
    if not isinstance(column.values, np.ndarray):
        return column.values
    values: npt.NDArray[np.float64] = column.values
    return [f"{value:.0f}" if value == np.floor(value) else repr(float(value)) for value in values]


def _numbered(column: NamedColumn | None, rows: int) -> tuple[tuple[str, ...], IntArray]:
    if column is None:
        return (), np.zeros(rows, dtype=np.int64)
    names: dict[str, int] = {}
    number = np.array([names.setdefault(cell.strip(), len(names)) for cell in texts_of(column)], dtype=np.int64)
    return in_name_order(names, number)
