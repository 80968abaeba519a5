"""A law of long time logs: where pieces end at gaps of the clock, their ledgers merged are the ledger of the whole."""

from __future__ import annotations

import io
import random

import numpy as np
from bench.made_time_log import MadeRecord, driven, header_text, log_bytes
from hypothesis import given, settings
from hypothesis import strategies as st

from wetrun.fieldlog.cleaning import trace_of_rows
from wetrun.fieldlog.ledger import ledger_as_arrays, ledger_of, merged
from wetrun.fieldlog.readers.data_dictionary import OFFSET_Y, WORKING_WIDTH
from wetrun.fieldlog.readers.task_data import Element, Machine, TaskData
from wetrun.fieldlog.readers.timelog_boom import boom_of
from wetrun.fieldlog.readers.timelog_columns import TimeLogTable
from wetrun.fieldlog.readers.timelog_header import header_in
from wetrun.fieldlog.readers.timelog_pieces import tables_in
from wetrun.fieldlog.readers.timelog_records import records_in
from wetrun.fieldlog.readers.timelog_rows import rows_of

LISTED = ['A="018D" C="DET-1"', 'A="00A1" C="DET-2"', 'A="0002" C="DET-2"']
HEADER = header_in(header_text("ABD", LISTED).encode(), file="TLG00001.xml")
SECTIONS = tuple(
    Element(f"DET-{n}", f"{n}", 4, n, "2", {OFFSET_Y: 9000 * (n - 4), WORKING_WIDTH: 6000}) for n in (3, 4, 5)
)
SPRAYER = Machine(
    "DVC-1", "sprayer", (Element("DET-1", "1", 1, 0, "0", {}), Element("DET-2", "2", 2, 1, "1", {}), *SECTIONS)
)
TASK = TaskData("version 4.1", (SPRAYER,), ("TLG00001",), ())
ALL_ON, LEFT_OFF, ALL_OFF = -43, -44, -64
RECORDS_TO_A_GAP, GAP_MS = 60, 20_000


def sprayed_with_gaps(chance: random.Random, count: int) -> bytes:
    """A drive that stands for 20 s now and then, and writes speed, states and rate only when they change."""
    records = []
    for nth, one in enumerate(driven(count, values=0)):
        values = [(0, 5000), (1, ALL_ON), (2, 1_870_000)] if nth == 0 else []
        if chance.random() < 0.05:
            values += [(0, chance.randrange(3000, 7000)), (1, chance.choice([ALL_ON, ALL_ON, LEFT_OFF, ALL_OFF]))]
        if chance.random() < 0.05:
            values.append((2, chance.randrange(1_500_000, 2_000_000)))
        records.append(MadeRecord(one.ms + GAP_MS * (nth // RECORDS_TO_A_GAP), one.day, one.position, tuple(values)))
    return log_bytes(records, "ABD")


def ledger(table: TimeLogTable):
    return ledger_of(trace_of_rows(rows_of(table, boom_of(table, TASK), file="made", words="made")))


@given(seed=st.integers(0, 1 << 30), piece=st.integers(3 * RECORDS_TO_A_GAP, 700))
@settings(max_examples=15)
def test_ledgers_of_pieces_merged_are_the_ledger_of_the_whole(seed, piece):
    data = sprayed_with_gaps(random.Random(seed), 900)  # noqa: S311 - repeatable
    whole = ledger_as_arrays(ledger(TimeLogTable(HEADER, records_in(data, HEADER, file="made"))))
    tables = list(tables_in(lambda: io.BytesIO(data), HEADER, file="made", piece_records=piece))
    assert len(tables) > 1
    together = ledger_as_arrays(merged([ledger(table) for table in tables]))
    assert int(together.pop("logs")) == len(tables) * int(whole.pop("logs"))
    for name, column in whole.items():
        assert np.asarray(together[name]).tobytes() == np.asarray(column).tobytes(), name
