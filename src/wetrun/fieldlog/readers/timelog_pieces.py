"""A time log of any length as tables of its pieces: put together they are the table of the whole log.

Values that are held, the clock's day and the place positions are drawn from go on from piece to piece, and which
column stands for what is settled on the whole log, which is therefore read twice if it is longer than one piece.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from wetrun.fieldlog.readers.timelog_columns import TimeLogTable, drawn_after_table
from wetrun.fieldlog.readers.timelog_header import TimeLogHeader
from wetrun.fieldlog.readers.timelog_records import PIECE_RECORDS, Opened, pieces_in
from wetrun.fieldlog.readers.timelog_survey import survey_of


def tables_in(
    opened: Opened,
    header: TimeLogHeader,
    *,
    file: str,
    piece_records: int = PIECE_RECORDS,
    most_records: int | None = None,
) -> Iterator[TimeLogTable]:
    """Yield a time log as tables of at most so many records each.

    Parameters
    ----------
    opened
        Opens the log from its start: it is called up to four times.
    header
        Its layout.
    file
        Its name, for the refusal.
    piece_records
        How many records a table has at most. It ends before the longest step of the clock in its second half, so at
        a gap if there is one.
    most_records
        How many records are allowed in all, None for any number.

    Raises
    ------
    LogRefused
        When no record can be true, the log is out of step all the time, or it has too many records.
    """
    pieces = pieces_in(opened, header, file=file, piece_records=piece_records)
    first = next(pieces)
    second = next(pieces, None)
    through = (first,) if second is None else chain((first, second), pieces)
    survey = survey_of(header, through, file=file, most_records=most_records)
    if second is None:
        yield TimeLogTable(header, first, survey=survey)
        return
    held, drawn, start_ms = None, None, None
    del first, second, through
    for records in pieces_in(opened, header, file=file, piece_records=piece_records):
        table = TimeLogTable(header, records, survey=survey, held=held, drawn=drawn, start_ms=start_ms)
        held, drawn, start_ms = table.held_after(), drawn_after_table(table), table.start_ms
        yield table
