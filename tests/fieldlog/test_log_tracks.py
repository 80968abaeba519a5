"""Several tracks in one file: by a column, woven in time, or numbered from 1 each. Never one way across all of them."""

from __future__ import annotations

import numpy as np
import pytest

from wetrun.fieldlog.readers.formats import logs_in
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.request import ReadRequest

DEGREES_PER_M = 8.99322e-6


def drive(count, *, east_m=0.0, speed_mps=2.0, start_s=0.0, machine=""):
    """A drive northward, one row a second, beginning ``east_m`` east of the first."""
    rows = [
        {
            "time (s)": f"{start_s + i:.0f}",
            "speed (m/s)": speed_mps,
            "lon": f"{10 + east_m * DEGREES_PER_M / np.cos(np.pi / 180 * 50):.9f}",
            "lat": f"{50 + i * speed_mps * DEGREES_PER_M:.9f}",
        }
        for i in range(count)
    ]
    return [{**row, "Machine": machine} for row in rows] if machine else rows


def woven(first, second):
    return [row for pair in zip(first, second, strict=True) for row in pair]


def logs_of(path, mapping=""):
    request = ReadRequest(mapping_from("format_version = 1\n" + mapping, file="map.toml"))
    (found,) = logs_in(path, request)
    return found.logs


def middle_mps(log, source="positions"):
    return {one.source: one.percentiles_mps[3] for one in log.facts.speeds}[source]


def test_two_machines_woven_in_time_are_told_apart_by_place(write_rows):
    rows = woven(drive(200), drive(200, east_m=1000, speed_mps=3.0, start_s=0.0))
    first, second = logs_of(write_rows(rows))
    assert (first.facts.records, second.facts.records) == (200, 200)
    assert (first.facts.jumps, second.facts.jumps) == (0, 0)
    assert (middle_mps(first), middle_mps(second)) == (pytest.approx(2, rel=1e-3), pytest.approx(3, rel=1e-3))
    assert any("told apart as 2 tracks" in doubt.words for doubt in first.doubts)


def test_stretches_of_two_machines_are_told_apart_by_place(write_rows):
    a, b = drive(200), drive(200, east_m=1000)
    rows = [row for i in range(0, 200, 25) for row in a[i : i + 25] + b[i : i + 25]]
    assert [log.facts.records for log in logs_of(write_rows(rows))] == [200, 200]


def test_no_way_is_driven_between_woven_machines(write_rows):
    rows = woven(drive(200), drive(200, east_m=1000, start_s=0.0))
    boom = '[boom]\nfull_width = { value = 24, unit = "m" }\n'
    traces = [log.trace for log in logs_of(write_rows(rows), boom)]
    assert [np.nanmax(trace.speed_mps) for trace in traces] == [pytest.approx(2), pytest.approx(2)]
    assert sum(np.nansum(trace.distance_m) for trace in traces) == pytest.approx(2 * 199 * 2)


def test_tracks_numbered_from_one_each_are_told_apart(write_rows):
    rows = drive(100, start_s=1) + drive(60, east_m=30, speed_mps=3.0, start_s=1) + drive(80, east_m=60, start_s=1)
    logs = logs_of(write_rows(rows))
    assert [log.facts.records for log in logs] == [100, 60, 80]
    assert [log.facts.backward_steps for log in logs] == [0, 0, 0]
    assert middle_mps(logs[1]) == pytest.approx(3, rel=1e-3)


def test_a_column_that_names_the_machine_tells_them_apart_however_near(write_rows):
    rows = woven(drive(100, machine="A"), drive(100, east_m=20, speed_mps=2.2, machine="B"))
    logs = logs_of(write_rows(rows))
    assert [log.name for log in logs] == ["log.csv, track 1", "log.csv, track 2"]
    assert [log.facts.records for log in logs] == [100, 100]
    assert middle_mps(logs[1]) == pytest.approx(2.2, rel=1e-3)


def test_a_mapped_column_tells_tracks_apart(write_rows):
    rows = [{**row, "Load": i % 3} for i, row in enumerate(drive(90))]
    path = write_rows(rows)
    assert len(logs_of(path)) == 1
    assert [log.facts.records for log in logs_of(path, '[columns]\ntrack = { column = "Load" }\n')] == [30, 30, 30]


def test_the_control_is_one_track(write_rows):
    (log,) = logs_of(write_rows(drive(200)))
    assert log.facts.records == 200
    assert not log.doubts


def test_a_few_faulty_positions_are_jumps_and_no_track(write_rows):
    rows = drive(200)
    for i in (20, 60, 61, 120, 150):
        rows[i]["lat"] = "50.5"
    (log,) = logs_of(write_rows(rows))
    assert log.facts.jumps == 8


def test_positions_all_over_the_place_are_no_tracks(write_rows):
    rows = drive(400)
    places = np.random.default_rng(5).uniform(0, 1e5, 400)
    for row, place in zip(rows, places, strict=True):
        row["lat"] = f"{50 + place * DEGREES_PER_M:.9f}"
    assert len(logs_of(write_rows(rows))) == 1


def test_one_machine_that_is_set_down_in_the_same_places_again_is_one_track(write_rows):
    rows = [{**row, "time (s)": i} for i, row in enumerate(drive(1000, speed_mps=10.0) * 4)]
    assert len(logs_of(write_rows(rows))) == 1


def test_a_file_written_twice_over_is_one_track(write_rows):
    assert len(logs_of(write_rows(drive(100) + drive(100)))) == 1


def test_a_clock_set_back_in_the_middle_stays_one_log(write_rows):
    assert len(logs_of(write_rows(drive(100) + drive(80, east_m=30, start_s=60)))) == 1
