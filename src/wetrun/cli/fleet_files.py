"""The files a fleet leaves in its folder: a plan per machine, the parts list, and what was not used."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from wetrun.cli.fleet_notes import LogNote
from wetrun.cli.plain_fleet import FORMAT_VERSION, NotUsed
from wetrun.fleet.parts import Order, PartsLine
from wetrun.papers.table_text import Cell, amount, table_csv

PARTS_FILE: Final = "fleet-parts.csv"
NOT_USED_FILE: Final = "fleet-not-used.csv"
NOTES_FILE: Final = "fleet-notes.csv"
FLEET_FILE: Final = re.compile(r"fleet-plan-.+\.json|fleet-(parts|not-used|notes)\.csv")
"""Names only this command gives: those of an earlier run that are not written again are taken away."""


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
    return table_csv(header, (_row(line, one) for line in parts for one in line.orders))


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
    return table_csv(("kind", "machine", "path", "sentence", "format_version"), rows)


def _row(line: PartsLine, one: Order) -> tuple[Cell, ...]:
    tip = (line.family.value, line.size, line.ident, line.words)
    return (*tip, one.count, amount(one.cost_cents), one.machine, one.customer, FORMAT_VERSION)
