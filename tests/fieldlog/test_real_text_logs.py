"""Real text logs of a sprayer and of combines, held against figures measured independently of this reader.

Which records each figure is of:

* sprayer, ``sec182``: the rows of boom section 182 alone, put in time order (as written, the file goes back once);
  ``log`` is DISTANCE over the time since the section's row before, where that is no gap (33 gaps and the first row
  have none: ``log_nan`` 34).
* ``c#0`` to ``c#2``: the rows between the places where the clock goes back (rows 1194 and 4353: the clock was set back
  by a few seconds while the combine drove on); ``log`` is Distance over Cycles, the interval the terminal logged.
* ``s3#0`` and ``s3#1``: in the same way, the rows before and after the clock goes back by 57 009 s (row 23 849).
* ``s1``: all rows. Its clock adds 1 in every row, also where the place jumps: it is told as a possible count.

``win`` takes windows of at least 1 s from every record with a position to the first one that much later, none over 5 s
(also in the logs with a row every 3 s, whose gaps begin at 15 s); ``win_moving`` keeps those of 1 km/h and more,
``stop_frac`` counts those under 0.5 km/h. Speeds are printed to 0.1 km/h: half of that is allowed beside the 2 %.
"""

import json

import numpy as np
import pytest
from tests.log_reading import sent

from wetrun.fieldlog.readers.column_logs import facts_and_speeds
from wetrun.fieldlog.readers.csv_log import parsed_in
from wetrun.fieldlog.readers.formats import logs_in
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.record_facts import BETWEEN_RECORDS, window_speeds
from wetrun.fieldlog.readers.request import ReadRequest

LEVELS = (1, 5, 25, 50, 75, 95, 99)
SPRAYER = '[columns]\ndistance = { column = "DISTANCE", unit = "ft" }\n'
HEADERLESS = """
[columns]
time = { column = "4", unit = "s" }
longitude = { column = "1" }
latitude = { column = "2" }
distance = { column = "6", unit = "in" }
interval = { column = "5", unit = "s" }
"""
COMBINE = '[columns]\ndistance = { column = "Distance", unit = "in" }\n'
UAN, S1, S3, MN = (
    "asapplied-sprayer-uan-2019/asapplied_session_A.csv.gz",
    "yieldtext-headerless/sample1.txt.gz",
    "yieldtext-headerless/sample3.txt.gz",
    "csv-combine-mn-2001/combine_3s_epoch.csv",
)
LOGS = [
    ("asapplied-sprayer-uan-2019 session A", "sec182", UAN, SPRAYER, "section 182"),
    ("yieldtext-headerless sample1", "s1", S1, HEADERLESS, 0),
    ("yieldtext-headerless sample3", "s3#0", S3, HEADERLESS, 0),
    ("yieldtext-headerless sample3", "s3#1", S3, HEADERLESS, 1),
    ("csv-combine-mn-2001", "c#0", MN, COMBINE, 0),
    ("csv-combine-mn-2001", "c#1", MN, COMBINE, 1),
    ("csv-combine-mn-2001", "c#2", MN, COMBINE, 2),
]


@pytest.fixture(scope="module")
def logs(real_log_path):
    return real_log_path.parents[1]


@pytest.fixture(scope="module")
def expected(logs):
    return json.loads((logs / "expected.json").read_text(encoding="utf-8"))


def request(mapping):
    return ReadRequest(mapping_from("format_version = 1\n" + mapping, file="map.toml"))


@pytest.fixture(scope="module")
def read(logs):
    """Columns by file, each read once, then the rows of a section or of a run of the clock."""
    known = {}

    def part(file, mapping, which):
        if file not in known:
            known[file] = parsed_in(sent(logs / file), request(mapping))
        columns = known[file]
        if isinstance(which, str):
            rows = np.flatnonzero(columns.section == columns.section_names.index(which.removeprefix("section ")))
            rows = rows[np.argsort(columns.time_s[rows], kind="stable")]
        else:
            back = np.flatnonzero(np.diff(columns.time_s) < 0) + 1
            rows = np.split(np.arange(columns.rows), back)[which]
        return facts_and_speeds(columns.of_rows(rows), request(mapping).mapping)

    return part


@pytest.mark.parametrize(("key", "name", "file", "mapping", "which"), LOGS)
def test_counts_are_exact(read, expected, key, name, file, mapping, which):
    want, (facts, track) = expected[key][name], read(file, mapping, which)
    assert (facts.records, facts.no_fix) == (want["n"], want["badpos"])
    assert (facts.backward_steps, facts.same_time, facts.gaps) == (want["back"], want["dup_t"], want["gaps"])
    assert facts.gap_total_s / 60 == pytest.approx(want["gap_tot_min"], abs=0.0501)
    assert facts.span_s / 60 == pytest.approx(want["span_min"], abs=0.0501)
    assert facts.usual_step_s == pytest.approx(want["dt_med"], abs=0.000501)
    assert facts.step_p95_s == pytest.approx(want["dt_p95"], abs=0.000501)
    assert facts.longest_step_s == pytest.approx(want["dt_max"], abs=0.0501)
    assert facts.same_place_frac == pytest.approx(want["same_pos_frac"], abs=0.000501)
    assert facts.jumps == want["jumps_gt60kmh"]
    assert facts.untimed == 0
    (logged,) = (one for one in track.speeds if one.source == "distance / time")
    assert np.isnan(logged.speed_mps).sum() == want["log_nan"]


@pytest.mark.parametrize(("key", "name", "file", "mapping", "which"), LOGS)
def test_speed_percentiles_are_met(read, expected, key, name, file, mapping, which):
    want, (facts, track) = expected[key][name], read(file, mapping, which)
    inst = {one.source: one for one in facts.speeds}[BETWEEN_RECORDS]
    assert inst.percentiles_mps * 3.6 == pytest.approx(want["inst"], rel=0.02, abs=0.0501)
    (logged,) = (one.speed_mps * 3.6 for one in track.speeds if one.source == "distance / time")
    logged = logged[np.isfinite(logged)]
    window_kmh = window_speeds(track.time_ms, track.positions, longest_ms=5000) * 3.6
    speeds = {"win": window_kmh, "win_moving": window_kmh[window_kmh >= 1]}
    speeds |= {"log": logged, "log_moving": logged[logged >= 1]}
    for figure, values in speeds.items():
        for level, kmh in zip(LEVELS, want[figure], strict=True):
            assert np.percentile(values, level) == pytest.approx(kmh, rel=0.02, abs=0.0501), (figure, level)
    assert (window_kmh < 0.5).mean() == pytest.approx(want["stop_frac"], abs=0.000501)
    assert (logged == 0).mean() == pytest.approx(want["log_zero"], abs=0.000501)
    assert logged.max() == pytest.approx(want["log_max"], abs=0.0501)


def test_a_clock_in_seconds_since_1970_is_read_so_without_being_told(logs):
    (found,) = logs_in(logs / MN)
    (log,) = found.logs
    assert log.facts.usual_step_s == 3
    assert log.facts.span_s / 60 == pytest.approx(272.6, abs=0.05)
    assert [use.unit for use in log.columns if use.meaning == "time"] == ["s since 1970"]


@pytest.mark.parametrize("file", [S1, S3])
def test_a_table_without_a_header_proposes_the_lines_that_a_mapping_needs(logs, file):
    (found,) = logs_in(logs / file)
    (log,) = found.logs
    assert log.proposed == (
        'longitude = { column = "column 1", unit = "deg" }',
        'latitude = { column = "column 2", unit = "deg" }',
        'time = { column = "column 4", unit = "s" }',
        'distance = { column = "column 6", unit = "in" }',
    )
    assert not [use for use in log.columns if use.meaning == "distance"]
    assert not any(use.stated for use in log.columns)
    counted = [doubt for doubt in log.doubts if "may only count" in doubt.words]
    assert len(counted) == (file == S1)


def test_the_proposed_lines_are_a_mapping_that_reads_the_same(logs):
    (bare,), lines = logs_in(logs / S3), "\n".join(["[columns]", *logs_in(logs / S3)[0].logs[0].proposed])
    (mapped,) = logs_in(logs / S3, request(lines))
    one, other = bare.logs[0].facts, mapped.logs[0].facts
    assert (one.records, one.span_s, one.gaps, one.jumps) == (other.records, other.span_s, other.gaps, other.jumps)
    assert not mapped.logs[0].proposed
