"""One more row of a test: a catch of the meter, a pair of pressures, a step of the ramp, typed as it is read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.db import transaction

from wetrun.documents.entry import Entry
from wetrun.documents.refusals import shown_value
from wetrun.documents.wetrun_catch_entry import SwapEntry
from wetrun.documents.wetrun_steady_entry import SteadyEntry
from wetrun.documents.wetrun_tests_entry import GaugeEntry, MeterCatchEntry, RunEntry
from wetrun.documents.wetrun_yard_entry import SectionEntry, StepEntry
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.run_document import rows_of
from wetrun.shop.answers.wet_run_pieces import PIECES, digest_of, keep_piece
from wetrun.shop.answers.wet_run_tests import YardTest
from wetrun.shop.answers.wet_runs import document_of
from wetrun.shop.records.models import WetRun
from wetrun.shop.typed.faces import say_by_itself
from wetrun.shop.typed.layouts import LAYOUT

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class RowsOf:
    """The rows of a test.

    Attributes
    ----------
    key : str
        Where they stand in the test's piece.
    entry : type of Entry
        What one is.
    goes_on : tuple of str
        Keys a new row takes over from the last one, since they seldom change from one to the next.
    """

    key: str
    entry: type[Entry]
    goes_on: tuple[str, ...] = ()


ROWS: Final[Mapping[str, RowsOf]] = {
    "course": RowsOf("run", RunEntry),
    "meter": RowsOf("catch", MeterCatchEntry, ("flow", "tare")),
    "swaps": RowsOf("swap", SwapEntry),
    "pressure": RowsOf("gauge", GaugeEntry, ("section",)),
    "steady": RowsOf("steady", SteadyEntry),
    "ramp": RowsOf("step", StepEntry, ("sections_on",)),
    "sections": RowsOf("section", SectionEntry, ("tips", "typed_tips", "width", "typed_width")),
}
"""Tests that are typed row by row, by their key."""


@dataclass(frozen=True, slots=True)
class RowTable:
    """The rows of a test so far.

    Attributes
    ----------
    heads : tuple of str
        What stands in the columns: keys that some row has.
    rows : tuple of tuple of str
        As typed.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def row_table(document: Mapping[str, Any], test: YardTest) -> RowTable:
    """Return the rows of a test as a table shows them.

    Parameters
    ----------
    document : mapping
        The run's.
    test : YardTest
        One of `ROWS`.

    Returns
    -------
    RowTable
        Columns in the order of the sheet; without those that no row has.
    """
    rows = rows_so_far(document, test)
    used = {key for row in rows for key in row}
    face = LAYOUT.face(ROWS[test.key].entry)
    known = [key for key in dict.fromkeys((*face.first, *face.more, *sorted(used))) if key in used]
    heads = tuple(str((face.say(key) or say_by_itself(key)).label) for key in known)
    return RowTable(heads, tuple(tuple(_shown(row.get(key, "")) for key in known) for row in rows))


def rows_so_far(document: Mapping[str, Any], test: YardTest) -> list[Row]:
    """Return the rows of a test; what is no table is left out."""
    piece = PIECES[test.key].cut(document)
    return [dict(row) for row in rows_of(piece, ROWS[test.key].key) if isinstance(row, Mapping)]


def next_row(document: Mapping[str, Any], test: YardTest) -> Row:
    """Return what a new row begins with: what seldom changes from one to the next."""
    last = next(iter(reversed(rows_so_far(document, test))), {})
    return {key: last[key] for key in ROWS[test.key].goes_on if key in last}


def keep_row(wet_run: WetRun, desk: Desk, test: YardTest, row: Mapping[str, Any], *, seen: int) -> bool:
    """Keep one more row of a test, after those of everybody else.

    Parameters
    ----------
    wet_run : WetRun
        An open one.
    desk : Desk
        Who typed it.
    test : YardTest
        One of `ROWS`.
    row : mapping
        As the file holds it.
    seen : int
        How many rows there were when it was typed.

    Returns
    -------
    bool
        False if the very same row came in since: it was sent twice.

    Raises
    ------
    RunProven
        If the run takes no more readings.
    """
    key = ROWS[test.key].key
    with transaction.atomic():
        now = WetRun.objects.select_for_update(of=("self",)).select_related("branch").get(pk=wet_run.pk)
        piece = PIECES[test.key].cut(document_of(now))
        rows = rows_of(piece, key)
        if row in rows[seen:]:
            return False
        keep_piece(now, desk, test, {**piece, key: [*rows, dict(row)]}, read=digest_of(piece))
    return True


def _shown(value: Any) -> str:  # noqa: ANN401 - whatever a document holds
    if isinstance(value, Mapping):
        return ", ".join(f"{key}: {_shown(each)}" for key, each in value.items())
    if isinstance(value, list):
        return ", ".join(_shown(each) for each in value)
    return value if isinstance(value, str) else shown_value(value)
