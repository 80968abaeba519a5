"""Time logs too long to be held at once: read in pieces, they come to what they come to in one go."""

import numpy as np
import pytest
from bench.made_time_log import MadeRecord, driven, header_text, log_bytes, write_task_data

from wetrun.errors import LogRefused
from wetrun.fieldlog.ledger import ledger_as_arrays, ledger_of, merged
from wetrun.fieldlog.readers import iso_log, iso_pieces
from wetrun.fieldlog.readers.formats import logs_in, traces_in
from wetrun.fieldlog.tallied import tallied, tallied_in_pieces

LOGGED = ['A="0002" B="" C="DET-2"', 'A="00A1" B="" C="DET-2"', 'A="018D" B="" C="DET-1"']
ALL_ON, LEFT_OFF, ALL_OFF = (word - (1 << 32) for word in (0xFFFFFFD5, 0xFFFFFFD4, 0xFFFFFFC0))
RECORDS = 4000


def worked(first_on=0):
    """A rate and speed that change all the time; the left section off now and then, a gap of 90 s in the middle."""
    records = []
    for nth, one in enumerate(driven(RECORDS, values=0)):
        state = ALL_OFF if nth < first_on else LEFT_OFF if nth // 97 % 3 == 1 else ALL_ON
        values = ((0, 1_500_000 + 700 * (nth % 211)), (1, state), (2, 4000 + nth % 503))
        records.append(MadeRecord(one.ms + 90_000 * (nth > RECORDS // 2), one.day, one.position, values))
    return records


@pytest.fixture
def in_pieces(monkeypatch):
    """Hold at most 300 records at once, and cut a trace after some 900 rows."""
    monkeypatch.setattr(iso_log, "MOST_BYTES_AT_ONCE", 1000)
    monkeypatch.setattr(iso_pieces.LongTimeLog.tables, "__defaults__", (300,))
    monkeypatch.setattr(iso_pieces.traces_of, "__kwdefaults__", {"records": 300, "piece_rows": 900})


def ledger_without_count(traces):
    arrays = ledger_as_arrays(merged([ledger_of(trace) for trace in traces]))
    return {name: np.asarray(value).tobytes() for name, value in arrays.items() if name != "logs"}


@pytest.mark.parametrize("first_on", [0, 1000])
def test_the_ledgers_of_the_pieces_are_the_ledger_of_the_whole(tmp_path, request, first_on):
    log = header_text("ABD", LOGGED), log_bytes(worked(first_on), "ABD")
    folder = write_task_data(tmp_path / "TASKDATA", {"TLG00001": log})
    (whole,) = traces_in(folder)
    request.getfixturevalue("in_pieces")
    pieces = traces_in(folder)
    assert len(pieces) > 4
    assert sum(piece.time_s.size for piece in pieces) == whole.time_s.size
    assert ledger_without_count(pieces) == ledger_without_count([whole])
    done = tallied_in_pieces(pieces)
    assert done.drive == tallied(whole).drive
    assert (done.facts.instants, done.ledger.logs) == (whole.facts.instants, 1)


def test_a_long_log_says_that_only_its_head_was_looked_at(tmp_path, in_pieces):
    log = header_text("ABD", LOGGED), log_bytes(worked(), "ABD")
    ((found,),) = (one.logs for one in logs_in(write_task_data(tmp_path / "TASKDATA", {"TLG00001": log})))
    assert found.trace is None
    assert found.facts.records <= 300
    assert any("its first" in doubt.words for doubt in found.doubts)
    assert "not driven in one go" in found.missing


def test_a_long_log_with_nothing_on_is_refused(tmp_path, in_pieces):
    log = header_text("ABD", LOGGED), log_bytes(worked(RECORDS), "ABD")
    folder = write_task_data(tmp_path / "TASKDATA", {"TLG00001": log})
    with pytest.raises(LogRefused, match="no section on at any time"):
        traces_in(folder)
