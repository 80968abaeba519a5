"""Receiver logs against a second, slow reading: a plain loop over lines, and a whole tree of the XML.

The derived logs were written from one boom section of the real sprayer log (section 182, its first 12,000 rows), so
that log is the third opinion on their times, places and speeds.
"""

from __future__ import annotations

import csv
import datetime as dt
import gzip
import json
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from tests.log_reading import sent

from wetrun.fieldlog.readers.formats import logs_in
from wetrun.fieldlog.readers.gpx_points import points_in
from wetrun.fieldlog.readers.nmea_clock import receiver_clock
from wetrun.fieldlog.readers.nmea_instants import NmeaInstants
from wetrun.fieldlog.readers.nmea_sentences import Found, sentences_in
from wetrun.fieldlog.readers.record_facts import BETWEEN_RECORDS
from wetrun.fieldlog.readers.request import PLAIN_REQUEST

NMEA = ("gps-receiver-logs/nmea_bundg_zeus_9.log", "derived-formats/sprayer_session_A.nmea.gz")
GPX = (
    "gps-receiver-logs/around-visnjan-with-car.gpx",
    "gps-receiver-logs/cerknicko-without-times.gpx",
    "derived-formats/sprayer_session_A.gpx.gz",
)
SECTION, ROWS = "182", 12_000


@pytest.fixture(scope="session")
def real_logs(real_log_path: Path) -> Path:
    return real_log_path.parents[1]


def plain_bytes(path: Path) -> bytes:
    return gzip.decompress(path.read_bytes()) if path.suffix == ".gz" else path.read_bytes()


def whole_sentences(data: bytes) -> Iterator[str]:
    for raw in data.decode("ascii").splitlines():
        if not raw.startswith("$") or "*" not in raw:
            continue
        body, told = raw[1:].rsplit("*", 1)
        total = 0
        for letter in body:
            total ^= ord(letter)
        if total == int(told, 16):
            yield body


def slowly_read_sentences(data: bytes) -> list[dict[str, float]]:
    """Read RMC, GGA and GLL line by line: one entry for each run of sentences with one time of day."""
    found: list[dict[str, float]] = []
    for body in whole_sentences(data):
        kind, *fields = body.split(",")
        at = {"RMC": 0, "GGA": 0, "GLL": 4, "ZDA": 0}.get(kind[2:])
        if at is None:
            continue
        clock = fields[at]
        seconds = int(clock[:2]) * 3600 + int(clock[2:4]) * 60 + float(clock[4:])
        if not found or found[-1]["clock"] != seconds:
            found.append({"clock": seconds})
        where = {"RMC": 2, "GGA": 1, "GLL": 0}.get(kind[2:])
        if where is not None:
            north, side, east, other = fields[where : where + 4]
            found[-1][f"{kind[2:]} lat"] = (int(north[:2]) + float(north[2:]) / 60) * (1 if side == "N" else -1)
            found[-1][f"{kind[2:]} lon"] = (int(east[:3]) + float(east[3:]) / 60) * (1 if other == "E" else -1)
        if kind[2:] == "RMC":
            found[-1]["RMC speed"] = float(fields[6])
            date = dt.datetime.strptime(fields[8], "%d%m%y").replace(tzinfo=dt.UTC)
            found[-1]["at"] = date.timestamp() + seconds
    return found


@pytest.mark.parametrize("name", NMEA)
def test_every_sentence_is_read_as_a_plain_loop_reads_it(real_logs, name):
    path = real_logs / name
    instants = NmeaInstants()
    for kind, fields in sentences_in(sent(path), PLAIN_REQUEST, Found()):
        instants.add(kind, fields)
    slow = slowly_read_sentences(plain_bytes(path))
    assert instants.count == len(slow) > 100
    assert instants.day_ms / 1000 == pytest.approx([one["clock"] for one in slow], abs=1e-6)
    for column in ("GGA lat", "GGA lon", "RMC lat", "RMC lon", "GLL lat", "GLL lon", "RMC speed"):
        expected = [one.get(column, float("nan")) for one in slow]
        assert instants.column(column) == pytest.approx(expected, abs=1e-12, nan_ok=True)
    time_s = receiver_clock(instants.day_ms, instants.date).time_s
    dated = [nth for nth, one in enumerate(slow) if "at" in one]
    assert time_s[dated] == pytest.approx([slow[nth]["at"] for nth in dated], abs=1e-3)


@pytest.mark.parametrize("name", GPX)
def test_every_track_point_is_read_as_a_whole_tree_reads_it(real_logs, name):
    path = real_logs / name
    points = points_in(sent(path), PLAIN_REQUEST)
    tree = ET.fromstring(plain_bytes(path))  # noqa: S314 - files known beforehand
    segments = [one for one in tree.iter() if one.tag.endswith("trkseg")]
    slow = [point for segment in segments for point in segment if point.tag.endswith("trkpt")]
    assert points.count == len(slow) > 100
    assert points.lengths == [sum(point.tag.endswith("trkpt") for point in segment) for segment in segments]
    assert list(points.columns["lat"]) == [float(point.attrib["lat"]) for point in slow]
    assert list(points.columns["lon"]) == [float(point.attrib["lon"]) for point in slow]
    texts = [next((child.text or "" for child in point if child.tag.endswith("time")), "") for point in slow]
    assert points.times == pytest.approx([stamp(text) for text in texts], nan_ok=True, abs=1e-6)
    assert points.waypoints == sum(one.tag.endswith("wpt") for one in tree.iter())


def stamp(text: str) -> float:
    return dt.datetime.fromisoformat(text).timestamp() if text else float("nan")


@pytest.fixture(scope="session")
def section_rows(real_log_path: Path) -> list[dict[str, str]]:
    """Time and place of the rows the derived logs were written from."""
    with gzip.open(real_log_path, "rt", encoding="utf-8-sig") as text:
        rows = [row for row in csv.DictReader(text) if row["SECTIONID"] == SECTION]
    return sorted(rows, key=lambda row: row["IsoTime"])[:ROWS]


def test_the_derived_logs_tell_the_times_and_places_of_the_section_they_came_from(real_logs, section_rows):
    at_s = [stamp(row["IsoTime"]) for row in section_rows]
    points = points_in(sent(real_logs / GPX[2]), PLAIN_REQUEST)
    assert points.count == ROWS
    assert points.times == pytest.approx(at_s, abs=1e-3)
    instants = NmeaInstants()
    for kind, fields in sentences_in(sent(real_logs / NMEA[1]), PLAIN_REQUEST, Found()):
        instants.add(kind, fields)
    time_s = receiver_clock(instants.day_ms, instants.date).time_s
    assert time_s == pytest.approx(at_s, abs=0.01)  # written to the hundredth
    for name, lon, lat in (("GPX", "lon", "lat"), ("NMEA", "GGA lon", "GGA lat")):
        column = (lambda axis: points.columns[axis]) if name == "GPX" else instants.column
        assert list(column(lat)) == pytest.approx([float(row["lat"]) for row in section_rows], abs=5.1e-7)
        assert list(column(lon)) == pytest.approx([float(row["lon"]) for row in section_rows], abs=5.1e-7)


def test_the_derived_logs_tell_the_same_speeds(real_logs):
    by_format = {}
    for name in ("gpx", "nmea"):
        (found,) = logs_in(real_logs / "derived-formats" / f"sprayer_session_A.{name}.gz")
        (log,) = found.logs
        assert (log.facts.records, log.facts.gaps) == (ROWS, 16)
        by_format[name] = {one.source: one.percentiles_mps for one in log.facts.speeds if one.source != BETWEEN_RECORDS}
    assert by_format["gpx"]["positions"] == pytest.approx(by_format["nmea"]["positions"], rel=0.02)
    middle = slice(1, 6)  # the ends of a speed from one step to the next are rough
    assert by_format["nmea"]["logged"][middle] == pytest.approx(by_format["nmea"]["positions"][middle], rel=0.04)


def test_every_report_is_read_as_it_stands(real_logs):
    path = real_logs / "gps-receiver-logs" / "gpsd_json_vehicle.log"
    lines = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    reports = [one for one in lines if one["class"] == "TPV"]
    (found,) = logs_in(path)
    (log,) = found.logs
    assert log.facts.records == len(reports)
    assert log.facts.no_fix == sum("lat" not in one or one["mode"] < 2 for one in reports)
    logged = next(one for one in log.facts.speeds if one.source == "logged")
    speeds = [one["speed"] for one in reports if "speed" in one and one["mode"] >= 2]
    assert logged.instants == len(speeds)
    assert logged.percentiles_mps == pytest.approx(np.percentile(speeds, (1, 5, 25, 50, 75, 95, 99)))
