"""A catalogue file as a table: its columns, the unit each prints in its header, and its rows as text."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Final

from wetrun.errors import InputProblems, Problem

FORMAT_VERSION: Final = 1
COLUMNS: Final = (
    "ident",
    "name",
    "size",
    "angle",
    "family",
    "pressure",
    "flow",
    "class",
    "min_pressure",
    "max_pressure",
    "price",
    "pulse",
    "height_rule",
)
REQUIRED: Final = ("ident", "size", "family", "pressure")


@dataclass(frozen=True, slots=True)
class Row:
    """One row of text.

    Attributes
    ----------
    number : int
        Row as a spreadsheet counts it, the header being 1 if nothing stands above it.
    cells : dict of str
        Text by column, only those that are not empty.
    """

    number: int
    cells: dict[str, str]


@dataclass(frozen=True, slots=True)
class Table:
    """A catalogue as text.

    Attributes
    ----------
    file : str
        Its name in sentences.
    units : dict of str
        Unit printed in a column's header.
    rows : tuple of Row
        Rows that hold anything.
    problems : tuple of Problem
        What is wrong with their shape.
    """

    file: str
    units: dict[str, str]
    rows: tuple[Row, ...]
    problems: tuple[Problem, ...]


def table_of_text(file: str, text: str) -> Table:
    """Return a catalogue as a table of text.

    Parameters
    ----------
    file : str
        Its name in sentences.
    text : str
        Its text; comma, semicolon or tab part the cells, whichever the header uses most.

    Returns
    -------
    Table
        Columns by their known names.

    Raises
    ------
    InputProblems
        If there is no usable header: nothing below it could be understood.
    """
    records = _records(file, text)
    header_at = next((at for at, cells in enumerate(records) if any(cells) and not cells[0].startswith("#")), None)
    _check_version(file, records[:header_at])
    if header_at is None:
        raise InputProblems([Problem(file, "row 1", "", "there is no header row", f"Write {', '.join(COLUMNS)}.")])
    columns, units = _header(file, header_at + 1, records[header_at])
    rows: list[Row] = []
    problems: list[Problem] = []
    for number, cells in enumerate(records[header_at + 1 :], start=header_at + 2):
        if not any(cells) or cells[0].startswith("#"):
            continue
        if len(cells) > len(columns) and any(cells[len(columns) :]):
            limit = f"the row has {len(cells)} cells, the header {len(columns)}"
            remedy = "Put a cell that holds the separator, such as a decimal comma, in quotes."
            problems.append(Problem(file, f"row {number}", "", limit, remedy))
            continue
        rows.append(Row(number, {name: cell for name, cell in zip(columns, cells, strict=False) if cell}))
    if not rows and not problems:
        problems.append(
            Problem(file, "", "", "there are no rows below the header", "Write one row per tip and pressure.")
        )
    return Table(file, units, tuple(rows), tuple(problems))


def _records(file: str, text: str) -> list[list[str]]:
    header = next((line for line in text.splitlines() if line.strip() and not line.startswith("#")), "")
    separator = max(",;\t", key=header.count)
    try:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=False)
        return [[" ".join(cell.split()) for cell in cells] for cells in reader]
    except csv.Error as trouble:
        raise InputProblems(
            [Problem(file, "", "", f"this is no table of text ({trouble})", "Save it from the spreadsheet as CSV.")]
        ) from trouble


def _check_version(file: str, above: list[list[str]]) -> None:
    for number, cells in enumerate(above, start=1):
        match = re.search(r"format_version\D*([0-9]{1,9})", ",".join(cells))
        if match and int(match[1]) > FORMAT_VERSION:
            limit = f"this Wetrun reads format_version {FORMAT_VERSION}"
            raise InputProblems([Problem(file, f"row {number}", match[1], limit, "Use a newer Wetrun for this file.")])


def _header(file: str, number: int, cells: list[str]) -> tuple[list[str], dict[str, str]]:
    columns: list[str] = []
    units: dict[str, str] = {}
    problems: list[Problem] = []
    for cell in cells:
        name, unit = _name_and_unit(cell)
        problems.extend(Problem(file, f"row {number}", *said) for said in _said_about(name, cell, columns))
        columns.append(name)
        if unit:
            units[name] = unit
    for name in REQUIRED:
        if name not in columns:
            limit = f"the column {name} is missing"
            problems.append(Problem(file, f"row {number}", "", limit, f"Columns are {', '.join(COLUMNS)}."))
    if problems:
        raise InputProblems(problems)
    return columns, units


def _name_and_unit(cell: str) -> tuple[str, str]:
    match = re.fullmatch(r"([^(\[]*?)\s*(?:[(\[](.*)[)\]])?", cell)
    name, unit = (match[1], match[2] or "") if match else (cell, "")
    return "_".join(name.casefold().replace("_", " ").split()), unit.strip()


def _said_about(name: str, cell: str, before: list[str]) -> Iterator[tuple[str, str, str]]:
    if name and name not in COLUMNS:
        near = get_close_matches(name, COLUMNS, n=1)
        remedy = f"Did you mean “{near[0]}”?" if near else f"Columns are {', '.join(COLUMNS)}."
        yield f"“{cell}”", "no such column is known here", remedy
    if name and name in before:
        yield f"“{cell}”", "the column stands there twice", "Keep one of the two."
