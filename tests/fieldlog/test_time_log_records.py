"""The binary decoder against a slow one written apart from it, on logs that Hypothesis makes and on damaged ones."""

from __future__ import annotations

import random
import sys

import numpy as np
import pytest
from bench.made_time_log import (
    DAY,
    FORMATS,
    MadeRecord,
    driven,
    header_text,
    log_bytes,
    plainly_decoded,
    slowly_decoded,
)
from hypothesis import given
from hypothesis import strategies as st

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers import timelog_decoder, timelog_kernels, timelog_plain, timelog_records
from wetrun.fieldlog.readers.timelog_header import POSITION_FIELDS, header_in
from wetrun.fieldlog.readers.timelog_records import records_in

NAME_OF = {letter: name for letter, name, _ in POSITION_FIELDS}
RANGES = {"i": (-(1 << 31), (1 << 31) - 1), "B": (0, 255), "H": (0, 65_535), "I": (0, (1 << 32) - 1)}
GLOBE = {"A": 900_000_000, "B": 1_800_000_000}


def header_of(letters, values):
    text = header_text(letters, [f'A="{index + 1:04X}" B="" C="DET-1"' for index in range(values)])
    return header_in(text.encode(), file="TLG00001.xml")


def decoded(data, letters, values):
    return records_in(data, header_of(letters, values), file="TLG00001.bin")


def as_made(found, letters):
    columns = [found.fields[NAME_OF[letter]] for letter in letters]
    values: list[list[tuple[int, int]]] = [[] for _ in range(found.count)]
    for record, index, raw in zip(found.value_record, found.value_index, found.value_raw, strict=True):
        values[record].append((int(index), int(raw)))
    return [
        MadeRecord(
            int(found.fields["ms"][n]),
            int(found.fields["day"][n]),
            {letter: int(column[n]) for letter, column in zip(letters, columns, strict=True)},
            tuple(values[n]),
        )
        for n in range(found.count)
    ]


def number_for(letter):
    if letter in GLOBE:
        return st.integers(-GLOBE[letter], GLOBE[letter])
    return st.integers(*RANGES[FORMATS[letter]])


@st.composite
def made_logs(draw):
    letters = "".join(letter for letter in FORMATS if draw(st.booleans()))
    values = draw(st.integers(0, 12))
    value = st.tuples(st.integers(0, values - 1), st.integers(*RANGES["i"])) if values else st.nothing()
    record = st.builds(
        MadeRecord,
        ms=st.integers(0, 86_399_999),
        day=st.integers(DAY, DAY + 300),
        position=st.fixed_dictionaries({letter: number_for(letter) for letter in letters}),
        values=st.lists(value, max_size=values).map(tuple) if values else st.just(()),
    )
    first = draw(record)
    rest = [MadeRecord(one.ms, first.day + draw(st.integers(-1, 366)), one.position, one.values)
            for one in draw(st.lists(record, max_size=20))]  # fmt: skip
    return letters, values, [first, *rest]


@given(made_logs())
def test_what_is_written_is_read_and_is_what_the_slow_decoder_reads(made):
    letters, values, records = made
    data = log_bytes(records, letters)
    found = decoded(data, letters, values)
    assert as_made(found, letters) == records == slowly_decoded(data, letters)
    assert (found.recounted, found.resynchronised, found.skipped_bytes) == (0, 0, 0)


@given(made_logs())
def test_the_yardstick_of_the_bench_decodes_the_same(made):
    letters, _, records = made
    fields, values = plainly_decoded(log_bytes(records, letters), letters)
    assert fields == [(o.ms, o.day, *(o.position[one] for one in letters), len(o.values)) for o in records]
    assert values == [value for one in records for value in one.values]


def test_short_logs_wait_for_no_compiler_and_long_ones_get_it(monkeypatch):
    monkeypatch.delitem(sys.modules, timelog_decoder.KERNELS)
    assert timelog_decoder.decoder_for(timelog_decoder.LONG_LOG_BYTES - 1) is timelog_plain
    monkeypatch.undo()
    assert timelog_decoder.decoder_for(0) is timelog_kernels  # it is loaded, so it serves short ones too
    assert timelog_decoder.decoder_for(timelog_decoder.LONG_LOG_BYTES) is timelog_kernels


@pytest.mark.parametrize("fault", [RuntimeError("no locator"), OSError("disk full"), EOFError("damaged")])
def test_loops_that_cannot_be_kept_on_disk_are_compiled_anew(monkeypatch, fault):
    asked = []

    def compiler(signature, *, nogil, cache=False):
        asked.append(cache)
        if cache:
            raise fault
        return lambda loop: (signature, nogil, loop)

    monkeypatch.setattr("numba.njit", compiler)
    assert timelog_kernels.compiled("signature")(max) == ("signature", True, max)
    assert asked == [True, False]


def test_a_wrong_count_is_told_from_where_the_next_record_starts():
    records = driven(200, values=3)
    data = bytearray(log_bytes(records, "ABD"))
    size = 16 + 3 * 5
    for at, wrong in ((0, 0), (57, 1), (120, 9)):
        data[at * size + 15] = wrong
    found = decoded(bytes(data), "ABD", 3)
    assert as_made(found, "ABD") == records
    assert (found.recounted, found.resynchronised, found.skipped_bytes) == (3, 3, 0)


def test_a_record_that_cannot_be_true_is_passed_over_alone():
    records = driven(300, values=2)
    data = bytearray(log_bytes(records, "ABD"))
    size = 16 + 2 * 5
    data[77 * size + 4 : 77 * size + 6] = b"\xff\xff"  # the day
    data[200 * size : 200 * size] = b"\x07" * 13  # bytes of no record
    found = decoded(bytes(data), "ABD", 2)
    assert as_made(found, "ABD") == [*records[:77], *records[78:]]
    assert found.skipped_bytes == size + 13


def test_a_last_record_cut_off_is_left_out_and_counted():
    data = log_bytes(driven(50, values=2), "ABD")
    found = decoded(data[:-3], "ABD", 2)
    assert (found.count, found.skipped_bytes) == (49, 23)


@pytest.mark.parametrize("data", [b"\xff" * 400, b"\0" * 400, b"\x01", bytes(range(256)) * 20])
def test_bytes_that_are_no_log_are_refused(data):
    with pytest.raises(LogRefused, match="no record in it can be true"):
        decoded(data, "ABD", 3)


def test_a_log_that_is_out_of_step_all_the_time_is_refused():
    one = log_bytes(driven(3, values=0), "ABD")
    with pytest.raises(LogRefused, match="damaged all through"):
        decoded((one + b"\xee" * 9) * 3000, "ABD", 0)


def test_compiled_loops_give_the_same_arrays_on_whole_and_on_damaged_logs(monkeypatch):
    chance = random.Random(20310503)  # noqa: S311 - a seed, so that a failure comes again
    whole = log_bytes(driven(200, values=3), "ABD") + log_bytes(driven(200, values=0), "ABD")
    for case in range(60):
        data = bytearray(whole)
        for _ in range(case % 6):
            at = chance.randrange(len(data))
            data[at : at + chance.randrange(3)] = chance.randbytes(chance.randrange(4))
        results = []
        for decoder in (timelog_plain, timelog_kernels):
            monkeypatch.setattr(timelog_records, "decoder_for", lambda _octets, chosen=decoder: chosen)
            results.append(decoded(bytes(data), "ABD", 3))
        plain, compiled = results
        assert as_made(plain, "ABD") == as_made(compiled, "ABD")
        assert plain.value_raw.dtype == compiled.value_raw.dtype
        for name in ("recounted", "resynchronised", "skipped_bytes"):
            assert getattr(plain, name) == getattr(compiled, name)


def test_blocks_join_without_a_seam():
    records = driven(70_000, values=1)
    found = decoded(log_bytes(records, "ABD"), "ABD", 1)
    assert found.count == 70_000
    assert np.array_equal(found.value_record, np.arange(70_000))
    assert np.array_equal(found.fields["north"], [one.position["A"] for one in records])
