"""A text log read in pieces: the ledgers of its pieces, merged, are the ledger of the whole, to the last bit."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.log_reading import only_trace, sent

from wetrun.fieldlog.ledger import ledger_as_arrays, ledger_of, merged
from wetrun.fieldlog.readers import csv_log, text_table
from wetrun.fieldlog.readers.formats import logs_in, traces_in
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.pieces import pieces_in
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, ReadRequest

DEGREES_PER_M = 8.99322e-6
# Taken from sums that begin with the piece, or with the log: equal but for the last digits.
LATE_S = 2.0
FROM_SUMS = {"curvature_radpm"}


def write_log(folder: Path, seed: int, *, instants: int, sections: int, troubles: bool) -> Path:
    """Write a drive with whatever makes cuts: gaps, pauses, clocks far back, late rows, sections off, faulty cells."""
    chance = np.random.default_rng(seed)
    step_s = np.full(instants, 0.2)
    if troubles:
        step_s[chance.integers(1, instants, 6)] = chance.choice([3.0, 7.0, 400.0, -9000.0, 1.2], 6)
    time_s, along_m = 1000 + np.cumsum(step_s), np.cumsum(np.clip(step_s, 0.2, 5) * chance.uniform(3, 6, instants))
    lines = ["time (s),section,distance (m),width (m),target rate (L/ha),applied rate (L/ha),heading,lon,lat"]
    for i in range(instants):
        for section in range(sections):
            if troubles and chance.random() < 0.1:
                continue
            distance = f"{along_m[i] - along_m[i - 1]:.3f}" if i else "0.8"
            cells = [f"{time_s[i]:.2f}", f"{section + 1}", distance, f"{4 + section}", "100"]
            cells += [f"{chance.uniform(80, 120):.1f}", f"{i % 360}", "10", f"{50 + along_m[i] * DEGREES_PER_M:.8f}"]
            if troubles and chance.random() < 0.02:
                cells[int(chance.integers(1, len(cells)))] = chance.choice(["", "x", "-5", "0", "99"])
            lines.append(",".join(cells))
    if troubles:
        for place in chance.integers(1, len(lines) - 1, 5):
            if (
                abs(float(lines[place].partition(",")[0] or 0) - float(lines[place + 1].partition(",")[0] or 0))
                > LATE_S
            ):
                continue
            lines[place], lines[place + 1] = lines[place + 1], lines[place]
    path = folder / "log.csv"
    path.write_text("\n".join(lines) + "\n")
    return path


def check_same(traces, whole):
    """All but the count of logs is the same to the last bit."""
    one, other = ledger_as_arrays(merged([ledger_of(trace) for trace in traces])), ledger_as_arrays(whole)
    assert one.keys() == other.keys()
    for name in one.keys() - {"logs"}:
        np.testing.assert_array_equal(one[name], other[name], err_msg=name)


def pieces_of(path, *, piece_rows, chunk):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(text_table, "CHUNK_BYTES", chunk)
        return list(csv_log.pieces_in(sent(path), PLAIN_REQUEST, piece_rows=piece_rows))


@settings(max_examples=30)
@given(
    seed=st.integers(0, 10**6),
    instants=st.integers(20, 500),
    sections=st.integers(1, 4),
    piece_rows=st.integers(40, 1500),
    chunk=st.integers(1500, 30_000),
    troubles=st.booleans(),
)
def test_pieces_merged_are_the_whole(tmp_path_factory, seed, instants, sections, piece_rows, chunk, troubles):
    path = write_log(tmp_path_factory.mktemp("log"), seed, instants=instants, sections=sections, troubles=troubles)
    whole = only_trace(path)
    pieces = pieces_of(path, piece_rows=piece_rows, chunk=chunk)
    check_same(pieces, ledger_of(whole))
    assert sum(piece.facts.rows for piece in pieces) == whole.facts.rows


def test_a_clock_set_back_within_the_work_is_a_recording_of_its_own_in_pieces_too(tmp_path):
    path = write_log(tmp_path, 11, instants=600, sections=2, troubles=False)
    head, *lines = path.read_text().splitlines()
    for i, line in enumerate(lines[600:], start=600):
        reading, _, rest = line.partition(",")
        lines[i] = f"{float(reading) - 30:.2f},{rest}"
    path.write_text("\n".join([head, *lines]) + "\n")
    whole = only_trace(path)
    assert whole.facts.recordings == 2
    check_same(pieces_of(path, piece_rows=300, chunk=2000), ledger_of(whole))


@pytest.mark.parametrize("piece_rows", [50, 130, 400])
@pytest.mark.parametrize("sections", [1, 3])
def test_a_clean_log_in_pieces_is_the_whole_column_by_column(tmp_path, sections, piece_rows):
    path = write_log(tmp_path, 7, instants=700, sections=sections, troubles=False)
    whole, pieces = only_trace(path), pieces_of(path, piece_rows=piece_rows, chunk=2000)
    assert len(pieces) > 1
    for one in fields(whole):
        values = getattr(whole, one.name)
        if isinstance(values, np.ndarray):
            joined = np.concatenate([getattr(piece, one.name) for piece in pieces])
            within = 1e-9 if one.name in FROM_SUMS else 0
            np.testing.assert_allclose(joined, values, rtol=within, atol=within, err_msg=one.name)
    told = {tuple((one.name, one.bit, one.group) for one in piece.sections) for piece in pieces}
    assert told == {tuple((one.name, one.bit, one.group) for one in whole.sections)}
    assert {piece.full_width_m for piece in pieces} == {whole.full_width_m}
    assert sum(piece.facts.instants for piece in pieces) == whole.facts.instants


def test_a_section_met_after_the_head_keeps_the_area(tmp_path, monkeypatch):
    path = write_log(tmp_path, 3, instants=600, sections=2, troubles=False)
    lines = path.read_text().splitlines()
    lines[900:] = [line.replace(",1,", ",9,", 1) for line in lines[900:]]
    path.write_text("\n".join(lines) + "\n")
    monkeypatch.setattr(text_table, "CHUNK_BYTES", 2000)
    pieces = list(csv_log.pieces_in(sent(path), PLAIN_REQUEST, most_at_once=300, piece_rows=200))
    assert sum(ledger_of(piece).total_cm2 for piece in pieces) == ledger_of(only_trace(path)).total_cm2
    assert [section.name for section in pieces[-1].sections] == ["1", "2", "9"]


def test_a_long_log_is_looked_at_by_its_head_and_driven_in_pieces(tmp_path, monkeypatch):
    path = write_log(tmp_path, 5, instants=500, sections=1, troubles=False)
    whole = ledger_of(only_trace(path))
    monkeypatch.setattr(text_table, "CHUNK_BYTES", 2000)
    monkeypatch.setattr(csv_log, "MOST_AT_ONCE", 200)
    (found,) = logs_in(path)
    (log,) = found.logs
    assert log.trace is None
    assert log.facts.records <= 200
    assert f"of its first {log.facts.records} records" in log.doubts[0].words
    assert "not driven in one go" in log.missing
    for traces in (traces_in(path), pieces_in(path)):
        check_same(traces, whole)


def test_tracks_by_a_column_come_in_pieces_of_their_own(tmp_path, monkeypatch):
    path = write_log(tmp_path, 5, instants=500, sections=1, troubles=False)
    head, *lines = path.read_text().splitlines()
    marked = [f"{line},{'AB'[i // 100 % 2]}" for i, line in enumerate(lines)]
    path.write_text("\n".join([f"{head},machine", *marked]) + "\n")
    whole = merged([ledger_of(trace) for trace in traces_in(path)])
    monkeypatch.setattr(text_table, "CHUNK_BYTES", 2000)
    monkeypatch.setattr(csv_log, "MOST_AT_ONCE", 200)
    (found,) = logs_in(path)
    assert [log.name for log in found.logs] == ["log.csv, track 1", "log.csv, track 2"]
    check_same(traces_in(path), whole)


def test_a_width_stated_in_the_mapping_goes_for_every_piece(tmp_path):
    path = write_log(tmp_path, 5, instants=500, sections=3, troubles=False)
    path.write_text(path.read_text().replace("width (m)", "other"))
    boom = mapping_from('format_version = 1\n[boom]\nfull_width = { value = 24, unit = "m" }', file="map.toml")
    request = ReadRequest(boom)
    (whole,) = traces_in(path, request)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(text_table, "CHUNK_BYTES", 2000)
        pieces = list(csv_log.pieces_in(sent(path), request, piece_rows=300))
    assert len(pieces) > 1
    check_same(pieces, ledger_of(whole))
