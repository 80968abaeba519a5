"""Reads a catalogue of tips from CSV: a maker's own rows, as the shop typed or exported them."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from wetrun.documents.catalogue_agreement import TipRows
from wetrun.documents.catalogue_cells import TipRow, tip_row
from wetrun.documents.catalogue_table import FORMAT_VERSION, table_of_text
from wetrun.documents.catalogue_tips import tip_of_rows
from wetrun.documents.text_file import text_of_file
from wetrun.errors import InputProblems, Problem
from wetrun.machine.catalogue import catalogue
from wetrun.machine.tip import Tip

_HEADER: Final = (
    "ident,name,size,angle,family,pressure (psi),flow (gal/min),class,min_pressure (psi),max_pressure (psi),"
    "price,pulse,height_rule"
)
_TEMPLATE: Final = f"""\
# Tips of one maker, one row per tip and pressure. format_version: {FORMAT_VERSION}
# What is the same for all rows of a tip may stand in its first row only. Units stand in the header or in the cell.
# family: flat fan, pre-orifice, air induction, streamer. class: XF VF F M C VC XC UC. pulse: yes, no or empty.
# flow may stay empty where the size is an ISO size (04, 015 …). A fan needs its angle in degrees.
# height_rule: the maker's own rule for boom height in his words, where there is one, as for streamers.
{_HEADER}
example-04-ai,Example wide low-drift 110-04,04,110,air induction,30,0.35,UC,30,100,9.40,no,
example-04-ai,,,,,40,0.40,XC,,,,,
example-04-ai,,,,,60,0.49,VC,,,,,
example-04-ai,,,,,100,0.63,C,,,,,
example-05-stream,Example five-stream 05,05,,streamer,20,0.36,,20,60,12.00,,as high above the crop as the tips are apart
example-05-stream,,,,,40,0.50,,,,,,
example-05-stream,,,,,60,0.60,,,,,,
"""


def catalogue_template() -> str:
    """Return a catalogue file to start from, with two invented tips.

    Returns
    -------
    str
        CSV text that `read_catalogue` accepts.
    """
    return _TEMPLATE


def read_catalogue(path: Path) -> tuple[Tip, ...]:
    """Return the tips of a catalogue file.

    Parameters
    ----------
    path : Path
        CSV in UTF-8 or Windows-1252, cells parted by comma, semicolon or tab.

    Returns
    -------
    tuple of Tip
        In the order of the file, none of them generic.

    Raises
    ------
    InputProblems
        Everything wrong in it at once: each names file, row, column, limit and remedy.
    """
    return tips_of_text(path.name, text_of_file(path, fallback_encoding="cp1252"))


def tips_of_text(file: str, text: str) -> tuple[Tip, ...]:
    """Return the tips of a catalogue that is at hand as text.

    Parameters
    ----------
    file : str
        Its name in sentences, and in each tip's origin.
    text : str
        As `read_catalogue` reads it from the file.

    Returns
    -------
    tuple of Tip
        In the order of the text, none of them generic.

    Raises
    ------
    InputProblems
        Everything wrong in it at once: each names file, row, column, limit and remedy.
    """
    table = table_of_text(file, text)
    problems = list(table.problems)
    by_ident: dict[str, list[TipRow]] = {}
    spoilt: set[str] = set()
    for row in table.rows:
        found, wrong = tip_row(table, row)
        problems.extend(wrong)
        if found is not None:
            by_ident.setdefault(found.ident, []).append(found)
        if wrong and found is not None:
            spoilt.add(found.ident)
    # Rows are judged together only where each of them could be read: one slip is not reported twice.
    readable = [TipRows(table.file, tuple(rows)) for ident, rows in by_ident.items() if ident not in spoilt]
    tips: list[Tip] = []
    for tip_rows in readable:
        tip, wrong = tip_of_rows(tip_rows)
        problems.extend((*wrong, *_taken(tip_rows)))
        tips.extend([tip] if tip is not None else [])
    if problems:
        raise InputProblems(problems)
    return tuple(tips)


def _taken(tip_rows: TipRows) -> tuple[Problem, ...]:
    if tip_rows.ident not in {tip.ident for tip in catalogue()}:
        return ()
    limit = "a built-in generic tip has this ident"
    return (tip_rows.problem(tip_rows.rows[0], "ident", limit, "Give the maker's tip an ident of its own."),)
