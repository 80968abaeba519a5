"""The mapping file: which column of a log means what, in which unit. A few lines of TOML written once per terminal.

::

    format_version = 1

    [columns]
    time        = { column = "IsoTime" }
    distance    = { column = "DISTANCE", unit = "ft" }
    width       = { column = "SWATHWIDTH", unit = "ft" }
    section     = { column = "SECTIONID" }
    target_rate = { column = "TargetRate", unit = "gal/ac" }

    [boom]
    full_width  = { value = 100, unit = "ft" }

Columns not named are still recognised by their header words. ``time`` may carry a ``format`` in `strptime` letters. In
a table without a header line columns are named by their place from the left: ``time = { column = "4", unit = "s" }``.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from wetrun.errors import InputProblems, Problem
from wetrun.fieldlog.readers.log_units import ACCEPTED, LENGTH, accepted_units, known_unit
from wetrun.units import M

FORMAT_VERSION: Final = 1
MOST_BYTES: Final = 100_000
SETTINGS: Final = ("column", "unit", "format")

Report = Callable[[str, object, str, str], None]


@dataclass(frozen=True, slots=True)
class MappedColumn:
    """One line of a mapping: the column, and its unit and clock format where stated (else empty)."""

    column: str
    unit: str = ""
    format: str = ""


@dataclass(frozen=True, slots=True)
class ColumnMapping:
    """A parsed mapping file. ``full_width_m`` is None where the file states none."""

    file: str
    columns: Mapping[str, MappedColumn]
    full_width_m: M | None = None


def mapping_in(path: Path) -> ColumnMapping:
    """Return the mapping a file holds.

    Raises
    ------
    InputProblems
        Naming everything wrong in the file at once.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise _problems(path.name, f"is larger than {MOST_BYTES} bytes", "Give the mapping file, not the log")
        return mapping_from(path.read_text(encoding="utf-8-sig"), file=path.name)
    except OSError as fault:
        raise _problems(path.name, f"cannot be read ({fault.strerror})", "Check the name and the folder") from fault
    except UnicodeDecodeError as fault:
        raise _problems(path.name, "is not UTF-8 text", "Save the mapping as plain UTF-8 text") from fault


def mapping_from(text: str, *, file: str) -> ColumnMapping:
    """Return the mapping in a TOML text; see `mapping_in`.

    Example
    -------
    >>> lines = ["format_version = 1", "[columns]", 'distance = { column = "DIST", unit = "feet" }']
    >>> mapping_from(chr(10).join(lines), file="mine.toml").columns["distance"]
    MappedColumn(column='DIST', unit='ft', format='')
    """
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise _problems(file, f"is not TOML: {fault}", "Compare it with the example in the handbook") from fault
    problems: list[Problem] = []

    def report(key: str, value: object, limit: str, remedy: str) -> None:
        problems.append(Problem(file, key, "" if value is None else repr(value), limit, remedy))

    _check_version(document, report)
    columns = _columns(document.get("columns", {}), report)
    full_width = _full_width(document.get("boom", {}), report)
    if problems:
        raise InputProblems(problems)
    return ColumnMapping(file, columns, full_width)


def with_places(mapping: ColumnMapping) -> ColumnMapping:
    """Return the mapping for a table without a header line: ``"4"`` stands for ``"column 4"``."""
    columns = {
        meaning: replace(one, column=f"column {int(one.column)}") if one.column.strip().isdecimal() else one
        for meaning, one in mapping.columns.items()
    }
    return replace(mapping, columns=columns)


def check_columns_exist(mapping: ColumnMapping, header: tuple[str, ...], *, log: str) -> None:
    """Raise `InputProblems` naming every mapped column the log does not have."""
    missing = [
        Problem(
            mapping.file,
            f"columns.{meaning}.column",
            repr(mapped.column),
            f"{log} has no such column; it has {', '.join(header)}",
            "Write the name as the log's first line has it; without a header line, the place from the left",
        )
        for meaning, mapped in mapping.columns.items()
        if mapped.column not in header
    ]
    if missing:
        raise InputProblems(missing)


def _problems(file: str, limit: str, remedy: str) -> InputProblems:
    return InputProblems([Problem(file, "", "", limit, remedy)])


def _check_version(document: dict[str, Any], report: Report) -> None:
    version = document.get("format_version")
    if version != FORMAT_VERSION or isinstance(version, bool):
        newer = isinstance(version, int) and version > FORMAT_VERSION
        remedy = "Use the newer Wetrun it was written for" if newer else f"Write format_version = {FORMAT_VERSION}"
        report("format_version", version, f"must be {FORMAT_VERSION}", remedy)
    for key in document.keys() - {"format_version", "columns", "boom"}:
        report(key, None, "is not a part of a mapping", "Use [columns] and [boom], or take it out")


def _columns(table: object, report: Report) -> dict[str, MappedColumn]:
    if not isinstance(table, dict):
        report("columns", table, "must be a table", "Write [columns] and one line for each meaning")
        return {}
    found = {meaning: _column(meaning, line, report) for meaning, line in table.items()}
    return {meaning: column for meaning, column in found.items() if column is not None}


def _column(meaning: str, line: object, report: Report) -> MappedColumn | None:
    key = f"columns.{meaning}"
    if meaning not in ACCEPTED:
        report(key, None, "is not a meaning known here", f"Use one of {', '.join(ACCEPTED)}")
        return None
    if not isinstance(line, dict) or not isinstance(line.get("column"), str):
        report(key, line, "must name a column", f'Write {meaning} = {{ column = "…" }}')
        return None
    for name in line:
        if name not in SETTINGS or not isinstance(line[name], str):
            report(f"{key}.{name}", line[name], "is not a setting of a column", f"Use text for {', '.join(SETTINGS)}")
            return None
    unit = known_unit(meaning, line["unit"]) if "unit" in line else ""
    if unit is None:
        accepted = accepted_units(meaning) or "none at all"
        report(f"{key}.unit", line["unit"], f"is not a unit of {meaning}", f"Accepted here: {accepted}")
        return None
    return MappedColumn(line["column"], unit, line.get("format", ""))


def _full_width(table: object, report: Report) -> M | None:
    if table == {}:
        return None
    line = table.get("full_width") if isinstance(table, dict) and set(table) == {"full_width"} else None
    example = 'Write full_width = { value = 100, unit = "ft" }'
    if not isinstance(line, dict) or set(line) != {"value", "unit"} or not isinstance(line["unit"], str):
        report("boom", table, "must hold full_width with a value and a unit, and nothing else", example)
        return None
    value, unit = line["value"], known_unit("width", line["unit"])
    if unit is None:
        report("boom.full_width.unit", line["unit"], "is not a length", f"Accepted here: {accepted_units('width')}")
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value * LENGTH[unit] < 100:
        report("boom.full_width.value", value, "must be a number over 0 and under 100 m", example)
        return None
    return float(value * LENGTH[unit])
