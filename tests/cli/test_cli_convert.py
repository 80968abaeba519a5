"""`wetrun log convert`: logs become working files that every command reads like the log itself."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tests.replay_cases import made_setup

from wetrun.fieldlog.boom_sections import boom_sections
from wetrun.fieldlog.exact_replay import exact_replay
from wetrun.fieldlog.ledger import ledger_as_arrays
from wetrun.fieldlog.readers.formats import traces_in
from wetrun.fieldlog.readers.parquet_trace import pieces_in, trace_in, working_file
from wetrun.fieldlog.readers.shifting import MOVED, Shift
from wetrun.fieldlog.readers.working_columns import COLUMNS, SWING
from wetrun.fieldlog.readers.working_writer import write_trace
from wetrun.fieldlog.replay import ReplayMode
from wetrun.fieldlog.section_tally import SectionTally, section_tally
from wetrun.fieldlog.tallied import tallied, tallied_in_pieces
from wetrun.fieldlog.trace import Origin, Trace
from wetrun.spray.response import AT_ONCE

EDGES_M = np.linspace(-12.0, 12.0, 5)
LON_DEG, LAT_DEG = 10.123456789, 50.987654321


def log(path: Path, lon_deg: float = LON_DEG, lat_deg: float = LAT_DEG) -> Path:
    rows = ["time (s),distance (m),swath width (m),applied rate (L/ha),target rate (L/ha),lon,lat"]
    rows += [f"{0.2 * i:.1f},1.0,24.0,{100 + i % 3},100,{lon_deg},{lat_deg + i * 8.99322e-6:.9f}" for i in range(60)]
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def place_of(trace: Trace) -> Origin:
    assert trace.origin is not None
    return trace.origin


def test_a_converted_log_is_the_log(run, tmp_path):
    log(tmp_path / "north field.csv")
    done = run("log", "convert", "north field.csv", "--out", "work")
    assert done.code == 0, done.err
    path = tmp_path / "work" / "north_field.csv.parquet"
    assert "60 instants" in done.out
    (trace,), again = traces_in(tmp_path / "north field.csv"), trace_in(path)
    assert all(getattr(again, name).tobytes() == getattr(trace, name).tobytes() for name in COLUMNS)
    assert repr(again.facts) == repr(trace.facts)
    inspected = run("log", "inspect", path)
    assert inspected.code == 0, inspected.err
    assert "5" in inspected.out


def turning_log(path: Path) -> Path:
    """Four sections in a long turn, each with a distance of its own, the second one off for a while."""
    rows = ["time (s),section,distance (m),swath width (m),target rate (L/ha),lon,lat"]
    for i in range(400):
        for section in range(4):
            if section != 1 or not 100 <= i < 150:
                own = 1 + (section - 1.5) * 0.1 * (i > 50)
                rows.append(f"{0.2 * i:.1f},{section},{own:.4f},6,140,{LON_DEG},{LAT_DEG + i * 8.99322e-6:.9f}")
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def exact_tally(trace: Trace) -> SectionTally:
    result = exact_replay(trace, made_setup((18.0, 24.0)), ReplayMode.SAME_SPEED)
    return section_tally(result, boom_sections(trace, EDGES_M), AT_ONCE, tolerance_frac=0.05)


def test_the_exact_replay_of_a_converted_log_is_that_of_the_log(run, tmp_path):
    turning_log(tmp_path / "a.csv")
    assert run("log", "convert", "a.csv", "--out", "work").code == 0
    (trace,), (again,) = traces_in(tmp_path / "a.csv"), traces_in(tmp_path / "work")
    assert trace.swing_ratio is not None
    assert again.swing_ratio is not None
    assert again.swing_ratio.tobytes() == trace.swing_ratio.tobytes()
    one, other, straight = (exact_tally(each) for each in (trace, again, replace(trace, swing_ratio=None)))
    assert repr(one) == repr(other)
    assert one.within_cm2 < straight.within_cm2


@pytest.mark.parametrize("shift", [False, True])
def test_a_working_file_converted_again_is_the_same(run, tmp_path, shift):
    turning_log(tmp_path / "a.csv")
    option = ["--shift"] if shift else []
    assert run("log", "convert", "a.csv", "--out", "one").code == 0
    assert run("log", "convert", "one", "--out", "two", *option).code == 0
    assert run("log", "convert", "two", "--out", "three", *option).code == 0
    first, second, third = (next((tmp_path / folder).iterdir()) for folder in ("one", "two", "three"))
    traces = [trace_in(file) for file in (first, second, third)]
    for other in traces[1:]:
        assert all(getattr(other, name).tobytes() == getattr(traces[0], name).tobytes() for name in (*COLUMNS, SWING))
        assert (other.sections, other.full_width_m) == (traces[0].sections, traces[0].full_width_m)
        plain = traces[0].facts
        moved = replace(plain, file="log-001.parquet", doubts=(*plain.doubts, MOVED))
        assert other.facts == (moved if shift else plain)
        assert (other.origin == traces[0].origin) is not shift


def test_the_pieces_of_a_working_file_make_it_again_shifted_or_not(tmp_path):
    (trace,) = traces_in(turning_log(tmp_path / "a.csv"))
    write_trace(tmp_path / "one.parquet", [trace])
    pieces = list(pieces_in(working_file(tmp_path / "one.parquet"), 30))
    assert len(pieces) > 10
    shift = Shift()
    write_trace(tmp_path / "two.parquet", pieces)
    write_trace(tmp_path / "three.parquet", [shift.moved(one, "log-001.parquet") for one in pieces])
    two, three = trace_in(tmp_path / "two.parquet"), trace_in(tmp_path / "three.parquet")
    assert (two.facts, two.sections, two.origin) == (trace.facts, trace.sections, trace.origin)
    assert three.facts == replace(trace.facts, file="log-001.parquet", doubts=(*trace.facts.doubts, MOVED))
    assert three.sections == trace.sections
    done, whole = tallied_in_pieces(pieces), tallied(trace)
    assert (done.drive, done.facts, done.full_width_m) == (whole.drive, whole.facts, whole.full_width_m)
    for name, values in ledger_as_arrays(whole.ledger).items():
        np.testing.assert_array_equal(ledger_as_arrays(done.ledger)[name], values, err_msg=name)


def test_bad_logs_are_told_and_the_rest_is_converted(run, tmp_path):
    log(tmp_path / "good.csv")
    (tmp_path / "bad.csv").write_bytes(b"a,b\n1,2\n")
    done = run("log", "convert", "bad.csv", "good.csv", "none.csv", "--out", "work", "--json")
    assert done.code == 4
    plain = json.loads(done.out)
    assert (plain["format_version"], plain["shifted"]) == (1, False)
    assert [sorted(one) for one in plain["logs"]] == [
        ["log", "refused"], ["bytes", "file", "instants", "log"], ["log", "refused"],
    ]  # fmt: skip
    assert plain["logs"][1]["instants"] == 60
    assert "none.csv" in done.err


def test_nothing_is_written_over_unless_asked(run, tmp_path):
    log(tmp_path / "a.csv")
    assert run("log", "convert", "a.csv", "--out", "work").code == 0
    path = tmp_path / "work" / "a.csv.parquet"
    before = path.read_bytes()
    refused = run("log", "convert", "a.csv", "--out", "work")
    assert refused.code == 6
    assert "--force" in refused.err
    assert path.read_bytes() == before
    assert run("log", "convert", "a.csv", "--out", "work", "--force").code == 0


def test_logs_of_one_name_get_files_of_their_own(run, tmp_path):
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        log(tmp_path / folder / "a.csv")
    assert run("log", "convert", "one/a.csv", "two/a.csv", "--out", "work").code == 0
    assert sorted(path.name for path in (tmp_path / "work").iterdir()) == ["a.csv-2.parquet", "a.csv.parquet"]


def test_a_shifted_log_keeps_its_distances_and_tells_no_place_and_no_name(run, tmp_path):
    log(tmp_path / "millers field.csv")
    log(tmp_path / "other.csv", lon_deg=LON_DEG + 0.01)
    done = run("log", "convert", "millers field.csv", "other.csv", "--out", "work", "--shift")
    assert done.code == 0, done.err
    assert "same secret offset" in done.out
    files = sorted((tmp_path / "work").iterdir())
    assert [file.name for file in files] == ["log-001.parquet", "log-002.parquet"]
    first, second = (trace_in(file) for file in files)
    (plain,) = traces_in(tmp_path / "millers field.csv")
    assert first.north_m.tobytes() == plain.north_m.tobytes()
    for one in (first, second):
        assert "millers" not in repr(one)
        assert any("secret offset" in doubt.words for doubt in one.facts.doubts)
    apart = place_of(second).longitude_rad - place_of(first).longitude_rad
    away_m = apart * np.cos(place_of(first).latitude_rad)
    assert away_m == pytest.approx(np.radians(0.01) * np.cos(np.radians(LAT_DEG)), rel=1e-6)
    assert abs(place_of(first).latitude_rad - np.radians(LAT_DEG)) > 1e-9
    for file in files:
        content = file.read_bytes()
        assert b"millers" not in content
        for value in (LON_DEG, LAT_DEG, np.radians(LON_DEG), np.radians(LAT_DEG)):
            assert np.float64(value).tobytes() not in content
            assert repr(float(value)).encode()[:9] not in content


def test_every_run_has_an_offset_of_its_own_and_fields_far_apart_lose_their_place(tmp_path):
    (trace,) = traces_in(log(tmp_path / "a.csv"))
    places = {place_of(Shift().moved(trace, "a")) for _ in range(20)}
    assert len(places) == 20
    assert all(abs(place.latitude_rad) <= np.radians(50) for place in places)
    shift = Shift()
    shift.moved(trace, "a")
    (south,) = traces_in(log(tmp_path / "b.csv", lat_deg=-89.9))
    assert shift.moved(south, "b").origin is None


def test_a_log_without_a_place_is_shifted_all_the_same(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text(
        "time (s),distance (m),swath width (m)\n" + "".join(f"{i},1,24\n" for i in range(9)), encoding="utf-8"
    )
    (trace,) = traces_in(path)
    moved = Shift().moved(trace, "log-001.parquet")
    assert (moved.origin, moved.facts.file) == (None, "log-001.parquet")
