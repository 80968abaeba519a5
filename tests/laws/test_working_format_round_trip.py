"""A working file gives back the trace it was written from, bit for bit: any numbers, any facts, in any pieces."""

from __future__ import annotations

import dataclasses
import io
import itertools
import json
from typing import Any

import numpy as np
import pyarrow.parquet as pq
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as stnp

from wetrun.errors import CannotWrite, LogRefused
from wetrun.fieldlog.ledger import ledger_as_arrays, ledger_of
from wetrun.fieldlog.readers import working_header
from wetrun.fieldlog.readers.parquet_trace import pieces_in, sniff, trace_in, working_file
from wetrun.fieldlog.readers.working_columns import BIT_SET, COLUMNS, SWING, SWING_VALUES
from wetrun.fieldlog.readers.working_header import KEY, header_as_json, header_from_json, header_of
from wetrun.fieldlog.readers.working_ledger import ledger_of_file
from wetrun.fieldlog.readers.working_writer import TraceWriter, write_trace
from wetrun.fieldlog.trace import (
    ColumnUse,
    Doubt,
    LeftOut,
    LogFacts,
    Origin,
    RawColumn,
    Repair,
    SectionFacts,
    Trace,
)
from wetrun.units import RATIO

TEXT = st.text(st.characters(codec="utf-8"), max_size=12)
COUNT = st.integers(0, 2**53)
NUMBER = st.floats(allow_nan=False)
STRANGE = np.array([0x7FF8000000000001, -0x7FFFFFFFFFFFFF, -0x8000000000000000, 1, 0], dtype=np.int64).view(np.float64)


def some(strategy, most=3):
    return st.lists(strategy, max_size=most).map(tuple)


FACTS = st.builds(
    LogFacts,
    file=TEXT,
    format=TEXT,
    rows=COUNT,
    instants=COUNT,
    recordings=COUNT,
    section_groups=some(some(TEXT)),
    backward_steps=COUNT,
    gaps=COUNT,
    gap_total_s=NUMBER,
    columns=some(st.builds(ColumnUse, TEXT, TEXT, TEXT, st.booleans(), TEXT)),
    raw_columns=some(st.builds(RawColumn, TEXT, TEXT, NUMBER, NUMBER, NUMBER)),
    repairs=some(st.builds(Repair, TEXT, COUNT, NUMBER, TEXT)),
    doubts=some(st.builds(Doubt, TEXT, TEXT)),
    left_out=some(st.builds(LeftOut, TEXT, COUNT, NUMBER)),
)
SECTIONS = st.integers(0, 5).flatmap(
    lambda count: st.tuples(
        *(
            st.builds(SectionFacts, st.just(f"s{bit}"), st.just(0), st.just(bit), COUNT, NUMBER, st.booleans())
            for bit in range(count)
        )
    )
)
ORIGIN = st.none() | st.builds(Origin, NUMBER, NUMBER)


@st.composite
def traces(draw, most=40):
    size = draw(st.integers(1, most))
    floats = st.one_of(
        stnp.arrays(np.float64, size), stnp.arrays(np.float64, size, elements=st.sampled_from(STRANGE.tolist()))
    )
    columns = {name: draw(stnp.arrays(np.int64, size) if unit == BIT_SET else floats) for name, unit in COLUMNS.items()}
    sections = draw(SECTIONS)
    swing = draw(st.none() | stnp.arrays(np.float32, (size, len(sections)))) if sections else None
    told: dict[str, Any] = {"full_width_m": draw(NUMBER), "facts": draw(FACTS), "origin": draw(ORIGIN)}
    return Trace(**columns, **told, sections=sections, swing_ratio=swing)


def made(size=1000, seed=1, **other) -> Trace:
    """A trace of plausible columns, some that repeat and some that never do."""
    rng = np.random.default_rng(seed)
    interval = rng.choice([0.2, 0.21, 0.19], size)
    speed = rng.choice(np.linspace(3, 7, 300), size)
    columns: dict[str, Any] = dict.fromkeys(COLUMNS, np.full(size, np.nan)) | {
        "time_s": np.cumsum(interval),
        "interval_s": interval,
        "distance_m": speed * interval,
        "speed_mps": np.where(rng.random(size) < 0.01, np.nan, speed),
        "width_m": rng.choice([6.0, 12.0, 24.0], size, p=[0.1, 0.1, 0.8]),
        "applied_m3pm2": np.where(rng.random(size) < 0.1, np.nan, rng.normal(1.4e-5, 1e-7, size)),
        "target_m3pm2": np.where(rng.random(size) < 0.1, np.nan, 1.4e-5),
        "sections_on": rng.integers(0, 8, size),
    }
    columns["area_m2"] = columns["distance_m"] * columns["width_m"]
    sections = tuple(SectionFacts(str(bit + 1), 0, bit, size, 8.0, width_varies=False) for bit in range(3))
    facts = LogFacts("made.csv", "made", size, size, 1, (("1", "2", "3"),), 0, 0, 0.0, (), (), (), (), ())
    given: dict[str, Any] = {
        "full_width_m": 24.0,
        "sections": sections,
        "facts": facts,
        "origin": Origin(0.2, 0.9),
    } | other
    return Trace(**columns, **given)


def bits(trace: Trace) -> dict[str, bytes]:
    swing = trace.swing_ratio
    told = {SWING: b"none" if swing is None else repr((swing.dtype, swing.shape)).encode() + swing.tobytes()}
    return {name: getattr(trace, name).tobytes() for name in COLUMNS} | told


def same(one: Trace, other: Trace) -> bool:
    return bits(one) == bits(other) and repr(header_of(one)) == repr(header_of(other))


def sliced(trace: Trace, start: int, stop: int) -> Trace:
    columns = {name: getattr(trace, name)[start:stop] for name in COLUMNS}
    swing = None if trace.swing_ratio is None else trace.swing_ratio[start:stop]
    return dataclasses.replace(trace, **columns, swing_ratio=swing)


def swung(size=1000, seed=2, sections=3) -> Any:
    """Swing ratios, with a third of them unknown and the strangest bits among them."""
    rng = np.random.default_rng(seed)
    swing = np.where(rng.random((size, sections)) < 1 / 3, np.nan, rng.normal(1, 0.1, (size, sections)))
    swing = swing.astype(np.float32)
    swing.ravel()[:4] = np.array([0x7FC00001, -0x3FFFFF, -0x80000000, 1], dtype=np.int32).view(np.float32)
    return swing


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(trace=traces())
def test_any_trace_comes_back_bit_for_bit(trace, tmp_path):
    path = tmp_path / "log.parquet"
    write_trace(path, [trace])
    assert sniff(path)
    assert same(trace_in(path), trace)
    assert same(trace_in(io.BytesIO(path.read_bytes()), "log.parquet"), trace)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    cuts=st.lists(st.integers(1, 999), max_size=4, unique=True),
    group=st.integers(50, 1500),
    ask=st.integers(30, 2000),
    swing=st.sampled_from([None, swung()]),
)
def test_pieces_of_any_length_make_the_same_trace(cuts, group, ask, swing, tmp_path):
    whole, path = made(swing_ratio=swing), tmp_path / "log.parquet"
    edges = [0, *sorted(cuts), 1000]
    with TraceWriter(path, instants_per_group=group) as writer:
        for start, stop in itertools.pairwise(edges):
            writer.add(sliced(whole, start, stop))
    file = working_file(path)
    assert file.groups == -(-1000 // group)
    pieces = list(pieces_in(file, ask))
    assert max(piece.time_s.size for piece in pieces) <= ask
    for name in (*COLUMNS, *([] if swing is None else [SWING])):
        assert np.concatenate([getattr(piece, name) for piece in pieces]).tobytes() == getattr(whole, name).tobytes()
    assert swing is not None or all(piece.swing_ratio is None for piece in pieces)
    again = tmp_path / "again.parquet"
    write_trace(again, pieces)
    assert same(trace_in(again), trace_in(path))


@given(FACTS, SECTIONS, ORIGIN, st.floats())
def test_the_header_comes_back(facts, sections, origin, full_width):
    header = working_header.WorkingHeader(facts, sections, full_width, origin)
    text = header_as_json(header)
    json.loads(text, parse_constant=pytest.fail)
    assert repr(header_from_json(text)) == repr(header)


def test_a_long_trace_keeps_every_bit_through_dictionaries_and_strange_numbers(tmp_path):
    path = tmp_path / "log.parquet"
    trace = made(200_000)
    trace.target_m3pm2[:5] = STRANGE
    trace.width_m[100:105] = STRANGE
    write_trace(path, [trace])
    assert same(trace_in(path), trace)


def test_units_stand_in_the_schema_and_nothing_is_ever_null(tmp_path):
    path = tmp_path / "log.parquet"
    write_trace(path, [made()])
    schema = pq.read_schema(path)
    assert {field.name: field.metadata[b"unit"].decode() for field in schema} == COLUMNS | {SWING: RATIO.symbol}
    assert COLUMNS["speed_mps"] == "m/s"
    assert COLUMNS["applied_m3pm2"] == "m3/m2"
    assert not any(field.nullable for field in schema)


def test_counts_of_pieces_add_up_and_sections_keep_one_numbering(tmp_path):
    path = tmp_path / "log.parquet"
    left, right = (SectionFacts(name, 0, 0, 40, 6.0, width_varies=False) for name in "ab")
    facts = made().facts
    note = Repair("gap", 2, 1.5, "gaps were cut")
    first = made(10, sections=(left,), facts=dataclasses.replace(facts, rows=10, repairs=(note,), gaps=2))
    second = made(10, sections=(right,), facts=dataclasses.replace(facts, rows=7, repairs=(note,), gaps=1))
    for one in (first, second):
        one.sections_on[:] = 1
    write_trace(path, [first, second])
    found = trace_in(path)
    assert [(one.name, one.bit) for one in found.sections] == [("a", 0), ("b", 1)]
    assert found.sections_on.tolist() == [1] * 10 + [2] * 10
    assert (found.facts.rows, found.facts.gaps) == (17, 3)
    assert found.facts.repairs == (Repair("gap", 4, 3.0, "gaps were cut"),)


def section(bit: int) -> dict[str, Any]:
    """A section as a header tells it."""
    return {"name": f"s{bit}", "group": 0, "bit": bit, "rows": 1, "width_m": 8.0, "width_varies": False}


def written_with(path, text: str) -> None:
    write_trace(path, [made(swing_ratio=swung())])
    table = pq.read_table(path)
    pq.write_table(table.replace_schema_metadata({KEY: text.encode()}), path)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"format_version": 99}, "format_version 99, known here up to 2"),
        ({"format_version": 0}, "format_version"),
        ({"format_version": "1"}, "format_version"),
        ({"facts": 3}, "damaged"),
        ({"swing": 1}, "damaged"),
        ({"swing": True, "sections": [section(bit=0), section(bit=7)]}, "one bit each"),
        ({"swing": True, "sections": [section(bit=0)]}, "3 swing ratios at one instant of a boom with 1"),
        ({"sections": [{"name": 3}]}, "damaged"),
        ({"full_width_m": "wide"}, "damaged"),
    ],
)
def test_a_header_of_a_later_version_or_damaged_is_refused(tmp_path, change, says):
    path = tmp_path / "log.parquet"
    plain = json.loads(header_as_json(header_of(made()))) | change
    written_with(path, json.dumps(plain))
    with pytest.raises(LogRefused, match=says):
        trace_in(path)


def test_the_version_before_is_read_which_knew_no_swing_ratio(tmp_path):
    path = tmp_path / "log.parquet"
    write_trace(path, [made()])
    plain = json.loads(header_as_json(header_of(made()))) | {"format_version": 1}
    del plain["swing"]
    table = pq.read_table(path).drop([SWING]).replace_schema_metadata({KEY: json.dumps(plain).encode()})
    pq.write_table(table, path)
    assert same(trace_in(path), made())
    assert working_file(path).header.format_version == 1


def test_swing_ratios_of_pieces_come_under_one_numbering(tmp_path):
    a, b, c = (SectionFacts(name, 0, bit, 10, 6.0, width_varies=False) for bit, name in enumerate("abc"))
    pieces = [
        made(4, sections=(a, b), swing_ratio=np.array([[1, 2]] * 4, dtype=np.float32)),
        made(4, sections=(a, b)),
        made(4, sections=tuple(dataclasses.replace(one, bit=bit) for bit, one in enumerate((c, b, a)))),
    ]
    pieces[2] = dataclasses.replace(pieces[2], swing_ratio=np.array([[3, 2.5, 1.5]] * 4, dtype=np.float32))
    for one in pieces:
        one.sections_on[:] = 1
    path = tmp_path / "log.parquet"
    with TraceWriter(path, instants_per_group=5) as writer:
        for one in pieces:
            writer.add(one)
    found = trace_in(path)
    assert [one.name for one in found.sections] == ["a", "b", "c"]
    assert found.sections_on.tolist() == [1] * 8 + [4] * 4
    assert found.swing_ratio is not None
    nan = float("nan")
    expected = [[1, 2, nan]] * 4 + [[nan] * 3] * 4 + [[1.5, 2.5, 3]] * 4
    np.testing.assert_array_equal(found.swing_ratio, np.array(expected, dtype=np.float32))


def test_a_swing_ratio_that_is_not_there_takes_no_room(tmp_path):
    path = tmp_path / "log.parquet"
    write_trace(path, [made(200_000)])
    footer = pq.read_metadata(path)
    sizes = {footer.row_group(0).column(at).path_in_schema: footer.row_group(0).column(at).total_compressed_size
             for at in range(footer.num_columns)}  # fmt: skip
    assert sizes[SWING_VALUES] < 0.005 * 200_000  # bytes an instant


def test_the_ledger_never_looks_at_swing_ratios(tmp_path):
    path = tmp_path / "log.parquet"
    trace = made(20_000, swing_ratio=swung(20_000))
    write_trace(path, [trace])
    chunk = pq.read_metadata(path).row_group(0).column(len(COLUMNS))
    assert chunk.path_in_schema == SWING_VALUES
    content = bytearray(path.read_bytes())
    content[chunk.data_page_offset + chunk.total_compressed_size // 2] ^= 1
    path.write_bytes(content)
    with pytest.raises(LogRefused):
        trace_in(path)
    assert ledger_as_arrays(ledger_of_file(path)).keys() == ledger_as_arrays(ledger_of(trace)).keys()
    for name, values in ledger_as_arrays(ledger_of(trace)).items():
        np.testing.assert_array_equal(ledger_as_arrays(ledger_of_file(path))[name], values, err_msg=name)


def test_pieces_that_tell_of_the_whole_are_not_joined_with_others(tmp_path):
    path = tmp_path / "log.parquet"
    write_trace(path, [made()])
    with pytest.raises(ValueError, match="tell of a whole log"):
        write_trace(tmp_path / "b.parquet", [made(), *pieces_in(working_file(path))])


def test_a_parquet_file_that_is_no_working_file_says_what_to_do(tmp_path):
    path = tmp_path / "log.parquet"
    write_trace(path, [made()])
    pq.write_table(pq.read_table(path).replace_schema_metadata(None), path)
    assert not sniff(path)
    with pytest.raises(LogRefused, match="wetrun log convert"):
        trace_in(path)
    pq.write_table(
        pq.read_table(path)
        .replace_schema_metadata({KEY: header_as_json(header_of(made())).encode()})
        .drop(["width_m"]),
        path,
    )
    with pytest.raises(LogRefused, match="width_m"):
        trace_in(path)


def test_nothing_half_written_is_left(tmp_path):
    path = tmp_path / "log.parquet"

    def broken():
        yield made()
        raise LogRefused("made.csv", place="row 9", reason="it ends", remedy="Send it again")

    with pytest.raises(LogRefused, match="it ends"):
        write_trace(path, broken())
    assert list(tmp_path.iterdir()) == []
    write_trace(path, [made()])
    with pytest.raises(LogRefused, match="it ends"):
        write_trace(path, broken())
    assert same(trace_in(path), made())
    assert list(tmp_path.iterdir()) == [path]
    with pytest.raises(CannotWrite, match="no such file or directory"):
        write_trace(tmp_path / "none" / "log.parquet", [made()])
