"""The quick way through a text table against the slow one, cell by cell: the same numbers, rows and repairs."""

from __future__ import annotations

import gzip

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.log_reading import sent

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers import text_columns, text_table
from wetrun.fieldlog.readers.csv_log import parsed_in
from wetrun.fieldlog.trace import Repair

CELLS = st.sampled_from(
    ["1.5", "-0.25", "7", "", "NA", "nan", "NaN", "inf", "1e3", "+4", " 2.5 ", "x", "1_0", "-", ".5", "6.", "1,5", "٣"]
)
CLOCKS = st.sampled_from(
    ["2031-05-01T10:00:0{}.250Z", "2031-05-01 10:00:0{}", "2031-05-01T10:00:0{}+02:00", "", "noon"]
)


def slow(monkeypatch, file):
    with monkeypatch.context() as patched:
        patched.setattr(text_columns, "quick_block", lambda *_: None)
        return outcome(file)


def outcome(file):
    try:
        return parsed_in(file)
    except LogRefused as refused:
        return str(refused)


def check_same(one, other):
    if isinstance(one, str):
        assert one == other
        return
    assert (one.rows, one.section_names, one.track_names) == (other.rows, other.section_names, other.track_names)
    assert one.repairs == other.repairs
    for first, second in [(one.time_s, other.time_s), (one.section, other.section), (one.track, other.track)]:
        np.testing.assert_array_equal(first, second)
    assert one.numbers.keys() == other.numbers.keys()
    for meaning, values in one.numbers.items():
        np.testing.assert_array_equal(values, other.numbers[meaning], err_msg=meaning)


@settings(max_examples=150, deadline=None)
@given(
    rows=st.lists(st.tuples(CLOCKS, CELLS, CELLS, st.sampled_from(["1", " 2", "é", ""])), min_size=1, max_size=30),
    extra=st.lists(st.sampled_from(["", "1,2", '"a\nb",1,2,3', "\r", "2031,,,,,"]), max_size=3),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    delimiter=st.sampled_from([",", ";", "\t"]),
)
def test_any_table_reads_the_same_either_way(tmp_path_factory, rows, extra, end, delimiter):
    lines = [delimiter.join((clock.format(i % 10), a, b, c)) for i, (clock, a, b, c) in enumerate(rows)]
    path = tmp_path_factory.mktemp("table") / "log.csv"
    head = delimiter.join(("iso time", "distance (m)", "width (m)", "section"))
    path.write_bytes((end.join([head, *lines, *extra]) + end).encode())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(text_table, "CHUNK_BYTES", 200)
        check_same(outcome(sent(path)), slow(patch, sent(path)))


def test_regular_text_takes_the_quick_way(write_rows, plain_rows, monkeypatch):
    monkeypatch.setattr(text_columns, "cells_of", only_once(text_table.cells_of))
    parsed_in(sent(write_rows(plain_rows())))


def only_once(cells_of):
    """The head of a table is always read cell by cell; anything more is the slow way."""
    calls = []

    def counted(*arguments):
        calls.append(1)
        assert len(calls) == 1
        return cells_of(*arguments)

    return counted


def test_a_faulty_row_costs_its_chunk_only_and_is_counted_in_its_place(write_rows, plain_rows, monkeypatch):
    monkeypatch.setattr(text_table, "CHUNK_BYTES", 500)
    path = write_rows(plain_rows(400))
    lines = path.read_text().splitlines()
    lines[301] = "broken"
    path.write_text("\n".join(lines) + "\n")
    columns = parsed_in(sent(path))
    words = "rows with a wrong number of cells were left out, the first in row 301"
    assert columns.repairs == [Repair("misshapen row", 1, 0.0, words)]
    check_same(columns, slow(monkeypatch, sent(path)))


def test_the_real_sprayer_log_reads_the_same_either_way(real_log_path, monkeypatch):
    file = sent(real_log_path)
    check_same(parsed_in(file), slow(monkeypatch, file))


def test_a_gzip_reads_the_same_either_way(write_rows, section_rows, tmp_path, monkeypatch):
    packed = tmp_path / "log.csv.gz"
    packed.write_bytes(gzip.compress(write_rows(section_rows(200)).read_bytes()))
    check_same(parsed_in(sent(packed)), slow(monkeypatch, sent(packed)))
