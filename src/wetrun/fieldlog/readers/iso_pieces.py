"""A long time log as traces of its pieces: what its head settles holds for all of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from typing import Final

from wetrun.errors import LogRefused
from wetrun.fieldlog.cleaning import settled_by
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.readers.task_data import TaskData
from wetrun.fieldlog.readers.timelog_boom import boom_of
from wetrun.fieldlog.readers.timelog_columns import TimeLogTable
from wetrun.fieldlog.readers.timelog_header import TimeLogHeader
from wetrun.fieldlog.readers.timelog_pieces import tables_in
from wetrun.fieldlog.readers.timelog_rows import NOTHING_ON, rows_of
from wetrun.fieldlog.rows import RawRows
from wetrun.fieldlog.seams import pieces_of_rows
from wetrun.fieldlog.trace import Trace

# One row for every section that is on: a boom of twenty sections makes over a million of them out of this many.
RECORDS_AT_ONCE: Final = 1 << 16
PIECE_ROWS: Final = 1 << 20


@dataclass(frozen=True, slots=True)
class LongTimeLog:
    """A time log on its way: its file, its layout, the task data it belongs to, and what to call it."""

    data: SentFile
    header: TimeLogHeader
    task: TaskData
    name: str
    words: str

    def tables(self, records: int = RECORDS_AT_ONCE) -> Iterator[TimeLogTable]:
        """Yield the log as tables of at most so many records.

        Raises
        ------
        LogRefused
            When no record can be true, the log is out of step all the time, or it has too many records.
        """
        most = self.data.limits.most_records
        return tables_in(
            self.data.open_plain, self.header, file=self.data.name, piece_records=records, most_records=most
        )


def traces_of(log: LongTimeLog, *, records: int = RECORDS_AT_ONCE, piece_rows: int = PIECE_ROWS) -> Iterator[Trace]:
    """Yield a long time log as traces of its pieces; where no section is on, nothing is yielded.

    Raises
    ------
    LogRefused
        When no section is ever on, or nothing tells a speed.
    """
    blocks = _blocks(log, records)
    head = next(blocks, None)
    if head is None:
        raise LogRefused(log.name, place="", reason=NOTHING_ON, remedy="Nothing was sprayed in it")
    yield from pieces_of_rows(chain([head], blocks), settled_by(head), piece_rows=piece_rows)


def _blocks(log: LongTimeLog, records: int) -> Iterator[RawRows]:
    """Yield the rows of each table that has any, all by the source of speed that the first one was read by."""
    speed_by = ""
    for table in log.tables(records):
        try:
            rows = rows_of(table, boom_of(table, log.task), file=log.name, words=log.words, speed_by=speed_by)
        except LogRefused as refused:
            if refused.reason != NOTHING_ON:
                raise
            continue
        speed_by = next((use.column for use in rows.source.columns if use.meaning == "speed"), "positions")
        yield rows
