"""Real shapefiles of combines, a seeder and as-applied maps, held against figures measured independently.

Which records each figure is of, and what was done before it was taken:

* ``seeder_2019``: boom section 825 of machine 2; ``log`` is the distance of a record over the time since the one
  before, none over the gap limit (61 of them: 60 gaps and the first record).
* ``combine_2019_sections_nan_z``: section 190; ``log`` likewise (16 without).
* ``combine_2018``: one recording by its name in the data set column, in the order of its record numbers, the time being
  the durations added up; ``log`` is the speed column in miles an hour, a unit the file does not state.
* ``combine_2015_daynumber_time``: all records put in time order (the file goes back four times), and times rounded to
  0.1 s: only so do ``inst`` and the usual step agree. ``log`` takes the inches of each record as one second's way.

``win`` are windows of at least 1 s, ``win_moving`` those of 1 km/h and more, ``stop_frac`` the share under 0.5 km/h.
Speeds are printed to 0.1 km/h: half of that is allowed beside the 2 %.
"""

import csv
import gzip
import io
import json
import zipfile
from itertools import pairwise

import numpy as np
import pytest
import shapefile

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers import shapefile_log
from wetrun.fieldlog.readers.column_table import parsed
from wetrun.fieldlog.readers.counted_time import with_counted_time
from wetrun.fieldlog.readers.csv_units import si_columns
from wetrun.fieldlog.readers.formats import logs_in, traces_in
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.patch_map import KIND
from wetrun.fieldlog.readers.record_facts import BETWEEN_RECORDS, Track, facts_of_track, window_speeds
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile, sent_files

SET = "shp-combine-seeder"
LEVELS = (1, 5, 25, 50, 75, 95, 99)
RECORDINGS = ("18/07/18-13:08:34 (233342)", "18/07/18-15:13:58 (236596)", "18/07/18-15:16:35 (236597)")
FIGURES = [
    ("seeder_2019", "seeder_2019", "seeder_2019"),
    ("combine_2019_sections_nan_z", "combine_2019_sections_nan_z", "combine_2019_sections_nan_z"),
    *(("combine_2018_logged_mph", "combine_2018", name) for name in RECORDINGS),
    ("combine_2015_daynumber_time", "combine_2015_daynumber_time", "combine_2015_daynumber_time"),
]


@pytest.fixture(scope="module")
def logs(real_log_path):
    return real_log_path.parents[1]


@pytest.fixture(scope="module")
def expected(logs):
    return json.loads((logs / "expected.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def drives(logs):
    """Every file as columns by meaning, read once."""
    found = {}
    for file in {file for file, _, _ in FIGURES}:
        sent = [one for one in sent_files(logs / SET / f"{file}.zip") if isinstance(one, SentFile)]
        (shapes,) = (one for one in sent if one.base.endswith(".shp"))
        table, _ = shapefile_log.table_in(shapes, PLAIN_REQUEST)
        found[file] = with_counted_time(parsed(table, None))
    return found


def rows_of(file, columns, name):
    """Return the rows a set of figures is of, in the order it took them in."""
    if file == "combine_2018_logged_mph":
        return np.flatnonzero(columns.track == columns.track_names.index(name))
    if file == "combine_2015_daynumber_time":
        return np.argsort(columns.time_s, kind="stable")
    section = {"seeder_2019": "825", "combine_2019_sections_nan_z": "190"}[file]
    return np.flatnonzero(columns.section == columns.section_names.index(section))


def track_of(drives, file, name):
    """Return the track and the logged speed [m/s] that figures are of."""
    columns = drives[file]
    rows = rows_of(file, columns, name)
    time_s, numbers = columns.time_s[rows], {meaning: values[rows] for meaning, values in columns.numbers.items()}
    si = si_columns(columns.roles, numbers, (time_s, columns.section[rows]), file=file, mapping=None)
    distance_m = si.columns["distance_m"]
    if file == "combine_2018_logged_mph":
        logged = si.columns["shown_speed_mps"]
    elif file == "combine_2015_daynumber_time":
        time_s, logged = np.round(time_s, 1), distance_m
    else:
        step_s = np.diff(time_s, prepend=np.nan)
        logged = np.where(step_s <= 5 * np.nanmedian(step_s), distance_m / step_s, np.nan)
    return Track(np.rint(time_s * 1000).astype(np.int64), np.isfinite(time_s), si.positions), logged


@pytest.mark.parametrize(("file", "key", "name"), FIGURES)
def test_counts_are_exact(drives, expected, file, key, name):
    want, facts = expected[f"{SET} {key}"][name], facts_of_track(track_of(drives, file, name)[0])
    assert (facts.records, facts.no_fix) == (want["n"], want["badpos"])
    assert (facts.backward_steps, facts.same_time, facts.gaps) == (want["back"], want["dup_t"], want["gaps"])
    assert facts.jumps == want["jumps_gt60kmh"]
    assert facts.gap_total_s / 60 == pytest.approx(want["gap_tot_min"], abs=0.0501)
    assert facts.span_s / 60 == pytest.approx(want["span_min"], abs=0.0501)
    assert facts.usual_step_s == pytest.approx(want["dt_med"], abs=0.000501)
    assert facts.step_p95_s == pytest.approx(want["dt_p95"], abs=0.000501)
    assert facts.longest_step_s == pytest.approx(want["dt_max"], abs=0.0501)
    assert facts.same_place_frac == pytest.approx(want["same_pos_frac"], abs=0.000501)


@pytest.mark.parametrize(("file", "key", "name"), FIGURES)
def test_speed_percentiles_are_met(drives, expected, file, key, name):
    want = expected[f"{SET} {key}"][name]
    track, logged = track_of(drives, file, name)
    between = {one.source: one for one in facts_of_track(track).speeds}[BETWEEN_RECORDS]
    assert between.percentiles_mps * 3.6 == pytest.approx(want["inst"], rel=0.02, abs=0.0501)
    window_kmh = window_speeds(track.time_ms, track.positions) * 3.6
    log_kmh = logged[np.isfinite(logged)] * 3.6
    speeds = {"win": window_kmh, "win_moving": window_kmh[window_kmh >= 1]}
    speeds |= {"log": log_kmh, "log_moving": log_kmh[log_kmh >= 1]}
    for figure, values in speeds.items():
        assert np.percentile(values, LEVELS) == pytest.approx(want[figure], rel=0.02, abs=0.0501), figure
    assert (window_kmh < 0.5).mean() == pytest.approx(want["stop_frac"], abs=0.000501)
    assert logged.size - log_kmh.size == want["log_nan"]
    assert (log_kmh == 0).mean() == pytest.approx(want["log_zero"], abs=0.000501)
    assert log_kmh.max() == pytest.approx(want["log_max"], abs=0.0501)


def uses_of(log):
    return {use.meaning: use for use in log.columns}


def test_units_that_are_not_stated_are_worked_out_and_said_so(logs):
    (found,) = logs_in(logs / SET / "combine_2018_logged_mph.zip")
    for log in found.logs:
        uses = uses_of(log)
        assert (uses["speed"].unit, uses["speed"].stated) == ("mph", False)
        assert (uses["distance"].unit, uses["distance"].stated) == ("ft", False)
        assert (uses["width"].unit, uses["width"].stated) == ("ft", False)
        assert any("has no time of day" in doubt.words for doubt in log.doubts)
    (combine,) = logs_in(logs / SET / "combine_2015_daynumber_time.zip")
    assert (uses_of(combine.logs[0])["distance"].unit, uses_of(combine.logs[0])["width"].unit) == ("in", "in")
    assert any("0.864 s" in doubt.words for doubt in combine.logs[0].doubts)


def test_recordings_and_machines_are_told_apart_by_their_column(logs):
    path = logs / SET / "combine_2018_logged_mph.zip"
    (combine,) = logs_in(path)
    assert [log.name.rpartition("track ")[2] for log in combine.logs] == ["1", "2", "3"]
    mapping = mapping_from('format_version = 1\n[columns]\ntrack = { column = "dataset" }', file="map.toml")
    (named,) = logs_in(path, ReadRequest(mapping))
    assert [log.name.rpartition("track ")[2] for log in named.logs] == list(RECORDINGS)
    (seeder,) = logs_in(logs / SET / "seeder_2019.zip")
    assert [log.trace.facts.instants for log in seeder.logs if log.trace] == [1019, 22_028]


def test_no_name_of_a_person_a_farm_or_a_variety_comes_in(logs):
    for file in (logs / SET).glob("*.zip"):
        (found,) = logs_in(file)
        told = repr(found).replace(found.name, "")  # what a customer calls a file is theirs
        secrets = ("Brawl", "brandon", "HENRYS", "henrys", "Wheat", "sec1east", "2333", "2365")
        assert not [secret for secret in secrets if secret in told]


def ring_areas_m2(path):
    """Return the area of all polygons as an independent reader has it: rings one way round count, the other way not."""
    with zipfile.ZipFile(path) as archive:
        (name,) = (one for one in archive.namelist() if one.endswith(".shp") and "__MACOSX" not in one)
        data = io.BytesIO(archive.read(name))
    with shapefile.Reader(shp=data) as reader:
        shapes = [(list(shape.parts), shape.points) for shape in reader.iterShapes()]
    rings = [points[at:end] for parts, points in shapes for at, end in pairwise([*parts, len(points)])]
    return -sum(shapefile.signed_area(ring) for ring in rings)


@pytest.mark.parametrize(
    ("file", "patches", "timed"),
    [("asapplied_polygons_2017", 30_552, True), ("asapplied_polygons_2016_dry_no_time", 2360, False)],
)
def test_as_applied_polygons_are_maps_and_no_speed_is_taken_from_them(logs, file, patches, timed):
    path = logs / "asapplied-sprayer-polygons" / f"{file}.zip"
    (found,) = logs_in(path)
    (log,) = found.logs
    assert log.kind == KIND
    assert log.patches is not None
    assert log.facts.records == log.patches.count == patches
    assert log.facts.speeds == ()
    assert log.facts.untimed == (0 if timed else patches)
    assert log.patches.area_m2 == pytest.approx(ring_areas_m2(path), rel=1e-6)
    assert "no speed can be had" in log.missing
    assert any("map of patches" in doubt.words for doubt in log.doubts)
    assert {raw.meaning for raw in log.raw_columns} >= {"applied_rate"}
    with pytest.raises(LogRefused, match="no speed can be had"):
        traces_in(path)


def test_rates_of_a_map_are_told_once_their_unit_is_stated(logs):
    lines = 'format_version = 1\n[columns]\napplied_rate = { column = "vrappratev", unit = "gal/ac" }'
    request = ReadRequest(mapping_from(lines, file="map.toml"))
    (found,) = logs_in(logs / "asapplied-sprayer-polygons" / "asapplied_polygons_2017.zip", request)
    assert found.logs[0].patches is not None
    (rate,) = found.logs[0].patches.rates
    assert rate.percentiles_m3pm2[3] * 1e7 / 9.353958 == pytest.approx(18.2042, abs=0.01)
    assert found.logs[0].raw_columns == ()


def test_geojson_equals_the_section_rows_of_the_csv_it_was_written_from(logs, real_log_path):
    (trace,) = traces_in(logs / "derived-formats" / "sprayer_session_A.geojson.gz")
    with gzip.open(real_log_path, "rt", encoding="utf-8") as stream:
        rows = [row for row in csv.DictReader(stream) if row["SECTIONID"] == "182"]
    rows = sorted(rows, key=lambda row: row["IsoTime"])[:12_000]
    (found,) = logs_in(logs / "derived-formats" / "sprayer_session_A.geojson.gz")
    assert found.logs[0].facts.records == len(rows) == trace.time_s.size == 12_000
    times = np.array([row["IsoTime"].rstrip("Z") for row in rows], dtype="datetime64[ms]")
    assert trace.time_s == pytest.approx((times - times[0]).astype(np.int64) / 1000, abs=1e-6)
    north = np.array([float(row["lat"]) for row in rows])
    east = np.array([float(row["lon"]) for row in rows])
    assert trace.origin is not None
    assert np.degrees(trace.origin.latitude_rad) == pytest.approx(north[0], abs=1e-9)
    assert trace.north_m == pytest.approx(np.radians(north - north[0]) * 6_371_008.8, abs=1e-6)
    assert trace.east_m == pytest.approx(
        np.radians(east - east[0]) * np.cos(np.radians(north[0])) * 6_371_008.8, abs=0.2
    )
    applied = np.array([float(row["AppliedRate"]) for row in rows])
    assert trace.applied_m3pm2 * 1e7 / 9.353958 == pytest.approx(applied, abs=0.001)
