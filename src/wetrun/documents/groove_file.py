"""Reads what one tip, or a whole boom, put into the grooves of a tray: a small table as CSV, one row per run."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from wetrun.documents.text_file import text_of_file
from wetrun.errors import InputProblems, NotDefined, OutOfRange, Problem, QuantityRefused
from wetrun.quantity import Kind, read
from wetrun.spray.fan_patterns import MeasuredPattern
from wetrun.spray.fan_source import TrayRun
from wetrun.units import M

FORMAT_VERSION: Final = 1
MOST_GROOVES: Final = 2000
FACTS: Final = ("format_version", "groove", "tip")
COLUMNS: Final = ("height", "pressure", "tip_at")
_TEMPLATE: Final = f"""\
# One tip over a tray of grooves, one row per run. Clean water, no wind, the tip turned as it is on the boom.
# groove: width of one groove. height: tip above the tray. pressure: at the tip. tip_at: from the left edge of the first
# groove to under the tip. Then what each groove held, left to right, in any one unit: only shares count.
format_version,{FORMAT_VERSION}
tip,example-04-ai
groove,100 mm
height,pressure,tip_at,1,2,3,4,5,6,7,8,9,10,11,12,13,14
50 cm,3 bar,70 cm,4,13,22,31,40,49,57,57,48,40,31,22,12,4
50 cm,1.5 bar,70 cm,0,8,20,33,45,55,63,63,55,44,33,20,8,0
"""


@dataclass(frozen=True, slots=True)
class GrooveFile:
    """Runs of one tip over a tray.

    Attributes
    ----------
    file : str
        Its name.
    tip : str
        Ident of the tip as typed; empty if none is.
    groove_m : float
        Width of a groove [m].
    runs : tuple of TrayRun
        In the order of the file.
    """

    file: str
    tip: str
    groove_m: M
    runs: tuple[TrayRun, ...]


def groove_template() -> str:
    """Return a groove file to start from, with an invented tip."""
    return _TEMPLATE


def read_grooves(path: Path) -> GrooveFile:
    """Return the runs of a groove file.

    Parameters
    ----------
    path : Path
        CSV in UTF-8 or Windows-1252, cells parted by comma, semicolon or tab.

    Returns
    -------
    GrooveFile
        Ready to stack.

    Raises
    ------
    InputProblems
        Everything wrong in it at once: each names file, row, limit and remedy.
    """
    return grooves_of_text(path.name, text_of_file(path, fallback_encoding="cp1252"))


def grooves_of_text(file: str, text: str) -> GrooveFile:
    """Return the runs of a groove file that is at hand as text.

    Parameters
    ----------
    file : str
        Its name in sentences.
    text : str
        As `read_grooves` reads it from the file.

    Returns
    -------
    GrooveFile
        Ready to stack.

    Raises
    ------
    InputProblems
        Everything wrong in it at once.
    """
    facts, header, rows = _parts(file, text)
    _check_facts(file, facts)
    problems: list[Problem] = []
    groove_m = _typed(Problem(file, "groove", facts.get("groove", ""), "", ""), Kind.SPACING, problems)
    table = _Table(file, header, groove_m, problems)
    runs = [table.run(number, cells) for number, cells in rows]
    if not rows:
        problems.append(Problem(file, "", "", "there are no runs", "Write a row per run below the header."))
    if problems:
        raise InputProblems(problems)
    return GrooveFile(file, facts.get("tip", ""), groove_m, tuple(run for run in runs if run is not None))


_Rows = list[tuple[int, list[str]]]


def _parts(file: str, text: str) -> tuple[dict[str, str], list[str], _Rows]:
    """Return the facts above, the header, and the rows below it with their numbers."""
    first = next((line for line in text.splitlines() if line.strip() and not line.startswith("#")), "")
    separator = max(",;\t", key=first.count)
    records = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=False)
    facts: dict[str, str] = {}
    header: list[str] = []
    rows: _Rows = []
    try:
        for number, raw in enumerate(records, start=1):
            cells = [" ".join(cell.split()) for cell in raw]
            if not any(cells) or cells[0].startswith("#"):
                continue
            name = cells[0].casefold().replace(" ", "_")
            if header:
                rows.append((number, cells))
            elif name in FACTS:
                facts[name] = cells[1] if len(cells) > 1 else ""
            else:
                header = [cell.casefold().replace(" ", "_") for cell in cells]
    except csv.Error as trouble:
        limit = f"this is no table of text ({trouble})"
        raise InputProblems([Problem(file, "", "", limit, "Save it from the spreadsheet as CSV.")]) from trouble
    return facts, header, rows


def _check_facts(file: str, facts: Mapping[str, str]) -> None:
    """Refuse what makes everything below it meaningless."""
    version = facts.get("format_version", "")
    if not version.isdecimal() or int(version) < 1:
        remedy = f"Write format_version,{FORMAT_VERSION} in its first row; `wetrun new grooves.csv` shows how."
        raise InputProblems([Problem(file, "format_version", version, "the format of the file is not stated", remedy)])
    if int(version) > FORMAT_VERSION:
        limit = f"this Wetrun reads format_version {FORMAT_VERSION}"
        raise InputProblems([Problem(file, "format_version", version, limit, "Use a newer Wetrun for this file.")])
    if not facts.get("groove"):
        raise InputProblems(
            [Problem(file, "groove", "", "the width of a groove is missing", "Write a row such as groove,100 mm.")]
        )


@dataclass(frozen=True, slots=True)
class _Table:
    """The runs as text; what is wrong with them is gathered in ``problems``."""

    file: str
    header: list[str]
    groove_m: M
    problems: list[Problem]

    def run(self, number: int, cells: list[str]) -> TrayRun | None:
        """Return one run, or None for one that cannot be read."""
        row, before = f"row {number}", len(self.problems)
        if missing := [name for name in COLUMNS if name not in self.header]:
            limit = f"the header lacks {', '.join(missing)}"
            remedy = f"Write {','.join(COLUMNS)},1,2,3 above the runs."
            self.problems.append(Problem(self.file, "header", "", limit, remedy))
            return None
        by_name = dict(zip(self.header, cells, strict=False))
        kinds = {"height": Kind.HEIGHT, "pressure": Kind.PRESSURE, "tip_at": Kind.SPACING}
        height_m, pressure_pa, tip_m = (
            _typed(Problem(self.file, f"{row}, {name}", by_name.get(name, ""), "", ""), kind, self.problems)
            for name, kind in kinds.items()
        )
        caught = self._caught(row, [cell for name, cell in by_name.items() if name not in COLUMNS])
        if len(self.problems) > before:
            return None
        try:
            return TrayRun(height_m, pressure_pa, MeasuredPattern(caught, self.groove_m, tip_m))
        except (NotDefined, OutOfRange) as wrong:
            limit = wrong.reason if isinstance(wrong, NotDefined) else "the tip does not stand over what it wetted"
            self.problems.append(Problem(self.file, row, by_name["tip_at"], limit, wrong.remedy))
            return None

    def _caught(self, row: str, cells: list[str]) -> tuple[float, ...]:
        if not 1 <= len(cells) <= MOST_GROOVES:
            limit = f"1 to {MOST_GROOVES} grooves, each with a heading of its own, are read"
            self.problems.append(Problem(self.file, row, f"{len(cells)} grooves", limit, "Read the tray again."))
        amounts = []
        for place, cell in enumerate(cells, start=1):
            try:
                amounts.append(read(cell or "0", Kind.RATIO).si_value)
            except QuantityRefused as refusal:
                remedy = "Write the amount as a plain number; leave a dry groove empty."
                self.problems.append(Problem(self.file, f"{row}, groove {place}", cell, refusal.reason, remedy))
        return tuple(amounts)


def _typed(place: Problem, kind: Kind, problems: list[Problem]) -> float:
    """Read one cell with its unit; what cannot be read is told and stands as 1."""
    remedy = f"Write it with its unit, like {kind.value.example!r}."
    try:
        value = read(place.value, kind).si_value
    except QuantityRefused as refusal:
        problems.append(Problem(place.file, place.key, place.value, refusal.reason, remedy))
        return 1.0
    if not value > 0.0:
        problems.append(Problem(place.file, place.key, place.value, "it must be above zero", remedy))
        return 1.0
    return value
