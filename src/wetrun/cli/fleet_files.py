"""The files a fleet leaves in its folder: a plan per machine, the parts list, and what was not used."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from typing import Final

from wetrun.cli.fleet_notes import LogNote
from wetrun.cli.plain_fleet import FORMAT_VERSION, NotUsed
from wetrun.fleet.parts import Order, PartsLine
from wetrun.papers.reader import money

PARTS_FILE: Final = "fleet-parts.csv"
NOT_USED_FILE: Final = "fleet-not-used.csv"
NOTES_FILE: Final = "fleet-notes.csv"
FLEET_FILE: Final = re.compile(r"fleet-plan-.+\.json|fleet-(parts|not-used|notes)\.csv")
"""Names only this command gives: those of an earlier run that are not written again are taken away."""
FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")


def plan_name(machine: str) -> str:
    """Return the name of the file that holds a machine's plan."""
    return f"fleet-plan-{machine}.json"


def parts_csv(parts: Sequence[PartsLine]) -> bytes:
    """Return the parts list as a table for a spreadsheet, one row per tip and machine.

    Parameters
    ----------
    parts : sequence of PartsLine
        The list.

    Returns
    -------
    bytes
        UTF-8 with its mark, as spreadsheets want it. An unknown price leaves its cell empty.
    """
    header = ("family", "size", "tip", "words", "count", "cost", "machine", "customer", "format_version")
    return _table(header, (_row(line, one) for line in parts for one in line.orders))


def told_csv(told: Sequence[NotUsed | LogNote]) -> bytes:
    """Return what was not used, or what there is to look at, as a table for a spreadsheet.

    Parameters
    ----------
    told : sequence of NotUsed or LogNote
        Each with its kind, machine, path and sentence.

    Returns
    -------
    bytes
        UTF-8 with its mark.
    """
    rows = ((one.kind, one.machine, one.path, one.sentence, FORMAT_VERSION) for one in told)
    return _table(("kind", "machine", "path", "sentence", "format_version"), rows)


def _row(line: PartsLine, one: Order) -> tuple[object, ...]:
    tip = (line.family.value, line.size, line.ident, line.words)
    return (*tip, one.count, _cost(one.cost_cents), one.machine, one.customer, FORMAT_VERSION)


def _cost(cost_cents: int | None) -> str:
    return "" if cost_cents is None else money(cost_cents).replace(",", "")


def _table(header: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(header)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return text.getvalue().encode("utf-8-sig")


def _cell(value: object) -> object:
    """A text that a spreadsheet would take for a formula stays a text: names come from files of others."""
    return f"'{value}" if isinstance(value, str) and value.startswith(FORMULA) else value
