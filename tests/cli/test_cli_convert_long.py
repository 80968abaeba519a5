"""`wetrun log convert` of logs too long to be held at once: the file of the pieces is the file of the whole."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from bench.made_time_log import MadeRecord, driven, header_text, log_bytes, write_task_data

from wetrun.cli.convert_command import ConvertRequest, run_convert
from wetrun.fieldlog.ledger import ledger_as_arrays, ledger_of
from wetrun.fieldlog.readers import csv_log, iso_log, iso_pieces, text_table
from wetrun.fieldlog.readers.formats import traces_in
from wetrun.fieldlog.readers.limits import DEFAULT_LIMITS
from wetrun.fieldlog.readers.parquet_trace import trace_in
from wetrun.fieldlog.readers.working_ledger import ledger_of_file
from wetrun.fieldlog.trace import Trace

LOGGED = ['A="0002" B="" C="DET-2"', 'A="00A1" B="" C="DET-2"', 'A="018D" B="" C="DET-1"']
ALL_ON, LEFT_OFF = (word - (1 << 32) for word in (0xFFFFFFD5, 0xFFFFFFD4))


def turning_text(instants: int = 3000) -> str:
    """Three sections, in every third stretch in a turn; one is off now and then, and there is a gap in the middle."""
    rows = ["time (s),section,distance (m),width (m),target rate (L/ha),applied rate (L/ha),lon,lat"]
    chance, along_m = np.random.default_rng(4), 0.0
    for i in range(instants):
        along_m += (way_m := chance.uniform(0.6, 1.2))
        second = 1000 + 0.2 * i + 90 * (i > instants // 2)
        for section in range(3):
            if section != 2 or i // 97 % 3 != 1:
                own_m = way_m * (1 + (section - 1) * 0.05 * (i // 50 % 3 == 2))
                rate = chance.uniform(80, 120)
                rows.append(f"{second:.2f},{section},{own_m:.4f},8,100,{rate:.1f},10,{50 + along_m * 8.99322e-6:.8f}")
    return "\n".join(rows) + "\n"


def converted(log: Path, out: Path) -> Path:
    """Convert within this process, where the bounds are set low."""
    run_convert(ConvertRequest((log,), out, None, DEFAULT_LIMITS, shift=False, force=False, as_json=False))
    (path,) = out.iterdir()
    return path


def check_file_of_the_whole(path: Path, whole: Trace) -> None:
    """All a tally and a replay go by is the same to the last bit; facts are told once."""
    found, one, other = trace_in(path), *(ledger_as_arrays(each) for each in (ledger_of_file(path), ledger_of(whole)))
    for name, values in other.items():
        np.testing.assert_array_equal(one[name], values, err_msg=name)
    for name in ("time_s", "speed_mps", "distance_m", "width_m", "area_m2", "target_m3pm2", "sections_on"):
        np.testing.assert_array_equal(getattr(found, name), getattr(whole, name), err_msg=name)
    assert found.sections == whole.sections
    assert (found.facts.rows, found.facts.instants) == (whole.facts.rows, whole.facts.instants)
    assert [(one.why, one.count) for one in found.facts.left_out] == [
        (one.why, one.count) for one in whole.facts.left_out
    ]
    assert sum(one.area_m2 for one in found.facts.left_out) == pytest.approx(
        sum(one.area_m2 for one in whole.facts.left_out)
    )
    assert (found.full_width_m, found.origin) == (whole.full_width_m, whole.origin)


def test_a_long_text_log_is_converted_in_pieces(tmp_path, monkeypatch):
    (tmp_path / "long.csv").write_text(turning_text(), encoding="utf-8")
    (whole,) = traces_in(tmp_path / "long.csv")
    assert whole.swing_ratio is not None
    monkeypatch.setattr(text_table, "CHUNK_BYTES", 4000)
    monkeypatch.setattr(csv_log, "MOST_AT_ONCE", 600)
    monkeypatch.setattr(csv_log.pieces_in, "__kwdefaults__", {"most_at_once": 600, "piece_rows": 900})
    pieces = traces_in(tmp_path / "long.csv")
    assert len(pieces) > 4
    path = converted(tmp_path / "long.csv", tmp_path / "work")
    check_file_of_the_whole(path, whole)
    found = trace_in(path).swing_ratio
    assert found is not None
    told = np.concatenate([np.full(piece.time_s.size, piece.swing_ratio is not None) for piece in pieces])
    assert told.any()
    np.testing.assert_array_equal(found[told], whole.swing_ratio[told])


@pytest.mark.parametrize("again", [False, True])
def test_a_long_time_log_is_converted_in_pieces(tmp_path, monkeypatch, again):
    records = [
        MadeRecord(
            one.ms + 90_000 * (nth > 2000), one.day, one.position,
            (
                (0, 1_500_000 + 700 * (nth % 211)),
                (1, LEFT_OFF if nth // 97 % 3 == 1 else ALL_ON),
                (2, 4000 + nth % 503),
            ),
        )
        for nth, one in enumerate(driven(4000, values=0))
    ]  # fmt: skip
    log = header_text("ABD", LOGGED), log_bytes(records, "ABD")
    (whole,) = traces_in(write_task_data(tmp_path / "TASKDATA", {"TLG00001": log}))
    monkeypatch.setattr(iso_log, "MOST_BYTES_AT_ONCE", 1000)
    monkeypatch.setattr(iso_pieces.LongTimeLog.tables, "__defaults__", (300,))
    monkeypatch.setattr(iso_pieces.traces_of, "__kwdefaults__", {"records": 300, "piece_rows": 900})
    assert len(traces_in(tmp_path / "TASKDATA")) > 4
    path = converted(tmp_path / "TASKDATA", tmp_path / "work")
    if again:
        path = converted(path, tmp_path / "again")
    check_file_of_the_whole(path, whole)
