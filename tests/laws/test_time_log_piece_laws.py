"""Laws of long time logs: pieces put together are the whole, wherever they end and whatever is damaged."""

from __future__ import annotations

import io
import random

import numpy as np
import pytest
from bench.made_time_log import MadeRecord, driven, header_text, log_bytes
from hypothesis import example, given, settings
from hypothesis import strategies as st

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers import timelog_columns, timelog_kernels, timelog_plain, timelog_records
from wetrun.fieldlog.readers.timelog_columns import TimeLogTable, positions_of, speeds_of
from wetrun.fieldlog.readers.timelog_header import header_in
from wetrun.fieldlog.readers.timelog_pieces import tables_in
from wetrun.fieldlog.readers.timelog_records import pieces_in, records_in
from wetrun.fieldlog.readers.timelog_walk import least_window, reach_of

LISTED = ['A="018D" B="" C="DET-1"', 'A="00A1" B="" C="DET-2"', 'A="0043" B="" C="DET-2"', 'A="0002" B="" C="DET-2"']
HEADER = header_in(header_text("ABD", LISTED).encode(), file="TLG00001.xml")
FAR = 7_000_000  # more than the 0.01 rad that begins another parallel, in 1e-7 degrees


def wandering(chance: random.Random, count: int) -> list[MadeRecord]:
    """A drive with values only now and then, a clock that stops and jumps, positions lost, and jumps to other lands."""
    ms, records, east = 0, [], 100_000_000
    for one in driven(count, values=0):
        ms += chance.choice([0, 200, 200, 200, 1000, 7000 if chance.random() < 0.02 else 200])
        east += FAR * chance.choice([-1, 1]) if chance.random() < 0.01 else 0
        place = {"A": 0, "B": 0, "D": 15} if chance.random() < 0.05 else {**one.position, "B": east}
        picked = chance.sample(range(4), chance.choice([0, 0, 0, 1, 2, 4]))
        values = tuple((index, chance.randrange(-5, 30_000)) for index in picked)
        records.append(MadeRecord(ms % 86_400_000, one.day + ms // 86_400_000, place, values))
    return records


def damaged(data: bytes, chance: random.Random, places: int) -> bytes:
    content = bytearray(data)
    for _ in range(places):
        at = chance.randrange(len(content))
        content[at : at + chance.randrange(3)] = chance.randbytes(chance.choice([0, 1, 3, 40]))
    return bytes(content)


def together(tables, column):
    return np.concatenate([column(table) for table in tables])


@given(
    seed=st.integers(0, 1 << 30), harms=st.integers(0, 8), piece=st.integers(2, 5000),
    decoder=st.sampled_from([timelog_plain, timelog_kernels]),
)  # fmt: skip
@settings(max_examples=25)
def test_records_in_pieces_are_the_records_of_the_whole(seed, harms, piece, decoder):
    chance = random.Random(seed)  # noqa: S311 - repeatable
    data = damaged(log_bytes(wandering(chance, 4000), "ABD"), chance, harms)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(timelog_records, "decoder_for", lambda _octets: decoder)
        whole = records_in(data, HEADER, file="made")
        window = least_window(HEADER) + chance.randrange(5000)
        assert len(data) > window
        pieces = list(pieces_in(lambda: io.BytesIO(data), HEADER, file="made", piece_records=piece, window=window))
    for name, column in whole.fields.items():
        assert np.array_equal(np.concatenate([one.fields[name] for one in pieces]), column)
    for name in ("value_counts", "value_index", "value_raw"):
        assert np.array_equal(np.concatenate([getattr(one, name) for one in pieces]), getattr(whole, name))
    for name in ("recounted", "resynchronised", "skipped_bytes"):
        assert sum(getattr(one, name) for one in pieces) == getattr(whole, name)
    assert max(one.count for one in pieces) <= piece + 1


@given(seed=st.integers(0, 1 << 30), piece=st.integers(2, 500))
@example(seed=404, piece=2)  # damage near the start, behind which bytes out of step pass for a record of another day
@settings(max_examples=25)
def test_columns_of_pieces_are_the_columns_of_the_whole(seed, piece):
    chance = random.Random(seed)  # noqa: S311 - repeatable
    data = damaged(log_bytes(wandering(chance, 600), "ABD"), chance, 2)
    whole = TimeLogTable(HEADER, records_in(data, HEADER, file="made"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(timelog_columns, "FIRST_TAIL", chance.choice([1, 7, 100]))
        tables = list(tables_in(lambda: io.BytesIO(data), HEADER, file="made", piece_records=piece))
    assert np.array_equal(together(tables, lambda one: one.time_ms), whole.time_ms)
    for number in (397, 161, 67, 2):
        (index,) = whole.indices(number)
        for hold_s in (2.0, 60.0, 1e9):
            raw, known = whole.raw(index, hold_s)
            assert np.array_equal(together(tables, lambda one, i=index, h=hold_s: one.raw(i, h)[1]), known)
            assert np.array_equal(together(tables, lambda one, i=index, h=hold_s: one.raw(i, h)[0])[known], raw[known])
        assert all(table.indices(number) == [index] for table in tables)
    whole_speed = speeds_of(whole)[0].speed_mps
    assert np.array_equal(together(tables, lambda one: speeds_of(one)[0].speed_mps), whole_speed, equal_nan=True)
    for name in ("east_m", "north_m", "known"):
        column = together(tables, lambda one, n=name: getattr(positions_of(one), n))
        assert column.tobytes() == getattr(positions_of(whole), name).tobytes()
    for name in ("written", "greatest", "common_bits"):
        assert all(np.array_equal(getattr(one.survey, name), getattr(whole.survey, name)) for one in tables)


@pytest.mark.parametrize("before_edge", range(-2, 4))
@pytest.mark.parametrize("wrong", [0, 1, 9])
def test_a_wrong_count_is_put_right_where_the_window_moves_on(before_edge, wrong):
    records = driven(2000, values=3)
    data, size = bytearray(log_bytes(records, "ABD")), 16 + 3 * 5
    at = (least_window(HEADER) - reach_of(HEADER)) // size - before_edge
    data[at * size + 15] = wrong
    (piece,) = pieces_in(lambda: io.BytesIO(data), HEADER, file="made", window=1)
    assert (piece.count, piece.recounted, piece.skipped_bytes) == (2000, 1, 0)
    assert piece.value_counts.tolist() == [3] * 2000
    assert np.array_equal(piece.value_raw, records_in(bytes(data), HEADER, file="made").value_raw)


def test_a_piece_ends_at_a_gap_of_the_clock_if_there_is_one():
    records = driven(100, values=1)
    late = [MadeRecord(one.ms + 60_000 * (n >= 71), one.day, one.position, one.values) for n, one in enumerate(records)]
    data = log_bytes(late, "ABD")
    pieces = list(pieces_in(lambda: io.BytesIO(data), HEADER, file="made", piece_records=80))
    assert [one.count for one in pieces] == [71, 29]


def test_a_day_told_late_is_found_beyond_the_first_window():
    good = log_bytes(driven(50, values=2), "ABD")
    data = b"\xff" * (3 * least_window(HEADER)) + good
    (piece,) = pieces_in(lambda: io.BytesIO(data), HEADER, file="made", window=1)
    assert piece.count == records_in(data, HEADER, file="made").count == 50
    assert piece.skipped_bytes == 3 * least_window(HEADER)


def test_more_records_than_allowed_are_refused_with_the_way_to_allow_them():
    data = log_bytes(driven(50, values=0), "ABD")
    with pytest.raises(LogRefused, match="more than 49 records") as refused:
        list(tables_in(lambda: io.BytesIO(data), HEADER, file="made", most_records=49))
    assert "--most-records" in refused.value.remedy
    assert len(list(tables_in(lambda: io.BytesIO(data), HEADER, file="made", most_records=50))) == 1


@pytest.mark.parametrize(("data", "says"), [(b"", "it has no records"), (b"\xff" * 99, "no record in it can be true")])
def test_a_log_without_records_is_refused(data, says):
    with pytest.raises(LogRefused, match=says):
        list(tables_in(lambda: io.BytesIO(data), HEADER, file="made"))
