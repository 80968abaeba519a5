"""The ledger from a working file: the bits of the trace's own ledger, whatever the cut, the threads or the loop."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from wetrun.errors import LogRefused
from wetrun.fieldlog import running
from wetrun.fieldlog.ledger import ledger_as_arrays, ledger_of, merged
from wetrun.fieldlog.readers import working_ledger
from wetrun.fieldlog.readers.working_columns import COLUMNS
from wetrun.fieldlog.readers.working_ledger import ledger_of_file
from wetrun.fieldlog.readers.working_writer import TraceWriter, write_trace
from wetrun.fieldlog.running import PiecedLedger, RunningLedger, joined, ledger_columns
from wetrun.fieldlog.tallied import instants_between, tallied_in_pieces
from wetrun.fieldlog.trace import LogFacts, Trace

FACTS = LogFacts("made.csv", "made", 0, 0, 1, (), 0, 0, 0.0, (), (), (), (), ())
ODD = [0.0, -0.0, 5e-324, 1e-200, np.nan, np.inf, -1.0, 1.9, 300.0, 2.0**-1022]


def driven(size: int, seed: int, odd: float = 0.02) -> Trace:
    """A log that drifts from slow to fast and from wide to narrow, with odd numbers of every kind in every column."""
    rng = np.random.default_rng(seed)
    speed = np.linspace(2, 9, size) + rng.normal(0, 0.3, size)
    columns = dict.fromkeys(COLUMNS, np.full(size, np.nan)) | {
        "speed_mps": speed,
        "applied_m3pm2": rng.normal(1.4e-5, 1e-6, size),
        "target_m3pm2": np.full(size, 1.5e-5),
        "width_m": np.where(np.arange(size) < size // 2, 24.0, rng.choice([12.0, 18.0, 24.0], size)),
        "area_m2": rng.uniform(0, 30, size),
        "sections_on": np.zeros(size, dtype=np.int64),
    }
    for name in running.NEEDED:
        rows = rng.random(size) < odd
        columns[name][rows] = rng.choice(ODD, rows.sum()) * (1e-6 if name.endswith("m3pm2") else 1.0)
    return Trace(**columns, full_width_m=24.0, sections=(), facts=FACTS)


def bits(ledger) -> dict[str, bytes]:
    return {name: np.asarray(value).tobytes() for name, value in ledger_as_arrays(ledger).items()}


def pieces(trace: Trace, edges):
    arrays = ledger_columns(trace).arrays()
    for start, stop in itertools.pairwise(edges):
        yield running.LedgerColumns(*(np.ascontiguousarray(values[start:stop]) for values in arrays))


@settings(deadline=None)
@given(
    st.lists(st.integers(0, 3000), max_size=6),
    st.integers(0, 50),
    st.sampled_from([0.0, 0.02, 0.5, 1.0]),
    st.booleans(),
    st.integers(1, 3),
)
def test_a_ledger_grown_piece_by_piece_has_the_bits_of_the_whole(cuts, seed, odd, compiled, threads):
    trace = driven(3000, seed, odd)
    parts = [RunningLedger(compiled=compiled) for _ in range(threads)]
    for number, piece in enumerate(pieces(trace, [0, *sorted(cuts), 3000])):
        parts[number % threads].add(piece)
    assert bits(joined(parts)) == bits(ledger_of(trace))


@pytest.mark.parametrize("few", [0, 1000, 1500, 10_000])
@pytest.mark.parametrize("edges", [[0, 3000], [0, 1, 700, 1400, 1400, 3000]])
def test_a_log_tallied_in_pieces_goes_from_the_plain_way_to_the_loop_with_the_bits_of_the_old_sum(
    monkeypatch, few, edges
):
    trace = driven(3000, 11)
    for values in (trace.speed_mps, trace.area_m2):
        values.flags.writeable = False  # as some readers hand them out
    cut = [instants_between(trace, start, stop) for start, stop in itertools.pairwise(edges)]
    ways: list[None] = []
    settled = RunningLedger._settle
    monkeypatch.setattr(RunningLedger, "_settle", lambda self, columns: ways.append(settled(self, columns)))
    monkeypatch.setattr(running, "loop_is_ready", lambda: False)
    monkeypatch.setattr(running, "FEW_ROWS", few)
    monkeypatch.setattr(running, "ROWS_AT_ONCE", 256)
    summed = merged([ledger_of(piece) for piece in cut])
    done = bits(tallied_in_pieces(cut).ledger)
    assert bool(ways) is (few < 3000)
    assert {**done, "logs": b""} == {**bits(summed), "logs": b""}
    assert done == bits(ledger_of(trace))


def test_a_log_of_columns_that_lie_apart_in_memory_is_tallied_by_the_loop(monkeypatch):
    monkeypatch.setattr(running, "FEW_ROWS", 10)
    trace = driven(2000, 12)
    grown = PiecedLedger()
    grown.add(replace(trace, speed_mps=np.stack([trace.speed_mps] * 3, axis=1)[:, 1]))
    assert bits(grown.ledger()) == bits(ledger_of(trace))


def test_new_places_are_settled_when_the_log_leaves_the_old_ones(monkeypatch):
    trace = driven(40_000, 5)
    grown = RunningLedger(compiled=True)
    settled = []
    monkeypatch.setattr(
        RunningLedger, "_settle", lambda self, columns, old=RunningLedger._settle: settled.append(old(self, columns))
    )
    for piece in pieces(trace, range(0, 40_001, 1000)):
        grown.add(piece)
    assert 1 < len(settled) <= running.MOST_SETTLED
    assert bits(joined([grown])) == bits(ledger_of(trace))


def test_a_log_of_too_many_places_is_tallied_all_the_same(monkeypatch):
    monkeypatch.setattr("wetrun.fieldlog.places.MOST_CELLS", 1000)
    trace = driven(5000, 6)
    grown = RunningLedger(compiled=True)
    for piece in pieces(trace, range(0, 5001, 500)):
        grown.add(piece)
    assert bits(joined([grown])) == bits(ledger_of(trace))


def test_entries_that_wait_are_put_together_before_they_are_too_many(monkeypatch):
    monkeypatch.setattr(running, "MOST_ENTRIES", 100)
    trace = driven(5000, 7)
    grown = RunningLedger(compiled=False)
    for piece in pieces(trace, range(0, 5001, 500)):
        grown.add(piece)
    assert bits(joined([grown])) == bits(ledger_of(trace))


def test_no_instants_give_the_ledger_of_none():
    assert bits(joined([RunningLedger(compiled=False)])) == bits(ledger_of(driven(0, 1)))


@settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    group=st.integers(100, 6000),
    threads=st.integers(1, 4),
    batch=st.integers(64, 5000),
    compiled=st.booleans(),
)
def test_row_groups_threads_and_batches_do_not_change_a_bit(group, threads, batch, compiled, tmp_path):
    trace, path = driven(5000, 8), tmp_path / "log.parquet"
    with TraceWriter(path, instants_per_group=group) as writer:
        writer.add(trace)
    assert bits(ledger_of_file(path, threads=threads, batch=batch, compiled=compiled)) == bits(ledger_of(trace))
    with path.open("rb") as stream:
        assert bits(ledger_of_file(stream, threads=threads, batch=batch, compiled=compiled)) == bits(ledger_of(trace))


def test_the_compiled_loop_is_used_for_short_logs_once_it_is_there(tmp_path, monkeypatch):
    path = tmp_path / "log.parquet"
    write_trace(path, [driven(500, 11)])
    asked: list[bool] = []

    def noted(*, compiled):
        asked.append(compiled)
        return RunningLedger(compiled=compiled)

    monkeypatch.setattr(working_ledger, "RunningLedger", noted)
    for ready in (False, True):
        monkeypatch.setattr(working_ledger, "loop_is_ready", lambda ready=ready: ready)
        ledger_of_file(path)
    monkeypatch.setattr(working_ledger, "FEW_ROWS", 499)
    monkeypatch.setattr(working_ledger, "loop_is_ready", lambda: False)
    ledger_of_file(path)
    assert asked == [False, True, True]


def test_progress_goes_up_to_one(tmp_path):
    path = tmp_path / "log.parquet"
    told: list[float] = []
    with TraceWriter(path, instants_per_group=500) as writer:
        writer.add(driven(5000, 9))
    ledger_of_file(path, told.append, threads=2)
    assert told == sorted(told)
    assert (told[0], told[-1], len(told)) == (0.0, 1.0, 11)


def test_a_damaged_row_group_refuses_the_whole_log(tmp_path):
    path = tmp_path / "log.parquet"
    with TraceWriter(path, instants_per_group=1000) as writer:
        writer.add(driven(5000, 10))
    content = bytearray(path.read_bytes())
    for place in range(len(content) // 3, len(content) // 3 + 400):
        content[place] ^= 0x55
    path.write_bytes(content)
    with pytest.raises(LogRefused, match="damaged"):
        ledger_of_file(path, threads=2)


def test_the_real_log_has_the_same_ledger_through_the_working_format(real_trace, tmp_path):
    path = tmp_path / "real.parquet"
    write_trace(path, [real_trace])
    assert bits(ledger_of_file(path)) == bits(ledger_of(real_trace))
    assert path.stat().st_size < 30 * real_trace.time_s.size
