"""Formats that are held in memory whole stop at a bound while they are read; what raises it is named with its place."""

from __future__ import annotations

import random

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from tests.fieldlog.map_samples import geojson_file, shapefile_set
from tests.fieldlog.receiver_samples import gpx_sample, json_sample, nmea_sample

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers import gpx_points, sent_files
from wetrun.fieldlog.readers.formats import logs_in
from wetrun.fieldlog.readers.limits import DEFAULT_LIMITS, Limits
from wetrun.fieldlog.readers.request import ReadRequest


def foreign_parquet(folder, _chance):
    rows = np.arange(60.0)
    file = folder / "log.parquet"
    pq.write_table(pa.table({"time": rows, "speed": rows, "lon": rows / 1e5 + 10, "lat": rows / 1e5 + 50}), file)
    return [file]


WRITERS = {
    "GPX": gpx_sample,
    "NMEA": nmea_sample,
    "JSON lines": json_sample,
    "GeoJSON": geojson_file,
    "shapefile": shapefile_set,
    "Parquet": foreign_parquet,
}


def request(most_held, most_records=DEFAULT_LIMITS.most_records):
    return ReadRequest(limits=Limits(most_held=most_held, most_records=most_records))


@pytest.mark.parametrize("name", WRITERS)
def test_more_records_than_are_held_are_refused_and_the_limit_can_be_raised(name, tmp_path):
    WRITERS[name](tmp_path, random.Random(3))  # noqa: S311 - a made log
    with pytest.raises(LogRefused, match=r"more than 5 .* held in memory whole") as refused:
        logs_in(tmp_path, request(5))
    assert "--most-records if there is memory for it" in refused.value.remedy
    assert logs_in(tmp_path, ReadRequest(limits=Limits(most_held=5).raised(records=10_000)))
    with pytest.raises(LogRefused, match=r"(more than|at most) 5 "):
        logs_in(tmp_path, ReadRequest(limits=DEFAULT_LIMITS.raised(records=5)))


def test_text_tables_are_read_in_pieces_and_have_room_for_far_more(tmp_path, write_rows, plain_rows):
    write_rows(plain_rows(60))
    assert logs_in(tmp_path, request(5))
    with pytest.raises(LogRefused, match="more than 50 rows"):
        logs_in(tmp_path, request(5, most_records=50))


def test_reading_stops_at_the_bound_and_goes_no_further(tmp_path, monkeypatch):
    """Of a track without an end only what was asked for is read."""
    read = []
    plain = sent_files._Checked.readinto

    def counted(self, buffer):
        read.append(plain(self, buffer))
        return read[-1]

    point = '<trkpt lat="50" lon="10"><time>2031-05-01T10:00:00Z</time></trkpt>\n'
    file = tmp_path / "long.gpx"
    file.write_text('<gpx version="1.1"><trk><trkseg>' + point * 100_000, encoding="utf-8")
    monkeypatch.setattr(sent_files._Checked, "readinto", counted)
    monkeypatch.setattr(sent_files, "BLOCK", 1 << 16)
    with pytest.raises(LogRefused, match="more than 1,000 points"):
        logs_in(file, request(1000))
    assert sum(read) < file.stat().st_size / 5
    assert gpx_points.BLOCK == 1 << 16


def test_segments_without_points_are_bounded_too(tmp_path):
    file = tmp_path / "empty.gpx"
    file.write_text('<gpx version="1.1"><trk>' + "<trkseg/>" * 50 + "</trk></gpx>", encoding="utf-8")
    with pytest.raises(LogRefused, match="more than 20 segments"):
        logs_in(file, request(20))


@pytest.mark.parametrize("limits", [Limits(most_file_bytes=100), Limits(most_held=5), Limits(most_records=5)])
def test_the_remedy_names_the_commands_that_have_the_option(limits, tmp_path):
    WRITERS["GPX"](tmp_path, random.Random(3))  # noqa: S311 - a made log
    with pytest.raises(LogRefused) as refused:
        logs_in(tmp_path, ReadRequest(limits=limits))
    for words in (
        "wetrun log inspect",
        "wetrun log convert",
        "wetrun fleet",
        "for a plan or a replay, convert the log",
    ):
        assert words in refused.value.remedy
