"""A text log four times as long takes no more memory when it is read in pieces."""

from __future__ import annotations

import tracemalloc

from tests.log_reading import sent

from wetrun.fieldlog.ledger import ledger_of
from wetrun.fieldlog.readers import csv_log, text_table
from wetrun.fieldlog.readers.request import PLAIN_REQUEST

ROOM = 1.3


def peak_of(path):
    tracemalloc.start()
    pieces = csv_log.pieces_in(sent(path), PLAIN_REQUEST, most_at_once=4000, piece_rows=4000)
    area_cm2 = sum(ledger_of(piece).total_cm2 for piece in pieces)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak, area_cm2


def test_memory_does_not_grow_with_the_log(write_rows, plain_rows, monkeypatch):
    monkeypatch.setattr(text_table, "CHUNK_BYTES", 1 << 17)
    short, long = (write_rows(plain_rows(count), name=f"{count}.csv") for count in (20_000, 80_000))
    peak_of(short)
    (least, area_cm2), (most, four_cm2) = peak_of(short), peak_of(long)
    assert most < ROOM * least
    assert four_cm2 == 4 * area_cm2 + 3 * 240_000  # only the first row of all has no interval
